"""Autopilot hard-over: the servo drives the column to its limit until it is taken off."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, after, ramp
from neutralpoint.explanations.causes.shared import DIRECTION, START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.vocabulary import CauseName

SERVO_RISE = 0.3  # s, from rest to the clutch's limit; analyst's estimate


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Let the servo push or pull with all its force, and its trim follow.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    begun = after(moment.time, p["start"])
    off = after(moment.time, p["start"] + p["hold"])
    during = begun - off
    return Effect(
        autopilot=1.0 - 2.0 * begun,
        body_force=-p["direction"]
        * p["load"]
        * moment.force_per_g
        * ramp(moment.time, p["start"], SERVO_RISE)
        * during,
        motor=p["direction"] * p["trim_share"] * during,
    )


AUTOPILOT_HARDOVER = Cause(
    name=CauseName.AUTOPILOT_HARDOVER,
    mechanism=(
        "The autopilot's pitch servo drives the column with all its force, its trim along with it, "
        "until the autopilot is taken off."
    ),
    changes=("trim drive", "control run"),
    parameters=(
        START,
        DIRECTION,
        Parameter(
            "load",
            "force of the servo, up to its clutch, over the column force of one g",
            "",
            Prior("lognormal", 0.8, 0.4),
            "analyst's estimate: malfunction tests accept 0 to 2 g, AC 23-17C, from memory",
        ),
        Parameter(
            "hold",
            "from the hard-over to the autopilot being off",
            "s",
            Prior("lognormal", 4.0, 0.7),
            "analyst's estimate: recognition and 3 s in climb and cruise as in AC 23-17C, from "
            "memory, with a long tail",
        ),
        Parameter(
            "trim_share",
            "rate of its trim over the motor's rate",
            "",
            Prior("uniform", 0.0, 0.5),
        ),
    ),
    cannot_explain=(
        "a flight without an autopilot engaged",
        "a moment that stays after the autopilot is off, beyond what its trim has moved",
        "a force beyond the servo's clutch",
    ),
    evidence=(
        "mode annunciations, autopilot fail log, disconnect tone",
        "servo, its clutch setting, and recorded servo current",
    ),
    not_separable=(
        "a push or pull of as long",
        "a runaway that starts under the autopilot",
    ),
    act=act,
    needs_autopilot=True,
)
