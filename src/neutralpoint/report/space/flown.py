"""The motion as the scene needs it: the path in meters, attitude with its bands, the ground."""

from __future__ import annotations

from dataclasses import dataclass, replace
from importlib import import_module

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import FOOT, NAUTICAL_MILE
from neutralpoint.report.figures.views import flat_paths, to_latitude_longitude
from neutralpoint.report.results import Results

ATTITUDE = ("pitch_angle", "bank_angle", "heading_of_air_velocity")
LATTICE = 14  # lines of the ground of a terrain file each way
LINES, LEAST_WIDE = 10, 0.4  # of a plain grid along its longer side, and its shorter side in parts
APART = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)  # NM, of the lines of a plain grid
STATED = "stated"  # how the source of a height begins that the case states; study.response
FEW_STEPS = 60  # of a path whose grid alone is asked for
ROUND = 500.0 * FOOT  # of a level where the ground is not known
# Heights have the scale of distances where they take so much of them; else they are drawn larger,
# and pitch with them, so that the nose keeps to the path. Analyst's choice.
SEEN, STRETCHES = 0.03, (1, 2, 5, 10)
BELOW = 0.12  # of the height shown, that such a level lies below the lowest point


@dataclass(frozen=True)
class Ground:
    """What lies below.

    Attributes:
        north: m, shape (a,).
        east: m, shape (b,).
        down: m, minus the height, shape (a, b).
        known: False where it is a plain grid.
        words: What the picture says of it.
        step: Between two lines of a plain grid, NM; 0 for the terrain of a file.
        level: Of a plain grid, m above the sea.
    """

    north: Array
    east: Array
    down: Array
    known: bool
    words: str
    step: float = 0.0
    level: float = 0.0


@dataclass(frozen=True)
class SpacePath:
    """The motion on one clock.

    Attributes:
        time: s after the first moment, shape (m,).
        path: Median, NED, m from the first place; down is minus the altitude as drawn, (m, 3).
        load: Load factor, median, shape (m,); NaN where it was not saved.
        angles: By quantity: 5, 50 and 95%, rad, shape (3, m).
        seen: By quantity: where it is observable, shape (m,).
        ground: What lies below, as drawn.
        stretch: How many times as large heights are drawn.
        loads: Least and largest load factor of the scale of colors; NaN where none was saved.
        sun: Azimuth and elevation of the sun, rad; None where nobody worked it out.
    """

    time: Array
    path: Array
    load: Array
    angles: dict[str, Array]
    seen: dict[str, Flags]
    ground: Ground
    stretch: float
    loads: tuple[float, float]
    sun: tuple[float, float] | None = None

    def extent(self) -> Array:
        """Points that a picture must show: the path and the ground below it, shape (n, 3)."""
        below = self.path.copy()
        below[:, 2] = self.ground.down.max()
        return np.vstack([self.path, below])

    def words(self) -> tuple[str, ...]:
        """What is said of ground and heights."""
        return tuple(text for text, _ in self.lines(None))

    def lines(self, before: float | None) -> list[tuple[str, bool]]:
        """The same in short lines, each with whether it tells of a change.

        Args:
            before: Step of the grid in the picture before this one, NM; None where there is none.
        """
        times = f"\u00d7{self.stretch:.0f}"
        scale = "True scale" if self.stretch == 1.0 else f"Heights and pitch drawn {times}"
        told = [(self.ground.words, False), (f"{scale}; airplane enlarged", False)]
        if self.ground.known:
            return told
        new = before is not None and before not in (0.0, self.ground.step)
        was = f", before {before:g} NM," if new else ""
        grid = f"Grid {self.ground.step:g} NM{was} at {self.ground.level / FOOT:,.0f} ft"
        return [(grid, new), *told]

    def height(self, at: float) -> float:
        """Height above the sea at a moment, m, whatever the scale of the drawing."""
        return -float(np.interp(at, self.time, self.path[:, 2])) / self.stretch


def flown_of(
    results: Results,
    within: tuple[float, float] | None = None,
    *,
    steps: int = 400,
    scaled: tuple[float, float] | None = None,
) -> SpacePath:
    """The motion of a case, or a stretch of it.

    Args:
        results: A results folder, read.
        within: First and last moment, s after the first of the record; None for all.
        steps: Most times kept.
        scaled: Stretch that settles how heights and load factors are scaled, so that pictures of
            one film share it; None for the stretch drawn.

    Returns:
        The motion.
    """
    time = results.time - results.time[0]
    kept = np.flatnonzero(_inside(time, within))
    kept = kept[np.unique(np.linspace(0, len(kept) - 1, min(steps, len(kept))).round().astype(int))]
    north, east = (np.median(x, axis=0) * NAUTICAL_MILE for x in flat_paths(results))
    height = results.bands["altitude" if "altitude" in results.bands else "pressure_altitude"][2]
    whole = np.stack([north, east, -height], -1)
    path, shared = whole[kept], _inside(time, scaled or within)
    load = results.bands.get("normal_load_factor")
    felt = np.full(len(whole), np.nan) if load is None else load[2]
    present = [name for name in ATTITUDE if name in results.bands]
    ground, stretch = ground_of(results, path, whole[shared]), _stretch(whole[shared])
    scale = np.array([1.0, 1.0, stretch])
    return SpacePath(
        time[kept],
        path * scale,
        felt[kept],
        {name: results.bands[name][[0, 2, 4]][:, kept] for name in present},
        {name: results.observable[name][kept] for name in present},
        replace(ground, down=ground.down * stretch),
        stretch,
        _ends(felt[shared]),
        _sun(results),
    )


