"""Runaway of the pitch trim: of a moving stabilizer, or of a tab."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, after
from neutralpoint.explanations.causes.shared import DIRECTION, RATE_SHARE, RUN, START
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Drive the motor between two times.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    return Effect(
        motor=p["direction"] * p["rate_share"] * after(moment.time, p["start"]),
        interrupted=after(moment.time, p["start"] + p["run"]),
    )


def _runaway(drive: str, surface: str) -> Cause:
    return Cause(
        name=CauseName(f"{drive}-runaway"),
        mechanism=(
            f"The trim motor drives the {surface} at its own rate until it is stopped, "
            "stops by itself, or meets the end of its travel."
        ),
        changes=("trim drive",),
        parameters=(
            START,
            DIRECTION,
            RATE_SHARE,
            RUN,
        ),
        cannot_explain=(
            "a change of moment faster than the motor",
            "trim beyond the end of its travel",
            "a moment that does not grow with dynamic pressure",
        ),
        evidence=(
            "length of the actuator and the marks inside it",
            "relay contacts, switches, chafed wires, where the breaker stood",
            "sound of trim in motion on a recording",
            "history of the part and reports of earlier trim faults",
        ),
        not_separable=(
            "the pilot's own trimming for as long",
            "an elevator held over at the same rate",
            "false attitude that is flown by trim",
        ),
        act=act,
        needs_trim=drive,
        needs_rate="rate",
    )


STABILIZER_RUNAWAY = _runaway("stabilizer", "stabilizer")
TAB_RUNAWAY = _runaway("tab", "elevator tab")
