"""Trim tab runaway."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.causes.shared import DIRECTION, RATE_SHARE, RUN, START
from neutralpoint.explanations.causes.stabilizer_runaway import act

TAB_RUNAWAY = Cause(
    name="tab-runaway",
    title="Trim tab runaway",
    mechanism=(
        "The trim motor drives the elevator tab at its own rate until it is stopped, "
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
    needs_trim="tab",
)
