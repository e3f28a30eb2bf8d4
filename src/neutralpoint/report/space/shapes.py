"""Flat shapes in pixels, and the two that paint them: axes of a picture, pixels of a film."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.colors import to_rgba
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.transforms import IdentityTransform

from neutralpoint.numerics.arrays import Array


@dataclass(frozen=True)
class Stroke:
    """A polygon or a line.

    Attributes:
        points: Pixels, y upwards, shape (n, 2).
        fill: Color; empty for a line.
        line: Color of its edge; empty for none.
        width: Of the edge, pixels.
        alpha: Opacity.
        dashes: On and off, pixels; empty for a full line.
    """

    points: Array
    fill: str = ""
    line: str = ""
    width: float = 1.0
    alpha: float = 1.0
    dashes: tuple[float, ...] = ()

    @property
    def path(self) -> Path:
        """As matplotlib has it."""
        return Path(self.points, closed=False) if not self.fill else _closed(self.points)


@dataclass(frozen=True)
class Tag:
    """A line of text to the right of a place.

    Attributes:
        text: What it says.
        place: Pixels, y upwards.
        color: Of the type.
    """

    text: str
    place: tuple[float, float]
    color: str


def _closed(points: Array) -> Path:
    return Path(np.vstack([points, points[:1]]), closed=True)


def paint_axes(axes: Axes, shapes: list[Stroke], dots: int) -> None:
    """Paint on the axes of a picture, whose units are pixels.

    Args:
        axes: Where to.
        shapes: From back to front.
        dots: Pixels in an inch.
    """
    for order, shape in enumerate(shapes):
        patch = PathPatch(
            shape.path, facecolor=shape.fill or "none", edgecolor=shape.line or "none",
            linewidth=shape.width * 72.0 / dots, alpha=shape.alpha, capstyle="round",
            joinstyle="round", zorder=1.0 + 1e-4 * order,
        )  # fmt: skip
        if shape.dashes:
            patch.set_linestyle((0, tuple(d / max(shape.width, 1e-6) for d in shape.dashes)))
        axes.add_patch(patch)


class Canvas:
    """Pixels that shapes are painted on, without a figure around them.

    Args:
        width: Pixels.
        height: Pixels.
        paper: Color of the ground.
    """

    def __init__(self, width: int, height: int, paper: str) -> None:
        self._renderer = RendererAgg(width, height, 72)
        self._pixels = np.asarray(self._renderer.buffer_rgba())
        self._blank = np.empty_like(self._pixels)
        self._blank[...] = np.round(255.0 * np.array(to_rgba(paper))).astype(np.uint8)
        self._flat = IdentityTransform()
        self.clear()

    def clear(self) -> None:
        """Paint the ground over all."""
        self._pixels[...] = self._blank

    def keep(self) -> np.ndarray:
        """A copy of what is painted, to start again from."""
        return self._pixels.copy()

    def restore(self, kept: np.ndarray) -> None:
        """Put back what was kept."""
        self._pixels[...] = kept

    def paint(self, shapes: list[Stroke]) -> np.ndarray:
        """Paint shapes, and see the pixels.

        Args:
            shapes: From back to front.

        Returns:
            uint8, shape (height, width, 4); a view.
        """
        for shape in shapes:
            gc = self._renderer.new_gc()
            gc.set_linewidth(shape.width if shape.line else 0.0)
            gc.set_foreground(to_rgba(shape.line or shape.fill, shape.alpha), isRGBA=True)
            gc.set_capstyle("round")
            gc.set_joinstyle("round")
            if shape.dashes:
                gc.set_dashes(0.0, list(shape.dashes))
            face = to_rgba(shape.fill, shape.alpha) if shape.fill else None
            self._renderer.draw_path(gc, shape.path, self._flat, face)
            gc.restore()
        return self._pixels
