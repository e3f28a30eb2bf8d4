"""Nothing failed: turbulence."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Stir the air.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    return Effect(gust=p["gust"])


NO_FAILURE = Cause(
    name=CauseName.NO_FAILURE,
    mechanism="Air moves the airplane, the pilot corrects, and turns, climbs or changes power.",
    changes=("air",),
    parameters=(
        Parameter(
            "gust",
            "standard deviation of each gust component",
            "m/s",
            Prior("lognormal", 0.7, 0.9),
            "spread covers light to severe of MIL-F-8785C, figure 7; the median is an "
            "analyst's estimate",
        ),
    ),
    cannot_explain=(
        "a lasting change of the moment that is needed",
        "a steepening dive",
    ),
    evidence=(
        "no damage before the ground",
        "reports of turbulence, weather radar, other airplanes nearby",
    ),
    not_separable=("small corrections by hand in calm air",),
    act=act,
    turbulent=True,
)
