"""Power loss, all engines."""

from __future__ import annotations

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.cause import Cause, Effect, Moment, ramp
from neutralpoint.explanations.causes.shared import DECAY, START
from neutralpoint.explanations.prior import Parameter, Prior


def act(parameters: dict[str, Scalar], moment: Moment) -> Effect:
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


POWER_LOSS_ALL = Cause(
    name="power-loss-all",
    title="Power loss, all engines",
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
    act=act,
    needs_engines=1,
)
