"""The terms that a reader needs, each in two lines: one source for report, page and documents."""

from __future__ import annotations

from neutralpoint.vocabulary import CauseName

# Term, what it means here.
TERMS: tuple[tuple[str, str], ...] = (
    (
        "90% band",
        "The interval that holds the value with a probability of 90%, given the stated "
        "assumptions. A darker band inside it holds 50%.",
    ),
    (
        "aft, forward limit",
        "Rear and front ends of the range in which the center of gravity is approved.",
    ),
    (
        "angle of attack",
        "Angle between the wing's reference line and the oncoming air. Lift grows with it until "
        "the stall.",
    ),
    (
        "as-found position",
        "Where a control or actuator lay in the wreckage. It is not the in-flight position "
        "unless actuator length and witness marks agree.",
    ),
    (
        "Bayes factor",
        "How much better the data fit one cause than another, before any prior. Printed as its "
        "natural logarithm, ln B.",
    ),
    (
        "bit",
        "Unit of information: one bit halves the number of equally likely causes.",
    ),
    (
        "calibrated",
        "Of probabilities: statements of 90% are true 90% of the time, checked on simulated "
        "flights whose cause was known.",
    ),
    (
        "can, can if, cannot",
        "Possible; possible only on the stated condition; excluded for the airplane as "
        "described. “Can” does not mean that it happened.",
    ),
    (
        "CG, center of gravity",
        "The point where the airplane balances. Moving it aft raises the nose at fixed trim and "
        "makes the airplane less stable.",
    ),
    (
        "controls free",
        "Hands off: nobody holds the column, and the elevator floats where hinge moment and "
        "trim put it.",
    ),
    (
        "crossover speed",
        "Speed above which the column force that is available no longer balances a given mistrim.",
    ),
    (
        "derived",
        "Computed from facts and stated assumptions; drawn as a full line in its bands.",
    ),
    (
        "fact",
        "Received or recorded; drawn as a ring with a bar for the step of the reading.",
    ),
    (
        "hinge moment",
        "Moment of the air on a control surface about its hinge. It is what the pilot feels as "
        "column force.",
    ),
    (
        "inferred",
        "A judgment that goes beyond the data; drawn dashed.",
    ),
    (
        "likelihood word",
        "Such as “likely (0.72)”: words follow the published scale printed in the report, and "
        "never stand without their number.",
    ),
    (
        "load factor",
        "Lift over weight, in g: 1 in level flight, below 1 when the path bends down, above 1 "
        "when it bends up or in a turn.",
    ),
    (
        "misfit",
        "Distance of a simulated flight from the recorded one, in standard deviations of data "
        "and gusts, root mean square. Small is close.",
    ),
    (
        "mistrim",
        "Trim set away from where the airplane would fly hands off. The force to hold it grows "
        "with speed squared.",
    ),
    (
        "nearest rival",
        "The other cause whose simulated flights come closest to the recorded one.",
    ),
    (
        "neutral point",
        "The CG position at which the airplane has no pitch stability left.",
    ),
    (
        "not observable",
        "The data support no value of the quantity there; none is shown and none should be quoted.",
    ),
    (
        "odds",
        "Probability of each listed cause and of one unlisted cause, given data and prior; they "
        "add up to 1. Printed with the range over six networks.",
    ),
    (
        "onset",
        "When the motion left ordinary flight. The fault may have begun earlier: an autopilot "
        "or a hand can mask it.",
    ),
    (
        "p-value",
        "How often a flight of a cause would show a fit as poor as this or poorer. Below 1% the "
        "cause is excluded. It is not the probability of the cause.",
    ),
    (
        "path angle",
        "Angle of the flight path above (+) or below (-) the horizon, through the air.",
    ),
    (
        "perceived attitude",
        "Pitch and bank that models of the inner ear give a person who looks at nothing. It is "
        "what could be perceived, never what anyone felt.",
    ),
    (
        "phugoid",
        "Slow exchange of height and speed at nearly constant angle of attack, one swing in 20 "
        "s to a minute or more, longer at higher speed.",
    ),
    (
        "pitching moment",
        "Moment about the CG that raises (+) or lowers (-) the nose.",
    ),
    (
        "prior",
        "Probability before the track is looked at: that something failed, and how it is shared "
        "among causes. Stated by the analyst.",
    ),
    (
        "required moment",
        "The pitching moment beyond that of trimmed flight which the recorded path takes, "
        "whatever produced it.",
    ),
    (
        "short period",
        "Quick nodding of the nose, over in a few seconds; a sudden trim change starts with it.",
    ),
    (
        "specific force",
        "Force on a body other than weight, over its mass: what seat and inner ear report. Its "
        "size over gravity is felt as g.",
    ),
    (
        "static margin",
        "Distance of the CG ahead of the neutral point, in percent of the mean chord. Larger is "
        "more stable and takes more column force.",
    ),
    (
        "trim",
        "Setting of stabilizer or tab at which the airplane flies hands off at a speed.",
    ),
    (
        "trimmed flight",
        "Steady flight that needs no column force. Changes are counted from the last stretch of "
        "it, the reference.",
    ),
    (
        CauseName.UNLISTED.title.lower(),
        "A row in the odds for a cause that nobody put on the list; it stands for flights "
        "around all the simulated ones.",
    ),
)


def glossary_page() -> str:
    """The glossary as a document.

    Returns:
        Markdown.
    """
    lines = (f"**{term}**: {text}\n" for term, text in TERMS)
    head = "What the words in reports, pages and commands mean, in two lines each.\n"
    return "\n".join(["# Glossary\n", head, *lines])
