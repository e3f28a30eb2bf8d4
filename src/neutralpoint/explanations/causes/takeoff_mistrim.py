"""Wrong trim or loading at takeoff: a moment that is there from the time the airplane is free."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, ramp
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Put the trim and the centre of gravity off by a constant, once the airplane is free.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    share = ramp(moment.time, p["start"], p["freed"])
    # Misload counts forward, the shift of the flight model aft.
    return Effect(trim_offset=p["mistrim"] * share, cg_shift=-p["misload"] * share)


TAKEOFF_MISTRIM = Cause(
    name=CauseName.TAKEOFF_MISTRIM,
    mechanism=(
        "Trim or loading differ from what was meant for takeoff; the moment is there, constant, "
        "from the time the wheels or the hand no longer hold it."
    ),
    changes=("trim drive", "loading"),
    parameters=(
        START,
        Parameter(
            "mistrim",
            "trim surface away from what the takeoff needs, nose down positive",
            "rad",
            Prior("normal", 0.0, 2.0 * DEGREE),
        ),
        Parameter(
            "misload",
            "center of gravity forward of where it was taken to be",
            "m",
            Prior("normal", 0.0, 0.08),
        ),
        Parameter(
            "freed",
            "how long wheels or hand take to let it go",
            "s",
            Prior("lognormal", 2.0, 0.5),
            "analyst's estimate: a rotation of 2 to 4 s, common practice, no source",
        ),
    ),
    cannot_explain=(
        "an upset after minutes of trimmed flight",
        "a moment that changes after lift-off at unchanged speed, power and flap",
    ),
    evidence=(
        "trim indicator and actuator as found",
        "load sheet, fuel and what was on board, weighed",
        "takeoff data card",
    ),
    not_separable=(
        "a load shift or a separation at rotation",
        "wrong flaps for the trim",
    ),
    act=act,
)
