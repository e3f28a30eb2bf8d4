"""Events on the corrected clock: each with the error of its own time and of its source's clock."""

from __future__ import annotations

from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import Figure as Sheet
from matplotlib.ticker import FixedLocator, FuncFormatter

from neutralpoint.findings import Event, Findings
from neutralpoint.report.figures import palette
from neutralpoint.report.figures.display import clock
from neutralpoint.report.figures.draw_matplotlib import WIDTH, print_style, round_ticks

KINDS = ("voice", "warning", "radar", "witness", "record", "derived")
SIGNS = {"voice": "o", "warning": "^", "radar": "s", "witness": "D", "record": "v", "derived": "P"}
ROW_HEIGHT = 0.34  # inch
MARGIN = 0.06  # of the stretch, on both sides
LEAST_SPAN = 20.0  # s
WIDE = 0.3  # of the axis: the text of a longer bar stands over it
LONGEST = 64  # characters of an event's text; the table has it whole


@dataclass(frozen=True)
class SourceClock:
    """The clock of one source of events."""

    source: str
    offset: float
    half_width: float
    basis: str
    events: int


def source_clocks(findings: Findings) -> list[SourceClock]:
    """The clock of each source: its offset that was taken off, and what that rests on."""
    groups: dict[tuple[str, float, float, str], int] = {}
    for event in findings.events:
        key = (event.source, event.clock_offset, event.clock_half_width, event.clock_basis)
        groups[key] = groups.get(key, 0) + 1
    return [SourceClock(*key, events=count) for key, count in groups.items()]


def timeline_sheet(findings: Findings) -> Sheet:
    """Events by kind over one clock, bars for 95%, a hollow sign where the source's clock stood.

    Args:
        findings: A document with at least one event.

    Returns:
        The sheet.
    """
    events = list(enumerate(findings.events, start=1))
    kinds = [kind for kind in KINDS if any(event.kind == kind for _, event in events)]
    low = min(event.time - event.half_width for _, event in events)
    high = max(event.time + event.half_width for _, event in events)
    spare = max(MARGIN * (high - low), (LEAST_SPAN - high + low) / 2.0, 1.0)
    epoch = findings.epoch
    midnight = epoch.hour * 3600 + epoch.minute * 60 + epoch.second + epoch.microsecond * 1e-6
    with print_style():
        sheet = Sheet(figsize=(WIDTH, 1.05 + ROW_HEIGHT * len(events)), layout="constrained")
        axes = sheet.subplots()
        axes.set_xlim(low - spare, high + spare)
        for row, (number, event) in enumerate(events):
            _draw(axes, row, number, event)
        axes.set_ylim(len(events) - 0.4, -0.9)
        axes.set_yticks([])
        ticks = round_ticks(low - spare + midnight, high + spare + midnight)
        axes.xaxis.set_major_locator(FixedLocator((ticks - midnight).tolist()))
        axes.xaxis.set_major_formatter(FuncFormatter(lambda x, _: clock(x + midnight)))
        axes.set_xlabel(f"UTC on the corrected clock, {epoch.date().isoformat()}")
        axes.set_title(
            "Bar: 95% band of the time. Hollow sign: time by the source's own clock.",
            loc="left", fontsize=8, color=palette.INK, pad=3,
        )  # fmt: skip
        for kind in kinds:
            axes.plot([], [], SIGNS[kind], color=palette.EVENT, markersize=4, label=kind)
        sheet.legend(loc="outside upper left", ncols=len(kinds), frameon=False, fontsize=8)
        return sheet


def _draw(axes: Axes, row: int, number: int, event: Event) -> None:
    axes.plot(
        [event.time - event.half_width, event.time + event.half_width], [row, row],
        color=palette.EVENT, linewidth=4, alpha=0.35, solid_capstyle="butt",
    )  # fmt: skip
    axes.plot(event.time, row, SIGNS[event.kind], color=palette.EVENT, markersize=4.5)
    if event.clock_offset:
        axes.plot(
            event.time + event.clock_offset, row, SIGNS[event.kind], markersize=4.5,
            markerfacecolor="none", markeredgecolor=palette.QUIET, markeredgewidth=0.8,
        )  # fmt: skip
    text = event.text if len(event.text) <= LONGEST else f"{event.text[: LONGEST - 1]}\u2026"
    left, right = axes.get_xlim()
    late = event.time > (left + right) / 2.0
    reach = event.half_width + max(0.0, (-1.0 if late else 1.0) * event.clock_offset)
    if reach > WIDE * (right - left):
        axes.annotate(
            f"{number}  {text}", (event.time, row), xytext=(0, 5), textcoords="offset points",
            ha="center", va="bottom", fontsize=7, color=palette.INK,
        )  # fmt: skip
        return
    axes.annotate(
        f"{number}  {text}", (event.time + (-reach if late else reach), row),
        xytext=(-7 if late else 7, 0), textcoords="offset points",
        ha="right" if late else "left", va="center", fontsize=7, color=palette.INK,
    )  # fmt: skip
