"""How a figure looks: colors of its ground, and how large type and lines are.

A printed report draws with `PRINT`. A figure for a screen draws the same charts with a look of its
own, scaled so that nothing is smaller than a phone shows legibly.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
from matplotlib.colors import to_hex, to_rgb

from neutralpoint.report.figures import palette

if TYPE_CHECKING:
    from matplotlib.typing import (
        RcKeyType,
    )  # for the checker alone: younger than the library

ONSET_INK = 0.22  # of the ink of quiet words in the shade of an onset
BASE = 7.5  # points of ordinary type in a printed report


@dataclass(frozen=True)
class Look:
    """Colors by role, and sizes.

    Attributes:
        paper: Ground; what stands behind a label that crosses a line.
        ink: Text and readings.
        quiet: Text that matters less.
        grid: Lines of the grid.
        hatch: Where nothing is observable.
        band_90: Outer band.
        band_50: Inner band.
        edge: Edge of a band.
        limit: A limit.
        event: An event.
        caution: Cautions.
        inks: Curves that share a panel, in order.
        on_event: Number inside the mark of an event.
        ramp: Load factor, from least to most.
        solid: A solid in full light.
        scale: Of type and lines, 1 in print.
        least: Smallest type, points.
    """

    paper: str = "white"
    ink: str = palette.INK
    quiet: str = palette.QUIET
    grid: str = palette.GRID
    hatch: str = palette.HATCH
    band_90: str = palette.BAND_90
    band_50: str = palette.BAND_50
    edge: str = palette.EDGE
    limit: str = palette.LIMIT
    event: str = palette.EVENT
    caution: str = palette.CAUTION
    inks: tuple[str, ...] = palette.INKS
    on_event: str = "white"
    ramp: tuple[str, ...] = palette.LOAD_RAMP
    solid: str = "#aeb9c4"
    scale: float = 1.0
    least: float = 0.0

    def points(self, size: float) -> float:
        """Type that is so many points in print."""
        return max(size * self.scale, self.least)

    def line(self, width: float) -> float:
        """A line that is so many points wide in print."""
        return width * self.scale

    @property
    def ground(self) -> str:
        """The paper; on a transparent one what its type is legible on."""
        if self.paper != "none":
            return self.paper
        light = palette.contrast(self.ink, "#000000") > palette.contrast(self.ink, "#ffffff")
        return palette.DARK_ROLES["paper"] if light else "#ffffff"

    def tint(self, ink: str, share: float) -> str:
        """A color of the ground with so much ink in it: opaque, so that no two make mud."""
        red, green, blue = (
            share * one + (1.0 - share) * other
            for one, other in zip(to_rgb(ink), to_rgb(self.ground), strict=True)
        )
        return to_hex((red, green, blue))

    @property
    def onset(self) -> str:
        """Where an onset lies with 90%: the same gray everywhere, and no color of an event."""
        return self.tint(self.quiet, ONSET_INK)

    def sized(self, scale: float, least: float) -> Look:
        """The same colors for another size of picture."""
        return replace(self, scale=scale, least=least)


PRINT = Look()
LIGHT = Look(paper=palette.PAPER)
DARK = Look(
    paper=palette.DARK_ROLES["paper"],
    ink=palette.DARK_ROLES["ink"],
    quiet=palette.STAGE_QUIET,
    grid=palette.DARK_ROLES["rule"],
    hatch=palette.DARK_ROLES["hatch"],
    band_90=palette.STAGE_BANDS[0],
    band_50=palette.STAGE_BANDS[1],
    edge=palette.DARK_ROLES["edge"],
    limit=palette.STAGE_LIMIT,
    event=palette.DARK_ROLES["event"],
    caution=palette.DARK_ROLES["caution"],
    inks=palette.STAGE_INKS,
    on_event=palette.DARK_ROLES["paper"],
    ramp=palette.STAGE_RAMP,
    solid="#c9d3dc",
)


def style_of(look: Look) -> dict[RcKeyType, Any]:
    """The settings of matplotlib for a look."""
    return {
        "font.family": "sans-serif",
        "font.size": look.points(BASE),
        "text.color": look.ink,
        "axes.titlecolor": look.ink,
        "axes.labelcolor": look.ink,
        "axes.edgecolor": look.quiet,
        "axes.facecolor": "none" if look.paper == "none" else look.paper,
        "axes.linewidth": look.line(0.6),
        "axes.grid": True,
        "grid.color": look.grid,
        "grid.linewidth": look.line(0.5),
        "hatch.color": look.hatch,
        "hatch.linewidth": look.line(0.5),
        "xtick.color": look.ink,
        "ytick.color": look.ink,
        "xtick.major.width": look.line(0.5),
        "ytick.major.width": look.line(0.5),
        "xtick.major.size": look.line(2.5),
        "ytick.major.size": look.line(2.5),
        "svg.fonttype": "none",
        "svg.hashsalt": "neutralpoint",
        "pdf.fonttype": 42,
        "figure.facecolor": look.paper,
    }


@contextmanager
def styled(look: Look) -> Iterator[None]:
    """A look, for everything drawn inside."""
    with mpl.rc_context(style_of(look)):
        yield
