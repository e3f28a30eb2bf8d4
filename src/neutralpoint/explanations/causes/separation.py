"""Trim or elevator separation."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, after, ramp
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Move the trim surface off its drive; cut the column off.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    return Effect(
        trim_offset=p["jump"] * ramp(moment.time, p["start"], p["snap"]),
        disconnected=p["disconnected"] * after(moment.time, p["start"]),
    )


SEPARATION = Cause(
    name=CauseName.SEPARATION,
    mechanism=(
        "The trim surface comes off its drive and jumps, with or without the column "
        "losing the elevator."
    ),
    changes=("trim drive", "control run"),
    parameters=(
        START,
        Parameter(
            "jump",
            "trim surface after it, away from before, nose down positive",
            "rad",
            Prior("normal", 0.0, 3.0 * DEGREE),
        ),
        Parameter("snap", "how long the jump takes", "s", Prior("lognormal", 0.2, 0.5)),
        Parameter(
            "disconnected", "1 where the column loses the elevator", "", Prior("either", 1.0, 0.0)
        ),
    ),
    cannot_explain=("a slow straight growth of the needed moment",),
    evidence=(
        "threads, lock rings, bolts, grease and wear records",
        "parts found along the path; primary radar returns",
        "sounds before",
    ),
    not_separable=(
        "an elevator hard over",
        "a structural break-up",
    ),
    act=act,
)
