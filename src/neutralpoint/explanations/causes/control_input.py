"""Control input: a push or a pull of stated force, duration and shape, by whatever it was."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, after, ramp
from neutralpoint.explanations.causes.shared import DIRECTION, START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.quantities import POUND_FORCE
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Push or pull on the column, and run the trim the same way where that is part of it.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    over = p["start"] + p["lasting"]
    share = ramp(moment.time, p["start"], p["build_up"]) - ramp(moment.time, over, p["build_up"])
    during = after(moment.time, p["start"]) - after(moment.time, over)
    return Effect(
        body_force=-p["direction"] * p["force"] * share,
        hands_on=1.0 - (1.0 - p["opposed"]) * during,
        motor=p["direction"] * p["trimmed"] * during,
    )


CONTROL_INPUT = Cause(
    name=CauseName.CONTROL_INPUT,
    mechanism=(
        "The column is pushed or pulled for a while, by a hand, a person or an object; "
        "whether meant, mistaken or startled is not asked."
    ),
    changes=("pilot",),
    parameters=(
        START,
        DIRECTION,
        Parameter(
            "force",
            "largest push or pull on the column",
            "N",
            Prior("lognormal", 25.0 * POUND_FORCE, 0.55),
            "analyst's estimate: nine in ten between 10 and 62 lb; 75 lb is the short-term limit "
            "of 14 CFR 25.143(d) for two hands",
        ),
        Parameter("lasting", "how long it lasts", "s", Prior("lognormal", 6.0, 1.1)),
        Parameter(
            "build_up",
            "how long it takes to build up and to end",
            "s",
            Prior("lognormal", 0.7, 0.6),
        ),
        Parameter(
            "opposed",
            "1 where the pilot flies against it, 0 where it is the pilot's own hand",
            "",
            Prior("either", 0.0, 1.0),
        ),
        Parameter(
            "trimmed",
            "1 where the trim is run the same way meanwhile",
            "",
            Prior("either", 1.0, 0.0),
        ),
    ),
    cannot_explain=(
        "a force beyond what a person or the object can give",
        "a moment that stays after the column is free and the trim has not moved",
    ),
    evidence=(
        "recorded control positions and forces",
        "loose objects and seat position near the column",
        "recorded sound of the flight deck",
    ),
    not_separable=(
        "a runaway of as long",
        "an autopilot hard-over of as long",
        "an elevator that is held by anything else",
    ),
    act=act,
)
