"""What is said in a film where the analyst wrote no storyboard, with its numbers bound.

A key in braces is printed from the findings when the film is made: see
`report.figures.studio.notes`.
"""

from __future__ import annotations

from neutralpoint.findings import Findings
from neutralpoint.report.figures.display import clock
from neutralpoint.report.results import Results
from neutralpoint.report.sheet.choose import choose, with_judgement
from neutralpoint.report.words.acting import (
    PAIRED,
    direction_words,
    flat_reasons,
    recovered_words,
    side_word,
)
from neutralpoint.report.words.flights import NEAREST, heights_said
from neutralpoint.report.words.needs import rule_words
from neutralpoint.report.words.outside import without_odds
from neutralpoint.report.words.ranges import ASSUMED, ESTIMATES, turned_said
from neutralpoint.report.words.uncertainty import HOW, best_said

INVENTED = "Invented case: nothing in it took place."
END = "A track shows a path. It does not show anybody's intent, skill or error."
BANDS = "bands: 50%, 90%; in brackets: 90%"
BANDS_AND_RINGS = "bands: 50%, 90%; in brackets: 90%; rings: received"
AHEAD = "Faint: what comes later. Airspeed and attitude are computed, not recorded."
NUMBERS = " Numbers: what was heard."
DERIVED = (
    "Rings are as received. Airspeed, attitude and load factor were not recorded: they are "
    "computed from track and weather."
)
MODELS = "Flown by a model from the last trimmed flight; the data are shown beside."


def _at(findings: Findings, seconds: float) -> str:
    epoch = findings.epoch
    return clock(seconds + epoch.hour * 3600 + epoch.minute * 60 + epoch.second)


def left_out(seconds: float, worst: str = "") -> str:
    """Where the film ends.

    Args:
        seconds: That are left out.
        worst: The leading cause, where its best flight fits worst there.

    Returns:
        A sentence or two.
    """
    if not seconds:
        return "Shown to the last moment of the record."
    told = (
        f"The last {seconds:.0f} s of the record are left out, out of respect; the figures "
        "show them."
    )
    return f"{told} If it was {worst}: its best flight fits worst there." if worst else told


def flight_captions(findings: Findings, first: float, last: float) -> tuple[str, ...]:
    """Of a flight without an onset."""
    return (DERIVED, _course(findings, first, last))


def before_captions(findings: Findings, first: float, last: float) -> tuple[str, ...]:
    """Before the onset."""
    return (DERIVED, _course(findings, first, last))


def _course(findings: Findings, first: float, last: float) -> str:
    """From where to where a stretch goes; said of its end, when both are there to be seen."""
    a, b = _at(findings, first), _at(findings, first + 0.6 * (last - first))
    return (
        f"From {a} to {b} UTC the altitude goes from {{pressure_altitude@{a}}} to "
        f"{{pressure_altitude@{b}}}."
    )


def onset_captions(findings: Findings, first: float, last: float) -> tuple[str, ...]:
    """About the onset."""
    return (
        AHEAD + NUMBERS * bool(findings.events),
        "The motion leaves ordinary flight at {motion.onset.left.2|clock} UTC; 90% of the "
        "probability lies between {motion.onset.left.0|clock} and {motion.onset.left.4|clock}.",
        *_extremes(findings, first, last),
    )


def after_captions(findings: Findings, first: float, last: float) -> tuple[str, ...]:
    """After the onset: extremes that the table of key times names, then from where to where."""
    told = _extremes(findings, first, last)
    return (AHEAD, *told) if told else (AHEAD, _course(findings, first, last))


def _extremes(findings: Findings, first: float, last: float) -> list[str]:
    """Extremes of a stretch, each with its time."""
    told = []
    for row in findings.key_times:
        if first <= row.time <= last and row.label in ("highest load factor", "steepest descent",
                                                       "lowest load factor"):  # fmt: skip
            at = _at(findings, row.time)
            name = "flight_path_angle" if "descent" in row.label else "normal_load_factor"
            title = {
                "flight_path_angle": "path angle",
                "normal_load_factor": "load factor",
            }[name]
            told.append(f"{row.label.capitalize()} at {at} UTC: {title} {{{name}@{at}}}.")
    return told


def moment_captions(findings: Findings) -> tuple[str, ...]:
    """Of the column force that the path would have taken."""
    told = [
        "No force was recorded. This is what a pull (positive) or a push (negative) alone would "
        "have had to be, and no evidence that anybody did it."
    ]
    forces = [] if findings.moments is None else findings.moments.forces
    rules = [(i, row) for i, row in enumerate(forces) if "CFR" in row.source]
    if rules:
        listed = ", ".join(f"{{moments.forces.{i}.force|lb}} {row.name}" for i, row in rules)
        told.append(f"Design limits of rules: {listed} ({rule_words(rules[-1][1].source)}).")
    return tuple(told)


def cause_captions(findings: Findings) -> tuple[str, ...]:
    """Of the causes: the range over the assumptions first."""
    found = findings.weighing
    rows = [] if found is None else found.rows[:2]
    told = [MODELS]
    for place, row in enumerate(rows):
        key = f"weighing.rows.{place}"
        ends = ("lowest", "highest") if row.least is None else ("least", "most")
        how = ESTIMATES if row.least is None else ASSUMED
        told.append(
            f"{row.cause.title.split(' (')[0]}: probability {{{key}.{ends[0]}}} to "
            f"{{{key}.{ends[1]}}} ({how}); as weighed {{{key}.probability}}."
        )
    turned = "" if found is None else turned_said(found)
    return (*told, *filter(None, [turned, without_odds(findings)]))


def models_said(results: Results) -> list[str]:
    """What the flights beside the data are, while the odds are not yet shown."""
    return [NEAREST, *heights_said(results)]


def acting_said(findings: Findings) -> str:
    """What every picture of time to act must bear: cause, direction, and what recovered means."""
    place = choose(with_judgement(findings)).response
    if findings.response is None or place is None:
        return ""
    row = findings.response.rows[place]
    name = row.cause.spoken.split(" (")[0]
    return f"If it was {name}. {direction_words(row)} {recovered_words(row)}"


def evidence_said(findings: Findings) -> str:
    """What every picture of next evidence must bear."""
    return " ".join(HOW[:2])


def acting_captions(findings: Findings) -> tuple[str, ...]:
    """Of time and strength: of the cause whose curves the chart shows."""
    place = choose(with_judgement(findings)).response
    if findings.response is None or place is None:
        return ()
    row, key = findings.response.rows[place], f"response.rows.{place}.reference_saved"
    told, side = row.cause.spoken.split(" (")[0], side_word(row)
    side = side and f", flown {side}"
    return (
        "Simulated pilots describe no actual person; a share is not a judgment of anybody.",
        f"If it was {told}{side}: {{{key}.share|%}} (95%: {{{key}.low95|%}} to {{{key}.high95|%}}) "
        f"of simulated pilots recover by \u201c{row.reference}\u201d begun after the reaction time "
        "of the case.",
        *(f"If it was {told}{side}: {text}" for text in flat_reasons(row, findings.response)[-1:]),
        PAIRED,
    )


def evidence_captions(findings: Findings) -> tuple[str, ...]:
    """Of evidence that is not in hand."""
    best = best_said(findings)
    return (f"{best}, on average." if best else "No item of the list would tell these apart.",)


def event_line(when: str, half_width: float, text: str) -> str:
    """Words or a sign at the moment that it was heard, with the error of its time."""
    return f"{when} \u00b1 {half_width:.0f} s   {text}"
