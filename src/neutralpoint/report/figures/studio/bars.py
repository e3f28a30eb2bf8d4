"""Bars in rows, each with its words over it."""

from __future__ import annotations

from matplotlib.axes import Axes

from neutralpoint.report.figures.studio.frame import Picture
from neutralpoint.report.figures.studio.lettering import shortened, width_of

BAR = 0.36  # of the height of a row
INDENT = 0.006  # of the width of the chart, between its axis and words over a bar
Label = tuple[str, str]  # what stands always, and what stands where there is room


def bar(axes: Axes, body: Picture, place: float, value: float, color: str) -> None:
    """One bar of a row."""
    axes.barh(place, value, height=BAR, color=color, edgecolor=body.look.edge,
              linewidth=body.look.line(0.5))  # fmt: skip


def spread(axes: Axes, body: Picture, place: float, low: float, high: float) -> None:
    """A range over a bar with ticks at its ends, with a seam so that it shows on any fill."""
    look = body.look
    for color, width, tick in ((look.ground, 3.6, 6.4), (look.ink, 1.5, 5.0)):
        axes.plot([low, high], [place, place], color=color, linewidth=look.line(width), marker="|",
                  markersize=look.line(tick), markeredgewidth=look.line(width),
                  solid_capstyle="butt", clip_on=False)  # fmt: skip


def rows_of(body: Picture, labels: list[Label]) -> Axes:
    """Axes with a row for each label, its words over the bar, so that bars have the whole width."""
    axes = body.sheet.subplots()
    axes.grid(visible=False, axis="y")
    axes.set_axisbelow(True)
    axes.set_yticks([])
    for place, one in enumerate(labels):
        axes.annotate(
            _words(body, one), (INDENT, place - 0.62 * BAR),
            xycoords=("axes fraction", "data"), va="bottom", ha="left", fontsize=body.small,
            xytext=(0.0, 0.0), textcoords="offset points", linespacing=1.05,
        )  # fmt: skip
    axes.set_ylim(len(labels) - 0.6, -1.0 if body.form.key != "wide" else -0.8)
    return axes


def _words(body: Picture, label: Label) -> str:
    """In two lines where a picture is tall, in one where it is wide; else the first part alone."""
    told = [part for part in label if part]
    if body.form.tall:
        return body.wrapped("\n".join(told), 0.88)
    return _one_line(body, "; ".join(told) if body.form.key == "wide" else label[0])


def _one_line(body: Picture, text: str) -> str:
    """A label where there is room for a line only; a number is left out whole, never cut."""
    width = (0.94 if body.form.key == "wide" else 0.86) * body.form.width
    pixels = body.form.pixels(body.small)
    for mark in ("; ", ", "):
        while width_of(text, pixels) > width and mark in text:
            text = text.rpartition(mark)[0]
    return shortened(text, width, pixels)
