"""Coast, borders, airfields and ground around a path, without a network.

`map/world.npz` is made by `frontend/make_map.py` from Natural Earth (1:10 million, public domain)
and a list of airfields; THIRD-PARTY.md has both. Lines are right to about 2 km: no chart.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from neutralpoint.numerics.arrays import Floats
from neutralpoint.quantities import NAUTICAL_MILE
from neutralpoint.report import Results
from neutralpoint.report.figures.views import flat_place

WORLD = Path(__file__).parent / "map" / "world.npz"
LEAST = 60.0 * NAUTICAL_MILE  # m to each side of the path for which lines are sent
TIMES = 2.0  # of the extent of the path, where that is more
POSTS = 96  # of the ground along each side
AROUND = 0.35  # of the extent of the path, for which the ground is sent to each side
MERIDIAN_DEGREE = 111_200.0  # m, of a degree of latitude on a sphere; for choosing lines alone
MOST_WIND = 200  # times at which the wind is sent

Flat = Callable[[Floats, Floats], tuple[Floats, Floats]]


@dataclass(frozen=True)
class _World:
    """Lines of the world and its airfields, degrees.

    Attributes:
        lines: Longitude and latitude of each line, shape (2, n) each; land lies to the right of a
            coast.
        border: Whether a line is a border between countries.
        box: West, east, south and north end of each line, shape (lines, 4).
        code: Of each airfield.
        field: Longitude and latitude of each airfield, shape (2, n).
    """

    lines: tuple[Floats, ...]
    border: np.ndarray
    box: Floats
    code: tuple[str, ...]
    field: Floats


@cache
def _world() -> _World:
    with np.load(WORLD) as held:
        step, first, count = float(held["step"]), held["first"], held["count"].astype(int)
        moved, ends = held["moved"].astype(np.int64), np.cumsum(count - 1)
        lines = tuple(
            step * (start[:, None] + np.cumsum(np.pad(moves, ((0, 0), (1, 0))), axis=1))
            for start, moves in zip(first, np.split(moved, ends[:-1], axis=1), strict=True)
        )
        code = tuple(bytes(one).decode() for one in held["code"].T)
        field = step * np.cumsum(held["field"], axis=1)
        border = held["border"]
    box = np.array([[*(f(axis) for axis in line for f in (np.min, np.max))] for line in lines])
    return _World(lines, border, box, code, field)


def surroundings(results: Results, ground: Callable[[Floats, Floats], Floats]) -> dict[str, Any]:
    """What a map of the path shows beside the path.

    Args:
        results: Of the case.
        ground: Heights of the ground, m, at latitudes and longitudes in rad; NaN where not known.

    Returns:
        `lines` and `fields` in m east and north of the first place of the path; `ground`, a grid
        of heights, or None; `wind`, its medians along the path, m/s.
    """
    flat = flat_place(results)
    latitude, longitude = (np.degrees(results.bands[name][2]) for name in ("latitude", "longitude"))
    return {
        "lines": list(_lines(latitude, longitude, flat)),
        "fields": list(_fields(latitude, longitude, flat)),
        "ground": _ground(latitude, longitude, flat, ground),
        "wind": _wind(results),
    }


def _window(latitude: Floats, longitude: Floats) -> tuple[float, float, float, float]:
    """West, east, south and north of what is sent, degrees."""
    middle = 0.5 * (latitude.min() + latitude.max())
    squeeze = max(np.cos(np.radians(middle)), 0.05)
    extent = max(np.ptp(latitude), np.ptp(longitude) * squeeze)
    more = max(LEAST / MERIDIAN_DEGREE, TIMES * extent)
    west, east = longitude.min() - more / squeeze, longitude.max() + more / squeeze
    return west, east, latitude.min() - more, latitude.max() + more


def _lines(latitude: Floats, longitude: Floats, flat: Flat) -> Iterator[dict[str, Any]]:
    """Runs of points of each line that lie in the window, with one more at each end."""
    world, (west, east, south, north) = _world(), _window(latitude, longitude)
    for turn in (0.0, -360.0, 360.0):
        box = world.box
        near = (box[:, 0] + turn < east) & (box[:, 1] + turn > west)
        near &= (box[:, 2] < north) & (box[:, 3] > south)
        for k in np.flatnonzero(near):
            lon, lat = world.lines[k][0] + turn, world.lines[k][1]
            inside = (lon > west) & (lon < east) & (lat > south) & (lat < north)
            inside[:-1] |= inside[1:].copy()
            inside[1:] |= inside[:-1].copy()
            edges = np.flatnonzero(np.diff(np.r_[False, inside, False]))
            for start, end in edges.reshape(-1, 2):
                x, y = flat(lon[start:end], lat[start:end])
                yield {"border": bool(world.border[k]), "x": x, "y": y}


def _fields(latitude: Floats, longitude: Floats, flat: Flat) -> Iterator[dict[str, Any]]:
    world, (west, east, south, north) = _world(), _window(latitude, longitude)
    lon, lat = world.field
    lon = lon + 360.0 * np.round((0.5 * (west + east) - lon) / 360.0)
    for k in np.flatnonzero((lon > west) & (lon < east) & (lat > south) & (lat < north)):
        x, y = flat(lon[k : k + 1], lat[k : k + 1])
        yield {"code": world.code[k], "x": float(x[0]), "y": float(y[0])}


def _ground(
    latitude: Floats, longitude: Floats, flat: Flat, ground: Callable[[Floats, Floats], Floats]
) -> dict[str, Any] | None:
    """Heights on a grid around the path, rows from south to north."""
    squeeze = max(np.cos(np.radians(0.5 * (latitude.min() + latitude.max()))), 0.05)
    extent = max(np.ptp(latitude), np.ptp(longitude) * squeeze, 0.02)
    lat, lon = (
        np.linspace(middle - half, middle + half, POSTS)
        for middle, half in (
            (0.5 * (latitude.min() + latitude.max()), (0.5 + AROUND) * extent),
            (0.5 * (longitude.min() + longitude.max()), (0.5 + AROUND) * extent / squeeze),
        )
    )
    rows, columns = (one.ravel() for one in np.meshgrid(lat, lon, indexing="ij"))
    height = ground(np.radians(rows), np.radians(columns))
    if not np.isfinite(height).any():
        return None
    (west, east), (south, north) = flat(lon[[0, -1]], lat[[0, -1]])
    return {
        "count": POSTS,
        "west": float(west),
        "east": float(east),
        "south": float(south),
        "north": float(north),
        "height": height,
    }


def _wind(results: Results) -> dict[str, Any] | None:
    """Medians of the wind along the path, toward east and north, and half its 90% band."""
    if "wind_north" not in results.bands or "wind_east" not in results.bands:
        return None
    step = max(1, len(results.time) // MOST_WIND)
    east, north = (results.bands[f"wind_{name}"][:, ::step] for name in ("east", "north"))
    return {
        "time": (results.time - results.time[0])[::step],
        "east": east[2],
        "north": north[2],
        "error": 0.5 * np.hypot(east[4] - east[0], north[4] - north[0]),
    }
