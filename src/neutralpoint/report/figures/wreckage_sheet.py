"""The map of where it came down: path, parts as found, and where missing ones lie."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Sheet

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import read_own
from neutralpoint.findings import MapRegion, WreckageMap
from neutralpoint.quantities import EARTH_RADIUS
from neutralpoint.report.figures import palette
from neutralpoint.report.figures.draw_matplotlib import WIDTH, print_style
from neutralpoint.report.results import Results

HEIGHT = 5.4  # inch
BEFORE = 30.0  # s of the path that are drawn
KM = 1000.0
SHADES = ("#f4e7c8", "#e3c37a")
SEARCH, FOUND = "#9a6a00", "#20262c"


def wreckage_sheets(results: Results) -> list[Sheet]:
    """The map; none where the stage has no results.

    Args:
        results: A results folder, read.

    Returns:
        At most one sheet.

    Raises:
        NeutralPointError: `results-version` where its file cannot be read.
    """
    found = results.findings.wreckage
    if found is None or not (results.folder / found.file).is_file():
        return []
    try:
        held = WreckageMap.model_validate_json(read_own(results.folder / found.file))
        with print_style():
            return [_sheet(results, held, found.last)]
    except (ValueError, RecursionError) as broken:
        raise NeutralPointError(
            "results-version",
            f"The file cannot be read: {str(broken)[:80]}.",
            where=str(results.folder / found.file),
            hint="Run `neutralpoint study CASE` again.",
        ) from broken


def _sheet(results: Results, held: WreckageMap, last: float) -> Sheet:
    sheet = Sheet(figsize=(WIDTH, HEIGHT), layout="constrained")
    axes = sheet.subplots()
    for region in held.regions:
        _search(axes, region)
    _path(axes, results, held.origin, last)
    ending = held.ending
    axes.plot(
        np.array(ending.east) / KM, np.array(ending.north) / KM, ".", ms=2.0, mew=0,
        alpha=0.5, color=palette.QUIET, label="sample paths on the ground,\nheld as last seen",
    )  # fmt: skip
    for number, part in enumerate(held.parts, start=1):
        place = part.east / KM, part.north / KM
        axes.plot(*place, "^", ms=5, color=FOUND, label=f"{number}  {part.name}, found")
        axes.annotate(str(number), place, xytext=(4, 4), textcoords="offset points", fontsize=7.5)
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_xlabel("km east of the last reading")
    axes.set_ylabel("km north")
    sheet.legend(loc="outside right upper", fontsize=7, frameon=False)
    return sheet


def _search(axes: Axes, region: MapRegion) -> None:
    east, north = np.array(region.east) / KM, np.array(region.north) / KM
    probability, levels = np.array(region.probability), sorted(set(region.levels))
    top = max(float(probability.max()), levels[-1]) * 1.01
    axes.contourf(east, north, probability, [*levels, top], colors=SHADES[-len(levels) :])
    axes.contour(east, north, probability, levels, colors=[SEARCH], linewidths=0.8)
    axes.plot([], [], color=SEARCH, lw=0.8, label=f"{region.name}, missing: 50%, 90%")


def _path(axes: Axes, results: Results, origin: tuple[float, float], last: float) -> None:
    shown = (results.time >= last - BEFORE) & (results.time <= last)
    latitude, longitude = (results.bands[name][2][shown] for name in ("latitude", "longitude"))
    north = EARTH_RADIUS * (latitude - origin[0]) / KM
    east = EARTH_RADIUS * np.cos(origin[0]) * (longitude - origin[1]) / KM
    axes.plot(east, north, color=palette.INKS[0], lw=1.4, label=f"path, last {BEFORE:.0f} s")
    axes.plot([0.0], [0.0], "o", ms=4, color=palette.INKS[0])
