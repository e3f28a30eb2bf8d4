"""The cautions that stand wherever a result is read."""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    "Not for flight: nothing here is approved for planning, training or operating an airplane.",
    "Preliminary data: sources may be corrected, and the results then change.",
    "The official investigation and licensed practice decide; this report replaces neither.",
    "No blame: a track shows a path. It shows nobody's intent, skill or error, "
    "and none is inferred here.",
)

# The same in a line, for the foot of a page.
IN_BRIEF = (
    "Not for flight. Preliminary. The official investigation decides. "
    "No blame, and no intent from a track."
)

STOP_SHORT = (
    "A curve is only as good as its band. Where a quantity is marked not observable, "
    "the data support no value, and none should be quoted."
)
