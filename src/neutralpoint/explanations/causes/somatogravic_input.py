"""Push from an acceleration illusion."""

from __future__ import annotations

from neutralpoint.explanations.cause import OFF, Cause, Effect, Moment, Parameters, after
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Add power and mislead the sense of pitch.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    # The autopilot goes off with it: it has no sense of pitch to mislead.
    begun = after(moment.time, p["start"])
    return Effect(lever=p["power"] * begun, illusion=p["belief"] * begun, autopilot=OFF * begun)


SOMATOGRAVIC_INPUT = Cause(
    name=CauseName.SOMATOGRAVIC_INPUT,
    mechanism=(
        "Acceleration feels like pitching up; the pilot, flying by hand, pushes against a pitch "
        "that is not there."
    ),
    changes=("pilot", "engine"),
    parameters=(
        START,
        Parameter("power", "levers pushed forward", "", Prior("uniform", 0.4, 1.0)),
        Parameter(
            "belief", "share of the felt pitch that is believed", "", Prior("uniform", 0.5, 1.0)
        ),
    ),
    cannot_explain=(
        "a dive without acceleration before it",
        "a push in clear daylight",
    ),
    evidence=(
        "night or cloud, a go-around or takeoff",
        "control positions where recorded",
    ),
    not_separable=("nose-down trim by hand; a runaway that begins at the same time",),
    act=act,
)
