"""Autopilot trims against a load, then disconnects."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, after, ramp
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Load the column while the autopilot is on, then let go of both.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    gone = after(moment.time, p["start"] + p["hold"])
    return Effect(
        autopilot=1.0 - 2.0 * gone,
        load=p["load"] * ramp(moment.time, p["start"], p["build_up"]),
    )


AUTOPILOT_MISTRIM = Cause(
    name=CauseName.AUTOPILOT_MISTRIM,
    mechanism=(
        "The autopilot trims out a sustained column force, unnoticed, and disconnects far out of "
        "trim."
    ),
    changes=("trim drive", "pilot"),
    parameters=(
        START,
        Parameter(
            "load",
            "sustained column pull while the autopilot flies (a pull makes it trim nose down)",
            "N",
            Prior("lognormal", 90.0, 0.5),
        ),
        Parameter(
            "build_up", "how long the load takes to build up", "s", Prior("lognormal", 3.0, 0.5)
        ),
        Parameter(
            "hold",
            "from the start of the force to the disconnect",
            "s",
            Prior("lognormal", 30.0, 0.6),
        ),
    ),
    cannot_explain=(
        "a change of trim faster than the autopilot's trim rate before it disconnects",
        "a flight without an autopilot engaged",
    ),
    evidence=(
        "mode annunciations, autopilot fail log, disconnect tone",
        "recorded servo current",
        "trim position as found, converted to a trim speed",
    ),
    not_separable=("a runaway that starts under the autopilot",),
    act=act,
    needs_trim="any",
    needs_rate="autopilot_rate",
    needs_autopilot=True,
)
