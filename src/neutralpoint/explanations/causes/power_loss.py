"""Power loss, of one engine and of all."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, ramp
from neutralpoint.explanations.causes.shared import DECAY, START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.vocabulary import CauseName


def act_one(parameters: Parameters, moment: Moment) -> Effect:
    """Take one engine's output away.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    gone = p["lost"] * ramp(moment.time, p["start"], p["decay"])
    second = (p["engine"] >= 1.0) * 1.0
    return Effect(engine_out=(gone * (1.0 - second), gone * second), feather=p["feather"])


def act_all(parameters: Parameters, moment: Moment) -> Effect:
    """Take every engine's output away.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    gone = p["lost"] * ramp(moment.time, p["start"], p["decay"])
    return Effect(engine_out=(gone, gone), feather=p["feather"])


POWER_LOSS_ONE = Cause(
    name=CauseName.POWER_LOSS_ONE,
    mechanism="One engine loses power; the airplane yaws and slows or sinks.",
    changes=("engine",),
    parameters=(
        START,
        Parameter("lost", "share of its output lost", "", Prior("uniform", 0.3, 1.0)),
        Parameter(
            "engine", "0 the first engine of the file, 1 the second", "", Prior("count", 0.0, 2.0)
        ),
        Parameter("feather", "1 where the propeller is feathered", "", Prior("either", 0.0, 1.0)),
        DECAY,
    ),
    cannot_explain=(
        "a high-speed dive",
        "a lasting nose-down moment",
    ),
    evidence=(
        "propeller blade angle and marks",
        "engine records, fuel, sound of the blades",
    ),
    not_separable=(
        "less power set by hand",
        "a tailwind that rises with height loss",
    ),
    act=act_one,
    needs_engines=2,
)

POWER_LOSS_ALL = Cause(
    name=CauseName.POWER_LOSS_ALL,
    mechanism="All engines lose power; the airplane glides.",
    changes=("engine",),
    parameters=(
        START,
        Parameter("lost", "share of the output lost", "", Prior("uniform", 0.5, 1.0)),
        Parameter(
            "feather", "1 where propellers are feathered or stopped", "", Prior("either", 1.0, 0.0)
        ),
        DECAY,
    ),
    cannot_explain=(
        "a steepening, accelerating dive: gravity alone gives a phugoid",
        "energy that rises",
    ),
    evidence=(
        "propeller marks, fuel, engine records",
        "sound of the blades",
    ),
    not_separable=("power set to idle by hand",),
    act=act_all,
    needs_engines=1,
)
