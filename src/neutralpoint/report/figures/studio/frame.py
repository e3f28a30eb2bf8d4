"""What stands on every picture around its chart: title, reading aid, sources, cut-off, caution."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure as Sheet
from matplotlib.legend import Legend

from neutralpoint.findings import Findings
from neutralpoint.report.figures.look import Look
from neutralpoint.report.figures.studio.formats import Format
from neutralpoint.report.figures.studio.lettering import width_of, wrapped
from neutralpoint.report.results import Results
from neutralpoint.report.words.ending import left_out
from neutralpoint.report.words.studio import source_brief, subject_line
from neutralpoint.vocabulary.cautions import IN_BRIEF

MARGIN = 0.033  # of the shorter side
HANDLE, GAP = 1.8, 1.2  # of a legend, in sizes of the type
LEADING = 1.28  # from line to line, in sizes of the type
Handle = tuple[Any, str]


@dataclass
class ChartPlace:
    """Where a note may point.

    Attributes:
        axes: The chart.
        start: s after the epoch at its zero; None where time does not run along it.
        quantity: Variable whose median it shows; empty where there is none.
        series: Time and value as drawn, for a value that a note is bound to.
    """

    axes: Axes
    start: float | None = None
    quantity: str = ""
    series: tuple[Any, Any] | None = None


@dataclass
class Picture:
    """The room of a chart, and what is drawn in it.

    Attributes:
        sheet: The picture; axes are put on it with `subplots`.
        look: Colors and sizes.
        form: Shape.
        results: A results folder, read.
        within: First and last moment that was asked for, s after the first of the record.
        until: Last moment that is shown where none was asked for; None for all.
        title: The finding that the chart shows; empty for the title of the entry.
        stopped: Whether the last seconds of the record would have been on the chart.
        places: Charts by name, for notes.
        handles: Of the legend.
        said: More lines of the reading aid.
    """

    sheet: Sheet
    look: Look
    form: Format
    results: Results
    within: tuple[float, float] | None = None
    until: float | None = None
    title: str = ""
    stopped: bool = False
    places: dict[str, ChartPlace] = field(default_factory=dict)
    handles: list[Handle] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    @property
    def findings(self) -> Findings:
        """The document."""
        return self.results.findings

    @property
    def stretch(self) -> tuple[float, float] | None:
        """First and last moment shown, s after the first of the record; None for all.

        Asked by what draws along the record, so that the picture says what it leaves out.
        """
        last = self.last
        return self.within if self.within or last is None else (0.0, last)

    @property
    def last(self) -> float | None:
        """Last moment shown, s after the first of the record; None for all."""
        last = self.until if self.within is None else self.within[1]
        self.stopped = last is not None and last == self.until
        return last

    @property
    def small(self) -> float:
        """Smallest type, points."""
        return self.look.least

    def wrapped(self, text: str, share: float, size: float | None = None) -> str:
        """Text broken to a share of the width of the picture."""
        size = self.small if size is None else size
        return "\n".join(wrapped(text, share * self.form.width, self.form.pixels(size)))


def framed(body: Picture, title: str, note: str) -> None:
    """Write title, reading aid, legend, sources and caution; give the rest to the chart.

    Args:
        body: With its chart drawn.
        title: Of the picture.
        note: How it is read.
    """
    pen = _Pen(body)
    subject = subject_line(body.findings)
    pen.down(body.title or title, body.form.head, body.look.ink, bold=True)
    pen.down(subject, body.small, body.look.quiet)
    pen.down(" ".join([note, *body.said]).strip(), body.small, body.look.ink)
    top = _legend(body, pen.top)
    pen.up(IN_BRIEF, body.small, body.look.caution)
    pen.up(f"{_stopped(body)} {source_brief(body.findings)}".strip(), body.small, body.look.quiet)
    gap = 0.4 * body.form.pixels(body.small)
    width, height = body.form.width, body.form.height
    left, low = pen.margin / width, (pen.bottom + gap) / height
    body.sheet.set_layout_engine(
        "constrained",
        rect=(left, low, 1.0 - 2.0 * left, (top - gap) / height - low),
        w_pad=0.0, h_pad=0.0, hspace=0.04, wspace=0.04,
    )  # fmt: skip


def _stopped(body: Picture) -> str:
    """What a chart along the record leaves out at its end."""
    if not body.stopped or body.until is None:
        return ""
    whole = float(body.results.time[-1] - body.results.time[0])
    return left_out(body.results, whole - body.until)


class _Pen:
    """Writes lines from the top down and from the bottom up, in pixels."""

    def __init__(self, body: Picture) -> None:
        form = body.form
        self._body = body
        self.margin = MARGIN * min(form.width, form.height)
        self.top, self.bottom = form.height - self.margin, self.margin
        self._width = form.width - 2.0 * self.margin

    def down(self, text: str, size: float, color: str, *, bold: bool = False) -> None:
        """Write under what was written before."""
        if not text:
            return
        pixels = self._body.form.pixels(size)
        for line in wrapped(text, self._width, pixels, bold=bold):
            self._line(line, self.top, "top", size, color, bold=bold)
            self.top -= LEADING * pixels
        self.top -= 0.12 * pixels

    def up(self, text: str, size: float, color: str) -> None:
        """Write above what was written before at the foot."""
        pixels = self._body.form.pixels(size)
        for line in reversed(wrapped(text, self._width, pixels)):
            self._line(line, self.bottom, "bottom", size, color, bold=False)
            self.bottom += LEADING * pixels

    def _line(
        self, text: str, at: float, side: str, size: float, color: str, *, bold: bool
    ) -> None:
        form = self._body.form
        self._body.sheet.text(
            self.margin / form.width, at / form.height, text, fontsize=size, color=color,
            va=side, ha="left", fontweight="bold" if bold else "normal", parse_math=False,
        )  # fmt: skip


def _legend(body: Picture, top: float) -> float:
    """Rows of handles under the reading aid; returns where the chart may begin, pixels."""
    margin = MARGIN * min(body.form.width, body.form.height)
    return legend_rows(body, top, margin, body.form.width - 2.0 * margin)


def legend_rows(body: Picture, top: float, left: float, width: float) -> float:
    """Draw the handles of a picture in rows.

    Args:
        body: With its handles.
        top: Of the first row, pixels from the foot.
        left: Of each row, pixels.
        width: Of a row, pixels.

    Returns:
        Where the rows end, pixels from the foot.
    """
    form, pixels = body.form, body.form.pixels(body.small)
    for row in _flowing(body.handles, pixels, width):
        drawn = Legend(
            body.sheet, [handle for handle, _ in row], [text for _, text in row],
            loc="upper left", bbox_to_anchor=(left / form.width, top / form.height),
            bbox_transform=body.sheet.transFigure, ncols=len(row), frameon=False,
            fontsize=body.small, handlelength=HANDLE, handletextpad=0.5, borderpad=0.0,
            borderaxespad=0.0, columnspacing=GAP, labelcolor=body.look.ink,
        )  # fmt: skip
        drawn.set_in_layout(False)
        body.sheet.add_artist(drawn)
        top -= LEADING * pixels
    return top


def _flowing(handles: list[Handle], pixels: float, width: float) -> list[list[Handle]]:
    """Handles in rows, each as full as the width allows."""
    rows: list[list[Handle]] = []
    left = 0.0
    for handle in handles:
        wide = width_of(handle[1], pixels) + (HANDLE + GAP + 0.6) * pixels
        if not rows or wide > left:
            rows.append([])
            left = width + GAP * pixels
        rows[-1].append(handle)
        left -= wide
    return rows