def _inside(time: Array, within: tuple[float, float] | None) -> Flags:
    if within is None:
        return np.ones(len(time), bool)
    return (time >= within[0]) & (time <= within[1])


def _ends(load: Array) -> tuple[float, float]:
    known = load[np.isfinite(load)]
    return (float(known.min()), float(known.max())) if known.size else (np.nan, np.nan)


def _sun(results: Results) -> tuple[float, float] | None:
    """Azimuth and elevation of the sun, as the stage of what could be seen has them."""
    found = results.findings.felt
    return None if found is None else (found.light.sun_azimuth, found.light.sun_elevation)


def _stretch(path: Array) -> float:
    """How many times as large heights must be drawn to be seen beside the distance flown."""
    across, high = (
        float(np.hypot(*np.ptp(path[:, :2], axis=0))),
        float(np.ptp(path[:, 2])),
    )
    wanted = SEEN * across / max(high, 1.0)
    return max((float(s) for s in STRETCHES if s <= wanted), default=1.0)


def ground_of(results: Results, path: Array, levels: Array | None = None) -> Ground:
    """The ground from the terrain of the case, or a plain grid that says it is not known.

    Args:
        results: A results folder, read.
        path: NED, m, shape (m, 3), under which it lies.
        levels: The path that settles the height of a plain grid, shape (k, 3); None for `path`.

    Returns:
        The ground.
    """
    levels = path if levels is None else levels
    span = np.ptp(path[:, :2], axis=0)
    spare = 0.15 * max(float(span.max()), 500.0)
    low, high = path[:, :2].min(axis=0) - spare, path[:, :2].max(axis=0) + spare
    north, east = (np.linspace(low[k], high[k], LATTICE) for k in (0, 1))
    heights = _terrain(results, north, east)
    if heights is not None:
        return Ground(north, east, -heights, True, "Ground: terrain file of the case")
    lowest, highest = -levels[:, 2].max(), -levels[:, 2].min()
    level = np.floor((lowest - BELOW * (highest - lowest)) / ROUND) * ROUND
    step = _step(low, high)
    north, east = _even(low, high, step * NAUTICAL_MILE)
    down = np.full((len(north), len(east)), -level)
    return Ground(north, east, down, False, _unknown(results), step, float(level))


def grid_step(results: Results, within: tuple[float, float]) -> float:
    """Between two lines of the plain grid of a stretch, NM; 0 where the terrain is known.

    Args:
        results: A results folder, read.
        within: First and last moment, s after the first of the record.
    """
    return flown_of(results, within, steps=FEW_STEPS).ground.step


def _step(low: Array, high: Array) -> float:
    wide = float((high - low).max())
    return next((s for s in APART if s * NAUTICAL_MILE * LINES >= wide), APART[-1])


def _unknown(results: Results) -> str:
    """What is known of the ground where there is no terrain: as time to act has it, or nothing."""
    found = results.findings.response
    if found is None or found.begin is None or "altitude" not in results.bands:
        return "Not the ground: ground unknown"
    altitude = np.interp(found.begin, results.time, results.bands["altitude"][2])
    level = round((float(altitude) - found.height) / FOOT, -2)
    if found.height_source.startswith(STATED):
        return f"Not the ground: near {level:,.0f} ft, as stated"
    return f"Not the ground: assumed near {level:,.0f} ft"


def _even(low: Array, high: Array, step: float) -> tuple[Array, Array]:
    """Lines of a plain grid, as far apart both ways, that enclose a box; never a narrow strip."""
    middle, half = (low + high) / 2.0, (high - low) / 2.0
    half = np.maximum(half, LEAST_WIDE * float(half.max()))
    first, last = np.floor((middle - half) / step), np.ceil((middle + half) / step)
    north, east = (step * np.arange(a, b + 1.0) for a, b in zip(first, last, strict=True))
    return north, east


def _terrain(results: Results, north: Array, east: Array) -> Array | None:
    """Heights of the ground on a lattice; None without terrain that reaches all of it."""
    case = results.folder.parent
    if not (case / "case.toml").is_file():
        return None
    # Reading a case loads much that a picture without terrain need not wait for.
    ground_along = import_module("neutralpoint.case.ground").ground_along
    case_text = import_module("neutralpoint.case.text").case_text
    parse_case = import_module("neutralpoint.case.parsing").parse_case
    try:
        text, where, _ = case_text(case)
        document = parse_case(text, where)
        if not document.terrain:
            return None
        across, along = np.meshgrid(east, north)
        latitude, longitude = to_latitude_longitude(results, along.ravel(), across.ravel())
        heights = ground_along(case, document.terrain, document.geoid_height, latitude, longitude)
    except NeutralPointError:
        return None
    grid = heights.reshape(len(north), len(east))
    return grid if np.isfinite(grid).all() else None
