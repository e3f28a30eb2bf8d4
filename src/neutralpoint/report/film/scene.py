"""The picture of a film: strip charts, plan view and profile, drawn once; what moves, each frame.

What moves is painted straight into the pixels: a cursor in each chart, a dot on the path, the
clock, the read-outs and the caption of the last event. That is what makes it quick.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as Sheet
from matplotlib.font_manager import findfont
from matplotlib.ticker import FixedLocator, FuncFormatter
from PIL import Image, ImageColor, ImageDraw, ImageFont

from neutralpoint.report.figures import palette
from neutralpoint.report.figures.compose import MARGIN, compose_figure
from neutralpoint.report.figures.display import DEGREE_SIGN, NARROW, clock, printed
from neutralpoint.report.figures.draw_matplotlib import STYLE, draw_panel, draw_path, round_ticks
from neutralpoint.report.figures.figure import Panel, PathView, Strips
from neutralpoint.report.results import Results
from neutralpoint.report.words import film as words
from neutralpoint.vocabulary.cautions import IN_BRIEF

WIDTH, HEIGHT, DOTS = 1920, 1080, 120
PANELS = (
    "pressure_altitude",
    "calibrated_airspeed",
    "vertical_speed",
    "normal_load_factor",
    "pitch_angle",
    "bank_angle",
)
TIMES = 1600
LEAD = 1.5  # s before an event from which its caption stands
HOLD = 6.0  # s after an event until which it stands
# Parts of the picture, in shares of its width and height from the lower left.
LEFT, CHART_WIDTH = 0.045, 0.435
TOP, BOTTOM, GAP = 0.885, 0.125, 0.034
VIEW_LEFT, VIEW_WIDTH = 0.675, 0.305
CAPTION = (40, 976, 1880, 1022)  # pixels
CAUTION_SIZE = 12.0  # points: 20 pixels, of 1080


@dataclass(frozen=True)
class _Chart:
    """Where a chart stands in the picture and what it reads."""

    panel: Panel
    left: int
    right: int
    top: int
    bottom: int


class Scene:
    """The fixed picture of a case, and the moving parts over it.

    Args:
        results: A results folder, read.
        first: First moment shown, s after the first of the record.
        last: Last moment shown.
        left_out: Seconds at the end that are not shown.
    """

    def __init__(self, results: Results, first: float, last: float, left_out: float) -> None:
        figure = compose_figure(results, limit=TIMES)
        inside = (figure.strips.time >= first) & (figure.strips.time <= last)
        self._strips = cut(figure.strips, inside)
        self._views = [shortened(view, inside, first, last) for view in figure.views]
        self._subject = results.findings.subject
        self._span = (first, max(last, first + 1.0))
        self._left_out = left_out
        with mpl.rc_context({**STYLE, "font.size": 8.0}):
            sheet = Sheet(figsize=(WIDTH / DOTS, HEIGHT / DOTS), dpi=DOTS)
            sheet.set_facecolor(palette.PAPER)
            canvas = FigureCanvasAgg(sheet)
            charts = self._draw_charts(sheet)
            places = self._draw_views(sheet)
            self._draw_words(sheet)
            canvas.draw()
            self._fixed = np.asarray(canvas.buffer_rgba())[:, :, :3].copy()
            self._charts = [self._chart(axes, panel) for axes, panel in charts]
            self._dots = [self._pixels(axes, view) for axes, view in places]
        self._frame = Image.fromarray(self._fixed)
        self._base = self._frame.copy()
        self._pen = ImageDraw.Draw(self._frame)
        self._dirty: list[tuple[int, int, int, int]] = []

    def picture(self, at: float) -> np.ndarray:
        """The picture at a moment.

        Args:
            at: s after the first moment of the record.

        Returns:
            uint8, shape (1080, 1920, 3).
        """
        for box in self._dirty:
            self._frame.paste(self._base.crop(box), box[:2])
        self._dirty = []
        self._say(f"{clock_tenths(at + self._strips.start)} UTC", (1296, 24), 34, palette.INK)
        for chart in self._charts:
            self._cursor(chart, at)
        for dots in self._dots:
            self._dot(dots, at)
        self._caption(at)
        return np.asarray(self._frame)

    def _draw_charts(self, sheet: Sheet) -> list[tuple[Axes, Panel]]:
        by_key = {panel.key: panel for panel in self._strips.panels}
        panels = [by_key[key] for key in PANELS if key in by_key]
        height = (TOP - BOTTOM - GAP * (len(panels) - 1)) / len(panels)
        drawn = []
        for row, panel in enumerate(panels):
            bottom = TOP - height - row * (height + GAP)
            axes = sheet.add_axes((LEFT, bottom, CHART_WIDTH, height))
            draw_panel(axes, panel, self._strips)
            axes.set_xlim(*self._span)
            ticks = round_ticks(*(x + self._strips.start for x in self._span))
            axes.xaxis.set_major_locator(FixedLocator((ticks - self._strips.start).tolist()))
            label = row == len(panels) - 1
            axes.xaxis.set_major_formatter(
                FuncFormatter(
                    lambda x, _, label=label: clock(x + self._strips.start) if label else ""
                )
            )
            drawn.append((axes, panel))
        return drawn

    def _draw_views(self, sheet: Sheet) -> list[tuple[Axes, PathView]]:
        places = ((0.50, 0.385), (0.165, 0.245))
        drawn = []
        for (bottom, height), view in zip(places, self._views, strict=True):
            axes = sheet.add_axes((VIEW_LEFT, bottom, VIEW_WIDTH, height))
            draw_path(axes, view, self._strips)
            drawn.append((axes, view))
        return drawn

    def _draw_words(self, sheet: Sheet) -> None:
        line = words.subject_line(self._subject.airplane, invented=self._subject.invented)
        sheet.text(LEFT, 0.952, self._subject.title, fontsize=15, weight="bold", va="center")
        sheet.text(LEFT, 0.921, line, fontsize=8.5, va="center",
                   color=palette.QUIET)  # fmt: skip
        for line, height, size in (
            (words.foot_line(self._left_out), 0.032, 8.5),
            (IN_BRIEF, 0.006, CAUTION_SIZE),
        ):
            sheet.text(LEFT, height, line, fontsize=size, va="bottom", color=palette.CAUTION)

    def _chart(self, axes: Axes, panel: Panel) -> _Chart:
        box = axes.get_window_extent()
        return _Chart(
            panel, round(box.x0), round(box.x1), HEIGHT - round(box.y1), HEIGHT - round(box.y0)
        )

    def _pixels(self, axes: Axes, view: PathView) -> np.ndarray:
        points = axes.transData.transform(np.column_stack([view.x, view.y]))
        return np.column_stack([points[:, 0], HEIGHT - points[:, 1]])

    def _cursor(self, chart: _Chart, at: float) -> None:
        first, last = self._span
        x = round(chart.left + (chart.right - chart.left) * (at - first) / (last - first))
        self._paint((x - 1, chart.top, x + 1, chart.bottom), palette.INK)
        k = int(np.argmin(np.abs(self._strips.time - at)))
        low, _, median, _, high = chart.panel.bands[0].quantiles[:, k]
        place = (chart.right + 78, (chart.top + chart.bottom) // 2 - 30)
        if not np.isfinite(median):
            self._say(words.NOT_OBSERVABLE, place, 22, palette.QUIET)
            return
        axis = chart.panel.axis
        unit = axis.unit if axis.unit.startswith(DEGREE_SIGN) else f"{NARROW}{axis.unit}"
        self._say(f"{printed(median, axis.decimals)}{unit}", place, 28, palette.INKS[0])
        span = words.band_line(low, high, axis.decimals)
        self._say(span, (place[0], place[1] + 36), 17, palette.QUIET)

    def _dot(self, points: np.ndarray, at: float) -> None:
        x = float(np.interp(at, self._strips.time, points[:, 0]))
        y = float(np.interp(at, self._strips.time, points[:, 1]))
        box = (round(x) - 9, round(y) - 9, round(x) + 10, round(y) + 10)
        self._pen.ellipse(box, outline=palette.PAPER, fill=palette.INK, width=3)
        self._dirty.append((box[0] - 2, box[1] - 2, box[2] + 3, box[3] + 3))

    def _caption(self, at: float) -> None:
        near = [m for m in self._strips.marks if m.time - LEAD <= at <= m.time + HOLD]
        if not near:
            return
        mark = near[-1]
        self._paint(CAPTION, palette.EVENT)
        when = clock_tenths(mark.time + self._strips.start)
        text = words.event_line(mark.number, when, mark.half_width, mark.kind, mark.text)
        font = _font(24)
        while font.getlength(text) > CAPTION[2] - CAPTION[0] - 40:
            text = f"{text[:-2]}\u2026"
        self._pen.text((CAPTION[0] + 20, CAPTION[1] + 9), text, font=font, fill="white")

    def _paint(self, box: tuple[int, int, int, int], colour: str) -> None:
        self._pen.rectangle(box, fill=ImageColor.getrgb(colour))
        self._dirty.append((box[0], box[1], box[2] + 1, box[3] + 1))

    def _say(self, text: str, place: tuple[int, int], size: int, colour: str) -> None:
        font = _font(size)
        self._pen.text(place, text, font=font, fill=colour)
        box = self._pen.textbbox(place, text, font=font)
        self._dirty.append((int(box[0]) - 1, int(box[1]) - 1, int(box[2]) + 2, int(box[3]) + 2))


@lru_cache
def _font(size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(findfont("DejaVu Sans"), size)


def clock_tenths(seconds: float) -> str:
    """UTC clock of a time in seconds after midnight, to a tenth."""
    tenths = round(seconds * 10) % 864000
    return f"{clock(tenths // 10)}.{tenths % 10}"


def cut(strips: Strips, inside: np.ndarray) -> Strips:
    """Strips on the times that are shown, each panel on the scale of what is shown."""
    time = strips.time[inside]
    marks = tuple(m for m in strips.marks if time[0] <= m.time <= time[-1])
    panels = tuple(_cut_panel(panel, inside, time[0], time[-1]) for panel in strips.panels)
    return Strips(strips.day, strips.start, time, panels, marks)


def _cut_panel(panel: Panel, inside: np.ndarray, first: float, last: float) -> Panel:
    bands = tuple(replace(band, quantiles=band.quantiles[:, inside]) for band in panel.bands)
    seen = [band.quantiles[np.isfinite(band.quantiles)] for band in bands]
    read = panel.readings
    if read is not None:
        kept = (read.time >= first) & (read.time <= last)
        read = replace(
            read, time=read.time[kept], value=read.value[kept], suspect=read.suspect[kept]
        )
        seen.append(read.value[read.suspect == 0])
    values = np.concatenate(seen)
    if not values.size:
        return replace(panel, bands=bands, readings=read)
    margin = MARGIN * float(np.ptp(values)) or 1.0
    axis = replace(panel.axis, low=values.min() - margin, high=values.max() + margin)
    return replace(panel, axis=axis, bands=bands, readings=read)


def shortened(view: PathView, inside: np.ndarray, first: float, last: float) -> PathView:
    """A view without what is not shown."""
    read = (view.reading_time >= first) & (view.reading_time <= last)
    return PathView(
        view.key, view.title, view.x_unit, view.y_unit, view.equal,
        view.x[inside], view.y[inside], view.sample_x[:, inside], view.sample_y[:, inside],
        view.reading_time[read], view.reading_x[read], view.reading_y[read],
    )  # fmt: skip
