"""A picture that keeps what does not change: each frame paints only what moved."""

from __future__ import annotations

from collections.abc import Callable

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as Sheet
from PIL import Image, ImageDraw

from neutralpoint.report.figures.draw_matplotlib import LIMIT
from neutralpoint.report.figures.look import Look, style_of
from neutralpoint.report.figures.studio.formats import Format
from neutralpoint.report.figures.studio.frame import Picture, legend_rows
from neutralpoint.report.figures.studio.lettering import font
from neutralpoint.report.film.layout import DOTS, LEAST, Box, FilmLayout
from neutralpoint.report.results import Results

LEGEND = 150  # pixels that rows over a chart, and its scale, take
LEAST_ROWS = 4  # bars, closer together where a chart is flat
ROW = 78  # pixels that a bar with its label takes
FAINT = 0.62  # how strong a curve is drawn ahead of its time, so that no chart is ever empty
BAND, RING = 10, 6  # pixels: half of the height of a band in a legend, radius of a ring
PAD = 5  # pixels around axes that are revealed with them


class Easel:
    """One picture: text, boxes and pasted parts over a ground that is kept.

    Args:
        layout: Stroke.
        look: Colors.
    """

    def __init__(self, layout: FilmLayout, look: Look) -> None:
        self.layout, self.look = layout, look
        self.image = Image.new("RGB", (layout.width, layout.height), look.paper)
        self._pen = ImageDraw.Draw(self.image)
        self._held: dict[str, tuple[str, Box]] = {}
        self.base = self.image.copy()

    def settle(self) -> None:
        """What stands now is the ground that later parts are painted over."""
        self.base = self.image.copy()
        self._held.clear()

    def restore(self, box: Box) -> None:
        """Put the ground back."""
        self.image.paste(self.base.crop(box), box[:2])

    def write(
        self, text: str, place: tuple[float, float], size: int, color: str, *, bold: bool = False,
        anchor: str = "la",
    ) -> Box:  # fmt: skip
        """A line of text; returns the pixels that it takes."""
        face = font(size, bold=bold)
        self._pen.text(place, text, font=face, fill=color, anchor=anchor)
        left, top, right, bottom = self._pen.textbbox(place, text, font=face, anchor=anchor)
        return int(left) - 2, int(top) - 2, int(right) + 3, int(bottom) + 3

    def say(
        self, key: str, text: str, place: tuple[float, float], size: int, color: str, *,
        bold: bool = False, anchor: str = "la",
    ) -> None:  # fmt: skip
        """A text that changes: the one before under the same key is taken off."""
        if self._held.get(key, ("", None))[0] == text:
            return
        if key in self._held:
            self.restore(self._held[key][1])
        self._held[key] = (
            text,
            self.write(text, place, size, color, bold=bold, anchor=anchor),
        )

    def sign(self, kind: str, line: Box) -> None:
        """A sign of a legend on a level line.

        Args:
            kind: `median`, `band_50`, `band_90`, `ring` or `cross`.
            line: From its left end to its right end; pixels.
        """
        (left, y, right, _), look = line, self.look
        if kind == "median":
            self._pen.line((left, y, right, y), fill=look.inks[0], width=4)
        elif kind == "cross":
            middle = (left + right) // 2
            for side in (-RING, RING):
                ends = (middle - RING, y - side, middle + RING, y + side)
                self._pen.line(ends, fill=look.ink, width=2)
        elif kind == "ring":
            middle = (left + right) // 2
            self._pen.ellipse((middle - RING, y - RING, middle + RING, y + RING),
                              outline=look.ink, width=2)  # fmt: skip
        else:
            fill = look.band_50 if kind == "band_50" else look.band_90
            self._pen.rectangle((left, y - BAND, right, y + BAND), fill=fill, outline=look.edge)

    def fill(self, box: Box, color: str) -> None:
        """A filled box."""
        self._pen.rectangle((box[0], box[1], box[2] - 1, box[3] - 1), fill=color)

    def paste(self, pixels: np.ndarray, place: tuple[int, int]) -> None:
        """Pixels, uint8, shape (h, w, 3)."""
        self.image.paste(Image.fromarray(np.ascontiguousarray(pixels)), place)


