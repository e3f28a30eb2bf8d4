"""The map of where it came down: path, parts as found, and where missing ones lie."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Sheet

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import read_own
from neutralpoint.findings import MapRegion, WreckageMap
from neutralpoint.quantities import EARTH_RADIUS
from neutralpoint.report.figures.draw_matplotlib import WIDTH, print_style
from neutralpoint.report.figures.look import PRINT, Look
from neutralpoint.report.results import Results

HEIGHT = 5.4  # inch
BEFORE = 30.0  # s of the path that are drawn
KM = 1000.0
SHADES = ("#f4e7c8", "#e3c37a")
SEARCH = "#9a6a00"


def wreckage_sheets(results: Results) -> list[Sheet]:
    """The map; none where the stage has no results.

    Args:
        results: A results folder, read.

    Returns:
        At most one sheet.

    Raises:
        NeutralPointError: `results-version` where its file cannot be read.
    """
    found, held = results.findings.wreckage, read_map(results)
    if found is None or held is None:
        return []
    with print_style():
        return [_sheet(results, held, found.last)]


def read_map(results: Results) -> WreckageMap | None:
    """The map as saved.

    Args:
        results: A results folder, read.

    Returns:
        The map; None where the stage has no results.

    Raises:
        NeutralPointError: `results-version` where its file cannot be read.
    """
    found = results.findings.wreckage
    if found is None or not (results.folder / found.file).is_file():
        return None
    try:
        return WreckageMap.model_validate_json(read_own(results.folder / found.file))
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
    draw_map(axes, results, held, last)
    sheet.legend(loc="outside right upper", fontsize=7, frameon=False)
    return sheet


def draw_map(
    axes: Axes, results: Results, held: WreckageMap, last: float, look: Look = PRINT
) -> None:
    """Draw the map.

    Args:
        axes: Where to.
        results: A results folder, read.
        held: The map.
        last: Last moment of the path, s after the epoch.
        look: Colors and sizes.
    """
    for region in held.regions:
        _search(axes, region, look)
    _path(axes, results, held.origin, last, look)
    ending = held.ending
    axes.plot(
        np.array(ending.east) / KM, np.array(ending.north) / KM, ".", ms=look.line(2.0), mew=0,
        alpha=0.5, color=look.quiet, label="sample paths on the ground,\nheld as last seen",
    )  # fmt: skip
    for number, part in enumerate(held.parts, start=1):
        place = part.east / KM, part.north / KM
        axes.plot(
            *place, "^", ms=look.line(5.0), color=look.ink, label=f"{number}  {part.name}, found"
        )
        axes.annotate(
            str(number),
            place,
            xytext=(look.line(4.0), look.line(4.0)),
            textcoords="offset points",
            fontsize=look.points(7.5),
        )
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_xlabel("km east of the last reading")
    axes.set_ylabel("km north")


def _search(axes: Axes, region: MapRegion, look: Look) -> None:
    east, north = np.array(region.east) / KM, np.array(region.north) / KM
    probability, levels = np.array(region.probability), sorted(set(region.levels))
    top = max(float(probability.max()), levels[-1]) * 1.01
    axes.contourf(east, north, probability, [*levels, top], colors=SHADES[-len(levels) :])
    axes.contour(east, north, probability, levels, colors=[SEARCH], linewidths=look.line(0.8))
    axes.plot([], [], color=SEARCH, lw=look.line(0.8), label=f"{region.name}, missing: 50%, 90%")


def _path(
    axes: Axes, results: Results, origin: tuple[float, float], last: float, look: Look
) -> None:
    shown = (results.time >= last - BEFORE) & (results.time <= last)
    latitude, longitude = (results.bands[name][2][shown] for name in ("latitude", "longitude"))
    north = EARTH_RADIUS * (latitude - origin[0]) / KM
    east = EARTH_RADIUS * np.cos(origin[0]) * (longitude - origin[1]) / KM
    axes.plot(
        east, north, color=look.inks[0], lw=look.line(1.4), label=f"path, last {BEFORE:.0f} s"
    )
    axes.plot([0.0], [0.0], "o", ms=look.line(4.0), color=look.inks[0])
