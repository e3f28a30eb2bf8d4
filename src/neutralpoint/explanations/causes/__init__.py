"""The candidate causes, one module each; mirror images of one mechanism share theirs.

What comes in: parameters and the present moment. What goes out: what is changed, as an `Effect`.
It is assumed that one cause acts at a time and that the list is never complete; its last row says
so. A cause computes no force: the flight model flies what it changes.
"""

from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.causes.autopilot_hardover import AUTOPILOT_HARDOVER
from neutralpoint.explanations.causes.autopilot_mistrim import AUTOPILOT_MISTRIM
from neutralpoint.explanations.causes.control_input import CONTROL_INPUT
from neutralpoint.explanations.causes.elevator_jam import ELEVATOR_JAM
from neutralpoint.explanations.causes.incapacitation import INCAPACITATION
from neutralpoint.explanations.causes.intermittent_runaway import INTERMITTENT_RUNAWAY
from neutralpoint.explanations.causes.load_shift import LOAD_SHIFT_AFT, LOAD_SHIFT_FORWARD
from neutralpoint.explanations.causes.no_failure import NO_FAILURE
from neutralpoint.explanations.causes.power_loss import POWER_LOSS_ALL, POWER_LOSS_ONE
from neutralpoint.explanations.causes.runaway import STABILIZER_RUNAWAY, TAB_RUNAWAY
from neutralpoint.explanations.causes.separation import SEPARATION
from neutralpoint.explanations.causes.somatogravic_input import SOMATOGRAVIC_INPUT
from neutralpoint.explanations.causes.spiral_dive import SPIRAL_DIVE
from neutralpoint.explanations.causes.structural_failure import STRUCTURAL_FAILURE
from neutralpoint.explanations.causes.tailplane_stall import TAILPLANE_STALL
from neutralpoint.explanations.causes.takeoff_mistrim import TAKEOFF_MISTRIM
from neutralpoint.explanations.causes.unlisted import UNLISTED
from neutralpoint.explanations.causes.wind_shear import WIND_SHEAR
from neutralpoint.explanations.causes.wing_stall import WING_STALL

CAUSES: dict[str, Cause] = {
    cause.name: cause
    for cause in (
        NO_FAILURE,
        STABILIZER_RUNAWAY,
        TAB_RUNAWAY,
        INTERMITTENT_RUNAWAY,
        AUTOPILOT_MISTRIM,
        AUTOPILOT_HARDOVER,
        TAKEOFF_MISTRIM,
        SEPARATION,
        ELEVATOR_JAM,
        LOAD_SHIFT_AFT,
        LOAD_SHIFT_FORWARD,
        POWER_LOSS_ONE,
        POWER_LOSS_ALL,
        WING_STALL,
        TAILPLANE_STALL,
        STRUCTURAL_FAILURE,
        SPIRAL_DIVE,
        SOMATOGRAVIC_INPUT,
        CONTROL_INPUT,
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
