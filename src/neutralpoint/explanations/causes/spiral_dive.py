"""Spiral from disorientation."""

from __future__ import annotations

from neutralpoint.explanations.cause import OFF, Cause, Effect, Moment, Parameters, after
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Take the bank out of anybody's care.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    begun = after(moment.time, p["start"])
    # Right wing down needs the right aileron up, which is negative.
    return Effect(bank_care=1.0 - begun, aileron=-p["lean"] * begun, autopilot=OFF * begun)


SPIRAL_DIVE = Cause(
    name=CauseName.SPIRAL_DIVE,
    mechanism=(
        "Nobody sees the bank grow; whoever flies pulls against the sink and tightens the turn."
    ),
    changes=("pilot",),
    parameters=(
        START,
        Parameter(
            "lean",
            "aileron that nobody feels, right positive",
            "rad",
            Prior("normal", 0.0, 0.5 * DEGREE),
        ),
    ),
    cannot_explain=(
        "a dive with wings level",
        "load factor below 1 while the dive steepens",
    ),
    evidence=(
        "night, cloud, autopilot off shortly before",
        "instrument and vacuum failures",
    ),
    not_separable=("a slow roll of any other origin",),
    act=act,
)
