"""Trim that stops and starts again."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, after
from neutralpoint.explanations.causes.shared import DIRECTION, RATE_SHARE, START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Drive, hold, drive again.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    held = after(moment.time, p["start"] + p["first_run"])
    freed = after(moment.time, p["start"] + p["first_run"] + p["pause"])
    return Effect(
        motor=p["direction"] * p["rate_share"] * after(moment.time, p["start"]),
        interrupted=held - freed,
    )


INTERMITTENT_RUNAWAY = Cause(
    name=CauseName.INTERMITTENT_RUNAWAY,
    mechanism=(
        "A runaway is held by a device that works only while it is pressed; released, the "
        "trim moves again."
    ),
    changes=("trim drive", "pilot"),
    parameters=(
        START,
        DIRECTION,
        RATE_SHARE,
        Parameter(
            "first_run",
            "how long it runs before it is first held",
            "s",
            Prior("lognormal", 6.0, 0.6),
        ),
        Parameter("pause", "how long it is held", "s", Prior("lognormal", 8.0, 0.8)),
    ),
    cannot_explain=(
        "a change of moment faster than the motor",
        "trim beyond the end of its travel",
    ),
    evidence=(
        "stop device: whether it holds or latches, and its state",
        "two starts of the motor on a recording",
        "relay contacts; breaker",
    ),
    not_separable=(
        "a runaway in one piece where the pause is shorter than the data resolve",
        "a pilot who trims twice",
    ),
    act=act,
    needs_trim="any",
    needs_rate="rate",
)
