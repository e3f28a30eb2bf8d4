"""Flights of many airplanes in memory, for tests and benchmarks of the history.

`fleet_flights` cuts the shipped generator's rows. `other_flights` comes from equations of another
kind, so that the judge is not the one that the method was built with: the airplane is a phugoid
oscillator under a level hold, driven by gusts of heavy tails. `spliced_flights` are level flights
whose vertical motion is cut from recorded flights.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np
from scipy.ndimage import gaussian_filter1d

from neutralpoint.history.cutting import FlightRows, Flights, cut
from neutralpoint.history.generated import InventedTail, flight_rows, stepped
from neutralpoint.history.measures import Steps
from neutralpoint.quantities import FOOT, FOOT_PER_MINUTE, GRAVITY, KNOT

BESIDE = Path(__file__).resolve().parents[2] / "shared" / "data" / "flights"
PIECE, FADE = 60, 10  # s of a recorded piece, and of it that fades at either end
STEPS = Steps(25.0 * FOOT, 64.0 * FOOT_PER_MINUTE, KNOT)


def joined_flights(columns: list[dict], airplanes: list[int]) -> Flights:
    """Flights on their grid from columns by role.

    Args:
        columns: Of each flight, SI, with `time`.
        airplanes: Number of the airplane of each, rising.

    Returns:
        The flights.
    """
    values = {name: np.concatenate([one[name] for one in columns]) for name in columns[0]}
    time, course = values.pop("time"), values.pop("track_angle")
    for place in ("latitude", "longitude"):
        values.pop(place, None)
    values["north_part"] = values["ground_speed"] * np.cos(course)
    values["east_part"] = values["ground_speed"] * np.sin(course)
    values["temperature"] = np.full(time.size, np.nan)
    sizes = [one["time"].size for one in columns]
    number = np.repeat(np.array(airplanes, np.intp), sizes)
    return cut(FlightRows(number, time, values, np.zeros(time.size, bool)))


def fleet_flights(tails: list[InventedTail], seed: int, rows: int = 3000) -> Flights:
    """Flights of the shipped generator.

    Args:
        tails: The airplanes.
        seed: Of the fleet.
        rows: Of each flight, about.

    Returns:
        The flights.
    """
    columns, airplanes = [], []
    for number, tail in enumerate(tails):
        for flight in range(tail.flights):
            columns.append(flight_rows(tail, flight, seed, rows=rows))
            airplanes.append(number)
    return joined_flights(columns, airplanes)


def other_flights(count: int, seed: int, seconds: float = 2400.0) -> Flights:
    """Level flights of one airplane by other equations, without a fault.

    Speed and path angle follow Lanchester's equations with drag, an autopilot holds the level, and
    gusts are Student's with four degrees of freedom. Integrated by the midpoint rule for all
    flights at once.

    Args:
        count: How many.
        seed: Of the flights.
        seconds: Of each.

    Returns:
        The flights.
    """
    rng, step = np.random.default_rng(seed), 0.5
    trim = 110.0 + 6.0 * rng.standard_normal(count)
    hold = np.exp(rng.normal(np.log(4e-4), 0.3, count))
    gust = 0.15 * np.exp(0.3 * rng.standard_normal(count))
    speed, path, height, air = trim.copy(), np.zeros(count), np.zeros(count), np.zeros(count)
    level = 3000.0 + 300.0 * rng.integers(0, 8, count)
    kept = []

    def rates(speed, path, height):
        lift = (speed / trim) ** 2 - hold * height - 0.08 * speed * path / GRAVITY
        drag = 0.08 * ((speed / trim) ** 2 - 1.0)
        return (
            -GRAVITY * (np.sin(path) + drag),
            GRAVITY / speed * (lift - np.cos(path)),
            speed * np.sin(path) + air,
        )

    for _ in range(int(seconds / step)):
        air += -air * step / 12.0 + gust * rng.standard_t(4, count) * np.sqrt(step / 12.0)
        first = rates(speed, path, height)
        half = [x + 0.5 * step * r for x, r in zip((speed, path, height), first, strict=True)]
        second = rates(*half)
        speed, path, height = (
            x + step * r for x, r in zip((speed, path, height), second, strict=True)
        )
        kept.append((speed.copy(), height.copy(), second[2].copy()))
    flown = np.array(kept)[::2]
    columns = []
    for number in range(count):
        seen = rng.uniform(size=len(flown)) > 0.03
        columns.append(
            {
                "time": 1.9e9 + 2e4 * number + np.arange(len(flown))[seen],
                "pressure_altitude": stepped(level[number] + flown[seen, 1, number], 25 * FOOT),
                "vertical_rate": stepped(flown[seen, 2, number], 64 * FOOT_PER_MINUTE),
                "ground_speed": stepped(flown[seen, 0, number], KNOT),
                "track_angle": np.zeros(int(seen.sum())),
            }
        )
    return joined_flights(columns, [0] * count)


@lru_cache
def recorded_pieces(data: Path = BESIDE) -> np.ndarray:
    """Vertical speed about its mean over a minute, of recorded flights where nobody maneuvers.

    Args:
        data: Folder of the recordings.

    Returns:
        m/s, shape (k, PIECE): load factor 0.7 to 1.3, bank below 0.5 rad, climb below 5 m/s.
    """
    from recorded import recordings

    found = []
    for flight in recordings(data):
        time = np.arange(*flight.airborne, 1.0)
        height, load, bank = (
            np.interp(time, flight.time, each)
            for each in (flight.pressure_altitude, flight.load_factor, flight.bank)
        )
        slow = np.gradient(gaussian_filter1d(height, 20.0))
        quick = np.gradient(height) - slow
        calm = (np.abs(slow) < 5.0) & (np.abs(load - 1.0) < 0.3) & (np.abs(bank) < 0.5)
        for first in range(30, time.size - 90, 30):
            inside = slice(first, first + PIECE)
            if calm[inside].all():
                found.append(quick[inside] - quick[inside].mean())
    return np.array(found)


def spliced_flights(count: int, seed: int, seconds: int = 1500) -> Flights:
    """Level flights of one airplane that move as pieces of recorded flights, without a fault.

    Pieces are drawn anew for each flight, either side up, forward or backward in time, and fade
    into one another so that their variance stays.

    Args:
        count: How many.
        seed: Of the flights.
        seconds: Of each.

    Returns:
        The flights.
    """
    rng, pieces = np.random.default_rng(seed), recorded_pieces()
    ramp = np.clip((np.arange(PIECE) + 0.5) / FADE, 0.0, 1.0)
    fade = np.sqrt(np.minimum(ramp, ramp[::-1]))
    columns = []
    for number in range(count):
        rate = np.zeros(seconds + 2 * PIECE)
        for at in range(0, seconds + PIECE, PIECE - FADE):
            one = pieces[rng.integers(len(pieces))] * rng.choice([-1.0, 1.0])
            rate[at : at + PIECE] += one[:: rng.choice([-1, 1])] * fade
        moved = np.cumsum(rate[PIECE // 2 : PIECE // 2 + seconds])
        height = 3000.0 + 300.0 * rng.integers(0, 8) + moved - gaussian_filter1d(moved, 60.0)
        drift = 8.0 * gaussian_filter1d(rng.standard_normal(seconds), 30.0)
        speed = 110.0 + 6.0 * rng.standard_normal() + drift
        seen = rng.uniform(size=seconds) > 0.03
        columns.append(
            {
                "time": 1.9e9 + 2e4 * number + np.arange(seconds)[seen],
                "pressure_altitude": stepped(height[seen], 25 * FOOT),
                "vertical_rate": stepped(np.gradient(height)[seen], 64 * FOOT_PER_MINUTE),
                "ground_speed": stepped(speed[seen], KNOT),
                "track_angle": np.zeros(int(seen.sum())),
            }
        )
    return joined_flights(columns, [0] * count)