class Growing:
    """Charts that stand faint from the beginning and grow strong from left to right.

    Args:
        easel: Where to.
        results: A results folder, read.
        box: Pixels that the charts take.
        draw: Draws them into a body.
        panels: Charts over one another that fit.
        until: Last moment that is shown of charts along time, s after the epoch; None for all.
        lettered: Whether words in the charts stand from the beginning.
    """

    def __init__(
        self, easel: Easel, results: Results, box: Box, draw: Callable[[Picture], None], *,
        panels: int, until: float | None = None, lettered: bool = False,
    ) -> None:  # fmt: skip
        self._easel, self._box = easel, box
        width, height = box[2] - box[0], box[3] - box[1]
        form = Format("square", "", width, height, DOTS, LEAST, LEAST, panels,
                      max(LEAST_ROWS, (height - LEGEND) // ROW))  # fmt: skip
        look = easel.look.sized(form.scale, LEAST)
        with mpl.rc_context(style_of(look)):
            sheet = Sheet(figsize=(width / DOTS, height / DOTS), dpi=DOTS, facecolor=look.paper)
            self.body = Picture(sheet, look, form, results)
            draw(self.body)
            top = legend_rows(self.body, height - 2.0, 0.0, width)
            sheet.set_layout_engine(
                "constrained", rect=(0.0, 0.0, 1.0, (top - 4.0) / height),
                w_pad=0.02, h_pad=0.02, hspace=0.03,
            )  # fmt: skip
            self._cut(until)
            self._full, empty = self._drawn(sheet, lettered=lettered)
            self._empty = Image.blend(empty, self._full, FAINT)
        self._windows = [self._window(place.axes) for place in self.body.places.values()]
        self.axes = [place.axes for place in self.body.places.values()]
        self._at = [0] * len(self._windows)
        easel.image.paste(self._empty, box[:2])

    def _cut(self, until: float | None) -> None:
        for place in self.body.places.values():
            if until is not None and place.start is not None:
                left, right = place.axes.get_xlim()
                place.axes.set_xlim(left, min(right, until - place.start))

    def _drawn(self, sheet: Sheet, *, lettered: bool) -> tuple[Image.Image, Image.Image]:
        canvas = FigureCanvasAgg(sheet)
        canvas.draw()
        full = Image.fromarray(np.asarray(canvas.buffer_rgba())[:, :, :3].copy())
        sheet.set_layout_engine("none")  # what is hidden next must not move the axes
        for axes in sheet.axes:
            texts = [] if lettered else axes.texts
            for artist in [*axes.lines, *axes.collections, *axes.patches, *texts]:
                artist.set_visible(artist.get_gid() == LIMIT)  # known before the flight
        canvas.draw()
        return full, Image.fromarray(np.asarray(canvas.buffer_rgba())[:, :, :3].copy())

    def _window(self, axes) -> Box:
        box, height = axes.get_window_extent(), self._full.height
        return (round(box.x0), height - round(box.y1) - PAD, round(box.x1),
                height - round(box.y0) + PAD)  # fmt: skip

    def whole(self) -> None:
        """Uncover everything at once."""
        self._easel.image.paste(self._full, self._box[:2])

    def place(self, number: int) -> Box:
        """Pixels of a chart in the picture."""
        left, top, right, bottom = self._windows[number]
        x, y = self._box[:2]
        return left + x, top + y, right + x, bottom + y

    def grow(self, share: Callable[[int], float]) -> None:
        """Uncover each chart up to a share of its width.

        Args:
            share: Of a chart, by its number.
        """
        for number, (left, top, right, bottom) in enumerate(self._windows):
            x = left + round((right - left) * float(np.clip(share(number), 0.0, 1.0)))
            before = max(self._at[number], left)
            if x < before:  # a film that is not played in order
                self._copy(self._empty, (left, top, right + 1, bottom))
                before = left
            self._copy(self._full, (max(before - 2, left), top, min(x + 1, right + 1), bottom))
            self._at[number] = x

    def _copy(self, source: Image.Image, box: Box) -> None:
        if box[2] > box[0]:
            x, y = self._box[:2]
            self._easel.image.paste(source.crop(box), (box[0] + x, box[1] + y))

    def cursor(self, number: int, color: str, *, below: int = 0) -> None:
        """A thin line where a chart is uncovered to; the next `grow` takes it off.

        Args:
            number: Of the chart.
            color: Of the line.
            below: Pixels at the head of the chart that stay free, for numbers of events.
        """
        _, top, right, bottom = self._windows[number]
        x = min(self._at[number], right - 1)
        dx, dy = self._box[:2]
        self._easel.fill((x - 1 + dx, top + below + dy, x + 1 + dx, bottom + dy), color)

    def takes_off(self, number: int) -> None:
        """Take the cursor of a chart off again."""
        left, top, right, bottom = self._windows[number]
        x = min(self._at[number], right - 1)
        self._copy(self._full, (max(x - 2, left), top, x + 1, bottom))
        self._copy(self._empty, (x + 1, top, min(x + 3, right + 1), bottom))
