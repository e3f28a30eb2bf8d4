"""The figure for print: SVG and PNG without a browser."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure as Sheet
from matplotlib.layout_engine import LayoutEngine
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from neutralpoint.files import told_of_system, write_whole, written
from neutralpoint.report.figures.display import clock, printed
from neutralpoint.report.figures.figure import Band, Mark, Panel, PathView, Strips
from neutralpoint.report.figures.look import PRINT, Look, style_of, styled
from neutralpoint.report.figures.palette import DASHES

PANELS_A_SHEET = 7
VECTOR_READINGS = 600  # of one channel; more are drawn as a picture inside the SVG
DOTS = 200  # an inch, of what is drawn as a picture
WIDTH = 7.1  # inch, A4 less margins
PANEL_HEIGHT = 1.32  # inch
LABEL_SHARE, LABEL_WIDTH = 0.13, 0.22  # room of a limit's label, in shares of a panel
LIMIT = "limit"  # group of lines and words that stand from the beginning of a film
CROWDED = 0.08  # of the time shown: so near an event no clock is written, in print
MARK_BAR = 0.93  # of the height of a panel, where the error of the time of an event lies
MARK_ROOM = 0.17  # inch, over the curves of a panel, for the numbers of events
STYLE = style_of(PRINT)


@contextmanager
def print_style() -> Iterator[None]:
    """The look of printed figures, for everything drawn inside."""
    with styled(PRINT):
        yield


def strip_sheets(strips: Strips, *, height: float = PANEL_HEIGHT) -> list[Sheet]:
    """Strip charts, a few panels to a sheet, all on the same time axis.

    Args:
        strips: What to draw.
        height: Of a panel, inch.

    Returns:
        Sheets of at most `PANELS_A_SHEET` panels.
    """
    groups = [
        strips.panels[k : k + PANELS_A_SHEET] for k in range(0, len(strips.panels), PANELS_A_SHEET)
    ]
    with print_style():
        return [_strip_sheet(strips, group, height) for group in groups]


def path_sheet(views: tuple[PathView, ...], strips: Strips) -> Sheet:
    """The path seen from above and from the side on one sheet.

    Args:
        views: Plan view and profile.
        strips: For the clock and the events.

    Returns:
        The sheet.
    """
    with print_style():
        sheet = Sheet(figsize=(WIDTH, 4.4 * len(views)), layout="constrained")
        for axes, view in zip(np.atleast_1d(sheet.subplots(len(views))), views, strict=True):
            draw_path(axes, view, strips)
        return sheet


def svg(sheet: Sheet) -> bytes:
    """A sheet as SVG; the same sheet gives the same bytes.

    A sheet that lays itself out is drawn twice by its library, the first time for its layout. Laid
    out before, on the same canvas, it is drawn once, and its bytes are the same.
    """
    buffer = io.BytesIO()
    layout = sheet.get_layout_engine()
    with print_style():
        if layout is not None:
            _lay_out(sheet, layout)
        sheet.savefig(buffer, format="svg", dpi=DOTS, metadata={"Date": None, "Creator": None})
    sheet.set_layout_engine(layout)
    return buffer.getvalue()


def _lay_out(sheet: Sheet, layout: LayoutEngine) -> None:
    """Place what stands on a sheet as for its SVG, and leave it there."""
    FigureCanvasSVG(sheet)
    before, sheet.dpi = sheet.dpi, DOTS
    layout.execute(sheet)
    sheet.set_layout_engine(None)
    sheet.dpi = before


def save_sheets(sheets: dict[str, Sheet], folder: Path) -> list[Path]:
    """Write each sheet as SVG and as PNG at 200 dots an inch.

    Args:
        sheets: By file name without suffix.
        folder: Where to; it is made.

    Returns:
        The files written.
    """
    with told_of_system(folder):
        folder.mkdir(parents=True, exist_ok=True)
    saved = []
    for name, sheet in sheets.items():
        vector, raster = folder / f"{name}.svg", folder / f"{name}.png"
        write_whole(vector, svg(sheet))
        with print_style(), written(raster) as fresh:
            sheet.savefig(fresh, format="png", dpi=DOTS, metadata={"Software": None})
        saved += [vector, raster]
    return saved


def clock_ticks(strips: Strips) -> np.ndarray:
    """At most nine or so times, s after the start, at round moments of the clock."""
    ends = (strips.start + float(strips.time[0]), strips.start + float(strips.time[-1]))
    return round_ticks(*ends) - strips.start


def round_ticks(first: float, last: float) -> np.ndarray:
    """At most nine or so round moments between two times, s after midnight."""
    steps = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800)
    step = next((s for s in steps if (last - first) / s <= 9), 3600)
    return np.arange(np.ceil(first / step) * step, last, step)


def _strip_sheet(strips: Strips, panels: tuple[Panel, ...], height: float) -> Sheet:
    sheet = Sheet(figsize=(WIDTH, height * len(panels) + 0.3), layout="constrained")
    rows = np.atleast_1d(sheet.subplots(len(panels), sharex=True))
    span = float(strips.time[0]), float(strips.time[-1])
    for axes, panel in zip(rows, panels, strict=True):
        draw_panel(axes, under_marks(panel, strips, span, MARK_ROOM / height), strips)
    rows[-1].xaxis.set_major_locator(FixedLocator(clock_ticks(strips).tolist()))
    rows[-1].xaxis.set_major_formatter(FuncFormatter(lambda x, _: clock(x + strips.start)))
    rows[-1].set_xlabel(f"UTC, {strips.day}")
    return sheet


def under_marks(panel: Panel, strips: Strips, span: tuple[float, float], room: float) -> Panel:
    """Room over the curves for the numbers of events, so that they hide nothing.

    Args:
        panel: As composed.
        strips: With its events.
        span: First and last moment that is shown, on the clock of the strips.
        room: Of the height of the chart; only where an event is shown.

    Returns:
        The panel on its scale.
    """
    if not any(span[0] <= mark.time <= span[1] for mark in strips.marks):
        return panel
    axis = panel.axis
    return replace(panel, axis=replace(axis, high=axis.high + room * (axis.high - axis.low)))


def draw_panel(axes: Axes, panel: Panel, strips: Strips, look: Look = PRINT) -> None:
    """Draw one strip chart.

    Args:
        axes: Where to.
        panel: What to draw.
        strips: For the times and the events.
        look: Colors and sizes.
    """
    unit = f" ({panel.axis.unit})" if panel.axis.unit else ""
    axes.set_title(f"{panel.title}{unit}", loc="left", fontsize=look.points(8.0),
                   color=look.ink, pad=look.line(2.0))  # fmt: skip
    for shade in panel.shades:
        axes.axvspan(shade.start, shade.end, facecolor="none", hatch="////", linewidth=0)
    for band in panel.bands:
        _band(axes, strips.time, band, look, alone=len(panel.bands) == 1)
    if panel.readings is not None:
        good = panel.readings.suspect == 0
        for kept, sign in ((good, "o"), (~good, "x")):
            axes.plot(
                panel.readings.time[kept],
                panel.readings.value[kept],
                sign,
                markersize=look.line(1.8),
                markerfacecolor="none",
                markeredgecolor=look.ink,
                markeredgewidth=look.line(0.4),
                rasterized=len(good) > VECTOR_READINGS,
            )
    _levels(axes, panel, look)
    _marks(axes, strips.marks, look)
    axes.set_xlim(strips.time[0], strips.time[-1])
    axes.set_ylim(panel.axis.low, panel.axis.high)
    _scales(axes, panel, look)


def _band(axes: Axes, time: np.ndarray, band: Band, look: Look, *, alone: bool) -> None:
    low90, low50, median, high50, high90 = band.quantiles
    ink = look.inks[band.ink]
    outer, inner, edge = (look.band_90, look.band_50, look.edge) if alone else (ink, ink, ink)
    faint = {"linewidth": 0, "alpha": None if alone else 0.18}
    axes.fill_between(time, low90, high90, color=outer, **faint)
    axes.fill_between(time, low50, high50, color=inner, **faint)
    for curve in (low90, high90):
        axes.plot(time, curve, color=edge, linewidth=look.line(0.4))
    dashes = (6, 4) if band.standing == "inferred" else DASHES[band.ink]
    axes.plot(time, median, color=ink, linewidth=look.line(1.0), dashes=dashes or (None, None))


def _levels(axes: Axes, panel: Panel, look: Look) -> None:
    """Limits, labelled at the left, where the record is quiet; close ones stand side by side."""
    height, last, row = panel.axis.high - panel.axis.low, -np.inf, 0
    for level in sorted(panel.levels, key=lambda level: level.value):
        if not panel.axis.low < level.value < panel.axis.high:
            continue
        axes.axhline(level.value, color=look.limit, linewidth=look.line(1.0),
                     dashes=(9, 3, 2, 3), gid=LIMIT)  # fmt: skip
        row = row + 1 if level.value - last < LABEL_SHARE * height else 0
        last = level.value
        axes.annotate(
            level.label, (0.01 + LABEL_WIDTH * (row % 3), level.value),
            xycoords=("axes fraction", "data"), ha="left", va="center", color=look.limit,
            fontsize=look.points(6.5), gid=LIMIT,
            bbox={"facecolor": look.paper, "edgecolor": "none", "pad": look.line(0.6)},
        )  # fmt: skip


def _marks(axes: Axes, marks: tuple[Mark, ...], look: Look) -> None:
    for mark in marks:
        # The error of its time as a bar with caps: a band would be taken for the onset.
        axes.errorbar(
            mark.time, MARK_BAR, xerr=mark.half_width, color=look.event, capsize=look.line(2.0),
            linewidth=look.line(1.0), transform=axes.get_xaxis_transform(),
        )  # fmt: skip
        axes.axvline(mark.time, color=look.event, linewidth=look.line(0.7), linestyle=":")
        axes.annotate(
            str(mark.number), (mark.time, 1.0), xycoords=("data", "axes fraction"),
            ha="center", va="top", color=look.on_event, fontsize=look.points(6.0),
            fontweight="bold",
            bbox={"facecolor": look.event, "edgecolor": "none", "pad": look.line(1.2)},
        )  # fmt: skip


def _scales(axes: Axes, panel: Panel, look: Look) -> None:
    axis = panel.axis
    axes.yaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(
        FuncFormatter(lambda y, _: tick(y % axis.wrap if axis.wrap else y))
    )
    if axis.second_unit:
        factor = axis.second_factor
        right = axes.secondary_yaxis(
            "right", functions=(lambda y: np.multiply(y, factor), lambda y: np.divide(y, factor))
        )
        right.set_ylabel(axis.second_unit, color=look.quiet)
        right.yaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]))
        right.yaxis.set_major_formatter(FuncFormatter(lambda y, _: tick(y)))


def tick(value: float) -> str:
    """A value at an axis, in as many decimals as it has."""
    decimals = next((d for d in range(4) if abs(round(value, d) - value) < 1e-6), 4)
    return printed(value, decimals)


def draw_path(axes: Axes, view: PathView, strips: Strips, look: Look = PRINT) -> None:
    """Draw the path in a plane.

    Args:
        axes: Where to.
        view: What to draw.
        strips: For the clock and the events.
        look: Colors and sizes.
    """
    axes.set_title(view.title, loc="left", fontsize=look.points(8.0))
    axes.plot(view.sample_x.T, view.sample_y.T, color=look.band_50, linewidth=look.line(0.5))
    axes.plot(
        view.reading_x, view.reading_y, "o", markersize=look.line(2.0), markerfacecolor="none",
        markeredgecolor=look.ink, markeredgewidth=look.line(0.4),
        rasterized=len(view.reading_x) > VECTOR_READINGS,
    )  # fmt: skip
    axes.plot(view.x, view.y, color=look.inks[0], linewidth=look.line(1.1))
    # Beside the line, not on it: to the left above a path that rises to the right.
    rising = (view.x[-1] - view.x[0]) * (view.y[-1] - view.y[0]) > 0.0
    reach = CROWDED * look.scale * float(np.ptp(strips.time))
    for second in clock_ticks(strips):
        at = int(np.searchsorted(strips.time, second))
        axes.plot(view.x[at], view.y[at], "o", color=look.inks[0], markersize=look.line(3.5))
        if not rising and any(-reach / 3.0 < mark.time - second < reach for mark in strips.marks):
            continue  # the mark of an event stands there, whose time the legend has
        axes.annotate(
            clock(second + strips.start),
            (view.x[at], view.y[at]),
            xytext=(look.line(-4.0 if rising else 4.0), look.line(4.0)),
            textcoords="offset points",
            ha="right" if rising else "left",
        )
    for mark in strips.marks:
        at = min(int(np.searchsorted(strips.time, mark.time)), len(view.x) - 1)
        axes.annotate(
            str(mark.number), (view.x[at], view.y[at]),
            xytext=(look.line(-8.0), look.line(-10.0)), textcoords="offset points",
            color=look.on_event, fontsize=look.points(6.0), fontweight="bold",
            bbox={"facecolor": look.event, "edgecolor": "none", "pad": look.line(1.2)},
        )  # fmt: skip
    axes.yaxis.set_major_formatter(FuncFormatter(lambda y, _: tick(y)))
    axes.set_xlabel(f"{view.x_unit} {'east' if view.equal else 'flown'}")
    axes.set_ylabel(f"{view.y_unit} {'north' if view.equal else ''}".strip())
    if view.equal:
        axes.set_aspect("equal", adjustable="datalim")
