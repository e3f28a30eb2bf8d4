"""The onset of the motion about a departure that a cheap screen has flagged.

The screen looks at altitude and rate of every flight at once. About each departure that it flags
the onset of the case (`motion.upset_onsets`) is asked of a few minutes, from signals that the grid
gives without a smoother: milliseconds a departure, where whole motion takes seconds.
"""

from __future__ import annotations

import numpy as np

from neutralpoint.history.cutting import GRID, Flights
from neutralpoint.motion import upset_onsets
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import GRAVITY

BEFORE, AFTER = 150.0, 60.0  # s of the stretch about the greatest vertical speed; analyst's
FINE = 1.0  # s: cells of the onset
OVER = 8.0  # s over which rates of change are fitted, as the load factor of a history


def event_onsets(flights: Flights, rate: Array, events: Array) -> Array:
    """Onset of the motion about each departure.

    Args:
        flights: On their grid.
        rate: Vertical speed on it, m/s, shape (m,).
        events: Flight, s after its start and vertical speed, m/s, of each departure, shape (k, 3).

    Returns:
        Probability that the motion left ordinary flight in the stretch, and when, s after the start
        of the flight (NaN where it is more likely that it did not), shape (k, 2).

    Source: kinematics of a path in still air without sideslip: load factor along and across it,
        path angle asin(w / V), bank atan(V dchi/dt / g); the wind stands in V.
    """
    found = np.full((len(events), 2), np.nan)
    for number, (flight, into, _) in enumerate(events):  # over departures, few a fleet
        first, last = flights.first[int(flight)], flights.first[int(flight) + 1]
        begin = max(first, first + int((into - BEFORE) / GRID))
        end = min(last, first + int((into + AFTER) / GRID))
        if end - begin < OVER:
            continue
        time = GRID * (np.arange(begin, end) - first)
        signals = _signals(
            rate[begin:end],
            flights.values["north_part"][begin:end],
            flights.values["east_part"][begin:end],
        )
        if not all(np.isfinite(each).all() for each in signals.values()):
            continue
        fine = np.arange(time[0], time[-1], FINE)
        paths: dict[str, Array] = {
            name: np.interp(fine, time, each)[None] for name, each in signals.items()
        }
        onsets = upset_onsets(fine, paths)
        found[number] = 1.0 - onsets.none, onsets.median if onsets.found else np.nan
    return found


def _signals(rate: Array, north: Array, east: Array) -> dict[str, Array]:
    """The signals of the onset on the grid of one stretch, SI and radians."""
    ground = np.maximum(np.hypot(north, east), 1.0)
    speed = np.hypot(ground, rate)
    turning = (north * _slope(east) - east * _slope(north)) / ground**2
    path = np.arcsin(np.clip(rate / speed, -1.0, 1.0))
    bank = np.arctan(ground * turning / GRAVITY)
    lift = (np.cos(path) + speed * _slope(path) / GRAVITY) / np.cos(bank)
    return {
        "normal_load_factor": lift,
        "longitudinal_load_factor": _slope(speed) / GRAVITY + np.sin(path),
        "bank_angle": bank,
        "flight_path_angle": path,
        "true_airspeed": speed,
    }


def _slope(column: Array) -> Array:
    """Rate of change of least squares over `OVER`, shorter at the ends."""
    half = round(OVER / GRID / 2)
    point = np.arange(column.size)
    low, high = np.maximum(point - half, 0), np.minimum(point + half, column.size - 1)
    return (column[high] - column[low]) / (GRID * np.maximum(high - low, 1))
