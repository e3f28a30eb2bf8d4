"""Rows of many flights cut into flights, each put on one even grid of time.

Rows of all flights lie one after the other in every array; nothing here goes through them one by
one. A flight ends where the address changes, where nothing was received for `GAP`, or on the
ground.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array, Flags, Index
from neutralpoint.quantities import EARTH_RADIUS, KNOT

GRID = 2.0  # s between the points of the grid: periods from 6 s on are resolved. Analyst's choice.
GAP = 600.0  # s without a row after which a new flight begins; common practice, no source
BRIDGED = 10.0  # s without a row that the grid bridges by a line; analyst's
SHORTEST = 300.0  # s of flight that are worth measuring; analyst's
TAXI = 30.0 * KNOT  # ground speed below which an airplane is on the ground. Analyst's estimate.
STOPPED = 120.0  # s of taxi or of ground flags that end a flight; analyst's


@dataclass(frozen=True)
class FlightRows:
    """Rows of many flights, by address and then by time.

    Attributes:
        airplane: Number of the airplane, shape (n,).
        time: s after the Unix epoch, shape (n,).
        values: Columns by role, SI and radians, NaN where absent, each (n,).
        ground: Whether a row says that the airplane is on the ground, shape (n,).
    """

    airplane: Index
    time: Array
    values: dict[str, Array]
    ground: Flags


@dataclass(frozen=True)
class Flights:
    """Flights on an even grid, one after the other.

    Attributes:
        airplane: Number of the airplane, shape (F,).
        start: First moment, s after the Unix epoch, shape (F,).
        rows: Rows that were received, shape (F,).
        interval: Median time between rows, s, shape (F,).
        first: Grid point where each flight begins, shape (F + 1,), the last the number of points.
        seen: Whether readings lie near enough, shape (m,).
        values: By role on the grid, each (m,).
    """

    airplane: Index
    start: Array
    rows: Index
    interval: Array
    first: Index
    seen: Flags
    values: dict[str, Array]

    @property
    def count(self) -> int:
        """How many flights there are."""
        return int(self.start.size)

    @property
    def owner(self) -> Index:
        """Flight of each grid point, shape (m,)."""
        return np.repeat(np.arange(self.count), np.diff(self.first))


def edges_of(marks: Flags) -> Index:
    """Where stretches begin, with the end as the last.

    Args:
        marks: True where one begins, the first included, shape (n,).

    Returns:
        Shape (stretches + 1,).
    """
    return np.append(np.flatnonzero(marks), marks.size)


def on_ground(rows: FlightRows) -> Flags:
    """Rows within a stay on the ground that is long enough to end a flight.

    Args:
        rows: By address and time.

    Returns:
        Shape (n,). A row that names neither ground nor speed is in the air.
    """
    speed = rows.values["ground_speed"]
    still = rows.ground | (np.nan_to_num(speed, nan=np.inf) < TAXI)
    begins = np.ones(still.size, bool)
    begins[1:] = (still[1:] != still[:-1]) | (rows.airplane[1:] != rows.airplane[:-1])
    edges = edges_of(begins)
    length = rows.time[edges[1:] - 1] - rows.time[edges[:-1]]
    first_or_last = np.ones(length.size, bool)
    same = rows.airplane[edges[:-1]]
    first_or_last[1:-1] = (same[1:-1] != same[:-2]) | (same[1:-1] != same[2:])
    ends = (length > STOPPED) | first_or_last
    return still & np.repeat(ends, np.diff(edges))


def cut(rows: FlightRows, shortest: float = SHORTEST) -> Flights:
    """Cut rows into flights and put each on the grid.

    Args:
        rows: By address and time, times never decreasing within an address.
        shortest: s that a flight must last.

    Returns:
        The flights.
    """
    kept = ~on_ground(rows) & np.isfinite(rows.values["pressure_altitude"])
    airplane, time = rows.airplane[kept], rows.time[kept]
    values = {name: column[kept] for name, column in rows.values.items()}
    stays = np.flatnonzero(kept)
    begins = np.ones(time.size, bool)
    begins[1:] = (airplane[1:] != airplane[:-1]) | (np.diff(time) > GAP) | (
        (np.diff(stays) > 1) & (np.diff(time) > STOPPED)
    )  # fmt: skip
    edges = edges_of(begins)
    length = time[edges[1:] - 1] - time[edges[:-1]] if time.size else np.zeros(0)
    long = (length >= shortest) & (np.diff(edges) >= shortest / 15.0)
    inside = np.repeat(long, np.diff(edges))
    counts = np.diff(edges)[long]
    first = np.concatenate([[0], np.cumsum(counts)]).astype(np.intp)
    return _gridded(
        airplane[inside], time[inside], {n: v[inside] for n, v in values.items()}, first
    )


def _gridded(airplane: Index, time: Array, values: dict[str, Array], first: Index) -> Flights:
    """Flights on the grid: means over cells, then lines between the means."""
    starts = first[:-1]
    start = time[starts]
    owner = np.repeat(np.arange(starts.size), np.diff(first))
    cell = ((time - start[owner]) // GRID).astype(np.intp)
    points = cell[first[1:] - 1] + 1 if starts.size else np.zeros(0, np.intp)
    offset = np.concatenate([[0], np.cumsum(points)]).astype(np.intp)
    # One axis for all flights: each keeps its own grid points, and time runs on through them.
    axis = time - start[owner] + GRID * offset[owner]
    place = offset[owner] + cell
    begins = np.ones(place.size, bool)
    begins[1:] = np.diff(place) > 0
    at = np.flatnonzero(begins)
    grid = GRID * (np.arange(offset[-1]) + 0.5)
    mean_time, each = _means(axis, at), np.repeat(np.arange(starts.size), points)
    around = np.searchsorted(mean_time, grid)
    after = mean_time[np.minimum(around, mean_time.size - 1)] if at.size else grid
    before = mean_time[np.maximum(around - 1, 0)] if at.size else grid
    seen = np.abs(after - before) <= BRIDGED
    return Flights(
        airplane=airplane[starts] if starts.size else np.zeros(0, np.intp),
        start=start,
        rows=np.diff(first),
        interval=_intervals(time, owner, starts.size),
        first=offset,
        seen=seen,
        values=_on_grid(values, at, mean_time, grid, each, offset),
    )


def _means(column: Array, at: Index) -> Array:
    if not at.size:
        return np.zeros(0)
    return np.add.reduceat(column, at) / np.diff(np.append(at, column.size))


def _on_grid(
    values: dict[str, Array], at: Index, mean_time: Array, grid: Array, each: Index, offset: Index
) -> dict[str, Array]:
    """Every column on the grid; one that a flight lacks is NaN there."""
    found = {}
    for name, column in values.items():
        good = np.isfinite(column)
        if not good.any():
            found[name] = np.full(grid.size, np.nan)
            continue
        if good.all():
            mean, when = _means(column, at), mean_time
        else:
            weight = np.add.reduceat(good.astype(float), at)
            mean = np.add.reduceat(np.where(good, column, 0.0), at) / np.maximum(weight, 1.0)
            mean, when = mean[weight > 0.0], mean_time[weight > 0.0]
        line = np.interp(_within(grid, when, each, offset), when, mean)
        if not good.all():
            cell = np.minimum((when / GRID).astype(np.intp), grid.size - 1)
            known = np.bincount(each[cell], minlength=offset.size - 1)
            share = known / np.maximum(np.diff(offset), 1)
            line[share[each] < 0.25] = np.nan
        found[name] = line
    return found


def _within(grid: Array, when: Array, each: Index, offset: Index) -> Array:
    """Grid times drawn in to where their own flight has readings: no line leads into the next."""
    low = np.searchsorted(when, GRID * offset[:-1])
    high = np.searchsorted(when, GRID * offset[1:]) - 1
    first = when[np.minimum(low, when.size - 1)]
    last = np.maximum(when[np.maximum(high, 0)], first)
    return np.clip(grid, first[each], last[each])


def _intervals(time: Array, owner: Index, count: int) -> Array:
    """Median time between the rows of each flight, s, by sorting once within flights."""
    if time.size < 2:
        return np.full(count, np.nan)
    lapse = np.diff(time)
    same = owner[1:] == owner[:-1]
    lapse, whose = lapse[same], owner[1:][same]
    # Bins of 0.1 s up to 60 s serve for a median, and cost no sort.
    bins = np.minimum((lapse / 0.1).astype(np.intp), 599)
    table = np.bincount(whose * 600 + bins, minlength=count * 600).reshape(count, 600)
    middle = (np.cumsum(table, axis=1) * 2 < table.sum(axis=1)[:, None]).sum(axis=1)
    return (np.minimum(middle, 599) + 0.0) * 0.1


def speed_and_course(latitude: Array, longitude: Array, time: Array) -> tuple[Array, Array]:
    """Ground speed and course from places, where a source sends neither.

    Args:
        latitude: rad, shape (n,).
        longitude: rad, shape (n,).
        time: s, shape (n,).

    Returns:
        m/s and rad, shape (n,); over two rows on each side.

    Source: differences on a sphere of the mean radius; error below 0.6 % (flattening).
    """
    north, east = np.zeros(time.size), np.zeros(time.size)
    reach = 4
    if time.size <= reach:
        return np.full(time.size, np.nan), np.full(time.size, np.nan)
    lapse = np.maximum(time[reach:] - time[:-reach], 1e-3)
    turn = (longitude[reach:] - longitude[:-reach] + np.pi) % (2.0 * np.pi) - np.pi
    inner = slice(reach // 2, time.size - reach // 2)
    north[inner] = EARTH_RADIUS * (latitude[reach:] - latitude[:-reach]) / lapse
    east[inner] = EARTH_RADIUS * np.cos(latitude[inner]) * turn / lapse
    for ends in (slice(None, reach // 2), slice(time.size - reach // 2, None)):
        at = reach // 2 if ends.start is None else time.size - reach // 2 - 1
        north[ends], east[ends] = north[at], east[at]
    return np.hypot(north, east), np.arctan2(east, north)
