"""The flight of the case over the cloud of its earlier flights, and its measures among theirs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import fill

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Sheet
from matplotlib.ticker import FuncFormatter

from neutralpoint.files import own_file
from neutralpoint.findings import HistoryFindings
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import FOOT, FOOT_PER_MINUTE, MINUTE
from neutralpoint.report.figures import palette
from neutralpoint.report.figures.draw_matplotlib import WIDTH, print_style
from neutralpoint.report.figures.look import PRINT, Look
from neutralpoint.report.results import Results, opened
from neutralpoint.report.words.history import title_of

CURVES = (
    ("pressure_altitude", "pressure altitude, ft", FOOT),
    ("vertical_speed", "vertical speed, ft/min", FOOT_PER_MINUTE),
)
HEIGHT = 2.3  # inch a panel
ROW = 0.26  # inch a measure
MOST = 150  # flights of the cloud that are drawn one by one
LABEL = 34  # letters of a title in a line, so that the curves keep their width
FARTHEST = 6.0  # deviations at which a mark is held at the edge
HELD = 1.4826  # standard deviations in a median absolute deviation of a normal distribution


@dataclass(frozen=True)
class Cloud:
    """What `history.nc` holds to draw.

    Attributes:
        time: s after take-off, shape (m,).
        curves: By quantity, of earlier flights, (k, m).
        case: By quantity, of the case, (m,).
        measures: By measure: earlier flights, (n,), and the case.
    """

    time: Array
    curves: dict[str, Array]
    case: dict[str, Array]
    measures: dict[str, tuple[Array, float]]


def read_cloud(results: Results) -> Cloud | None:
    """What is drawn of earlier flights.

    Args:
        results: A results folder, read.

    Returns:
        The arrays; None where there are none.
    """
    found = results.findings.history
    path = None if found is None else own_file(results.folder, found.file)
    if found is None or path is None:
        return None
    with opened(path) as data:
        return _cloud(data, found)


def _cloud(data: xr.Dataset, found: HistoryFindings) -> Cloud | None:
    names = [name for name, _, _ in CURVES]
    if not data.sizes.get("drawn", 0):
        return None
    return Cloud(
        data["moment"].values.astype(float),
        {name: data[f"curve_{name}"].values[-MOST:] for name in names},
        {name: data[f"case_curve_{name}"].values for name in names},
        {
            row.name: (data[row.name].values.astype(float), row.value)
            for row in found.measures
            if row.own is not None
        },
    )


def history_sheet(results: Results) -> Sheet | None:
    """Draw the flight over its earlier flights.

    Args:
        results: A results folder, read.

    Returns:
        The sheet; None without earlier flights.
    """
    cloud = read_cloud(results)
    if cloud is None:
        return None
    rows = len(cloud.measures)
    with print_style():
        sheet = Sheet(figsize=(WIDTH, 2 * HEIGHT + ROW * rows + 1.2), layout="constrained")
        ratios = [HEIGHT, HEIGHT] + ([ROW * rows + 0.5] if rows else [])
        axes = sheet.subplots(len(ratios), 1, height_ratios=ratios, squeeze=False)[:, 0]
        draw_cloud(list(axes), cloud)
        axes[0].legend(loc="upper right", frameon=False, fontsize=7)
        if rows:
            _among(axes[2], cloud.measures)
    return sheet


def draw_cloud(panels: Sequence[Axes], cloud: Cloud, look: Look = PRINT) -> None:
    """Draw the flight over the cloud, a panel a quantity.

    Args:
        panels: Where to; at least as many as there are quantities.
        cloud: What is drawn.
        look: Colors and sizes.
    """
    for panel, (name, label, factor) in zip(panels, CURVES, strict=False):
        _curve(panel, cloud, name, label, factor, look)
    panels[len(CURVES) - 1].set_xlabel("minutes after the start of each record")


def _curve(axes: Axes, cloud: Cloud, name: str, label: str, factor: float, look: Look) -> None:
    time = cloud.time / MINUTE
    lines = cloud.curves[name] / factor
    for number, line in enumerate(lines):
        told = f"{len(lines)} earlier flights" if number == 0 else None
        axes.plot(time, line, color=look.hatch, lw=look.line(0.5), alpha=0.35, label=told)
    axes.plot(
        time, cloud.case[name] / factor, color=look.inks[0], lw=look.line(1.6), label="this flight"
    )
    last = [np.flatnonzero(np.isfinite(line)) for line in [*lines, cloud.case[name]]]
    axes.set_xlim(0.0, time[max((at[-1] for at in last if at.size), default=0)] + 1.0)
    axes.set_ylabel(label)
    axes.yaxis.set_major_formatter(FuncFormatter(lambda y, _: f"{y:,.0f}".replace("-", "\u2212")))


def _among(axes: Axes, measures: dict[str, tuple[Array, float]]) -> None:
    """A row a measure: earlier flights as ticks, this flight as a mark, in deviations."""
    names = list(measures)[::-1]
    for place, name in enumerate(names):
        family, value = measures[name]
        family = family[np.isfinite(family)]
        middle = float(np.median(family))
        spread = HELD * float(np.median(np.abs(family - middle))) or float(family.std()) or 1.0
        off = np.clip((family - middle) / spread, -FARTHEST, FARTHEST)
        axes.plot(off, np.full(off.size, place), "|", color=palette.HATCH, ms=6, alpha=0.5)
        own = (value - middle) / spread
        inside = abs(own) <= FARTHEST
        mark = "o" if inside else (">" if own > 0 else "<")
        axes.plot(np.clip(own, -FARTHEST, FARTHEST), place, mark, color=palette.INKS[0], ms=5)
    titles = [fill(title_of(name), LABEL) for name in names]
    axes.set_yticks(range(len(names)), titles, fontsize=6)
    axes.set_xlim(-FARTHEST - 0.5, FARTHEST + 0.5)
    axes.set_ylim(-0.6, len(names) - 0.4)
    axes.set_xlabel("deviations from the median of the earlier flights (marks at the edge: beyond)")
    axes.grid(axis="x", color=palette.GRID, lw=0.5)
