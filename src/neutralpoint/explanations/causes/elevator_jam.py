"""Elevator jam."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, after
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Stick the elevator.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    return Effect(jammed=after(moment.time, p["start"]), jam_angle=p["angle"])


ELEVATOR_JAM = Cause(
    name=CauseName.ELEVATOR_JAM,
    mechanism=(
        "The elevator sticks near a position it is normally in; the column no longer moves it."
    ),
    changes=("control run",),
    parameters=(
        START,
        Parameter(
            "angle",
            "elevator where it sticks, away from the start of the flight, trailing edge down",
            "rad",
            Prior("normal", 0.0, 2.0 * DEGREE),
            "any position normally encountered, 14 CFR 25.671(c)(3); spread: analyst's estimate",
        ),
    ),
    cannot_explain=("a moment that changes while the airplane's speed and power do not",),
    evidence=(
        "surface position marks, foreign objects, ice, gust lock",
        "force traces where recorded",
    ),
    not_separable=(
        "an elevator that is held",
        "incapacitation with the column blocked",
    ),
    act=act,
)
