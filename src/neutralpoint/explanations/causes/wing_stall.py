"""Wing stall."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, ramp
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Take power and the eye from the airspeed, and lower the lift that the wing can give.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    # Roll damping has no ramp: it is read beyond the stall only.
    begun = ramp(moment.time, p["start"], 2.0)
    return Effect(
        lever=p["power"] * begun,
        lift_limit=1.0 + (p["lift_limit"] - 1.0) * begun,
        drag=1.0 + (p["drag"] - 1.0) * begun,
        roll_damping=p["roll_damping"],
        aileron=p["lean"] * begun,
        unaware=begun,
    )


WING_STALL = Cause(
    name=CauseName.WING_STALL,
    mechanism="Speed bleeds away unseen while the path is held, until the wing stalls and drops.",
    changes=("engine", "aerodynamics"),
    parameters=(
        START,
        Parameter(
            "power",
            "change of the power levers that lets the speed bleed",
            "",
            Prior("uniform", -0.8, -0.1),
        ),
        Parameter(
            "lift_limit",
            "stall angle over that of a clean wing",
            "",
            Prior("uniform", 0.6, 1.0),
            "analyst's estimate; ice takes up to a third, common practice, no source",
        ),
        Parameter("drag", "zero-lift drag over clean", "", Prior("lognormal", 1.15, 0.2)),
        Parameter(
            "roll_damping",
            "roll damping beyond the stall over that before (negative: it drops a wing)",
            "",
            Prior("uniform", -1.0, 0.5),
        ),
        Parameter("lean", "aileron out of rig", "rad", Prior("normal", 0.5 * DEGREE, 0.5 * DEGREE)),
    ),
    cannot_explain=(
        "high speed within seconds",
        "lift below the largest the wing gives, before",
    ),
    evidence=(
        "flat impact with little forward speed",
        "stall warning on a recording; ice reports",
    ),
    not_separable=("structural failure, unless the lift before it is known",),
    act=act,
)
