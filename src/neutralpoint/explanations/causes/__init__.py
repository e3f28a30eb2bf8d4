"""The candidate causes, one module each; mirror images of one mechanism share theirs.

What comes in: parameters and the present moment. What goes out: what is changed, as an `Effect`.
It is assumed that one cause acts at a time and that the list is never complete; its last row says
so. A cause computes no force: the flight model flies what it changes.
"""

from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.causes.autopilot_lets_go import AUTOPILOT_LETS_GO
from neutralpoint.explanations.causes.elevator_jam import ELEVATOR_JAM
from neutralpoint.explanations.causes.incapacitation import INCAPACITATION
from neutralpoint.explanations.causes.load_shift import LOAD_SHIFT_AFT, LOAD_SHIFT_FORWARD
from neutralpoint.explanations.causes.nothing_failed import NOTHING_FAILED
from neutralpoint.explanations.causes.power_loss import POWER_LOSS_ALL, POWER_LOSS_ONE
from neutralpoint.explanations.causes.push_illusion import PUSH_ILLUSION
from neutralpoint.explanations.causes.runaway import STABILIZER_RUNAWAY, TAB_RUNAWAY
from neutralpoint.explanations.causes.separation import SEPARATION
from neutralpoint.explanations.causes.spiral import SPIRAL
from neutralpoint.explanations.causes.tail_stall import TAIL_STALL
from neutralpoint.explanations.causes.trim_restarts import TRIM_RESTARTS
from neutralpoint.explanations.causes.unlisted import UNLISTED
from neutralpoint.explanations.causes.wind_shear import WIND_SHEAR
from neutralpoint.explanations.causes.wing_stall import WING_STALL

CAUSES: dict[str, Cause] = {
    cause.name: cause
    for cause in (
        NOTHING_FAILED,
        STABILIZER_RUNAWAY,
        TAB_RUNAWAY,
        TRIM_RESTARTS,
        AUTOPILOT_LETS_GO,
        SEPARATION,
        ELEVATOR_JAM,
        LOAD_SHIFT_AFT,
        LOAD_SHIFT_FORWARD,
        POWER_LOSS_ONE,
        POWER_LOSS_ALL,
        WING_STALL,
        TAIL_STALL,
        SPIRAL,
        PUSH_ILLUSION,
        INCAPACITATION,
        WIND_SHEAR,
        UNLISTED,
    )
}


def find_cause(name: str) -> Cause:
    """A cause by its name.

    Args:
        name: Key of `CAUSES`.

    Returns:
        The cause.

    Raises:
        NeutralPointError: `argument-invalid` where there is none.
    """
    if name not in CAUSES:
        raise NeutralPointError(
            "argument-invalid",
            f"There is no cause called {name!r}.",
            where="cause",
            hint=f"The list has {', '.join(CAUSES)}.",
        )
    return CAUSES[name]
