"""Invented fleets with known faults: flights made of formulas, deterministic, as columns.

A flight climbs, cruises and descends with turbulence, is seen through steps, lag and lost rows, and
may carry one planted fault. Nothing here is a model of an airplane that exists; it is made so that
what the measures find can be held against what was planted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.signal import lfilter as _lfilter

from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import DEGREE, EARTH_RADIUS, FOOT, FOOT_PER_MINUTE, GRAVITY, KNOT

Planted = Literal["none", "hunting", "creep", "rate-bias", "weak-climb", "trim-event"]
EPOCH = 1_893_456_000.0  # s: 2030-01-01, as every invented case
BETWEEN = 5.0 * 3600.0  # s between the starts of two flights of a tail, at least
LOST = 0.03  # share of rows that are not received; analyst's
RATE_LAG = 1.0  # s, first order, of the vertical rate that is sent; analyst's
# Vertical gusts in smooth to light air, m/s and s of their first-order spectrum. Analyst's
# estimate.
GUST, GUST_TIME = 0.25, 8.0
FLARE = 6.0  # s in which a vertical speed that is asked for is reached; analyst's
COURSES = 6.0  # s in which a new course is flown to; analyst's
# Planted faults: how they show, to be seen in tens of flights and not in one look. Analyst's
# choice.
HUNTING_PERIOD, HUNTING_HEIGHT = 26.0, 5.0  # s, m
CREEP_RATE, CREEP_TIME = 0.012, 180.0  # m/s^2 until it is put right, s
RATE_BIAS = 0.25  # m/s
WEAK_CLIMB = 0.12  # share of the rate of climb lost
EVENT_RATE, EVENT_TIME = -9.0, 14.0  # m/s of departure, s that it lasts


@dataclass(frozen=True)
class InventedTail:
    """An airplane of an invented fleet.

    Attributes:
        address: Its name in the rows.
        kind: Name of its type.
        flights: How many it makes.
        planted: Fault that it carries.
        since: Number of the first flight that carries it.
    """

    address: str
    kind: str
    flights: int
    planted: Planted = "none"
    since: int = 0


@dataclass(frozen=True)
class InventedType:
    """What flights of a type have in common.

    Attributes:
        climb: Rate of climb at sea level, m/s, and its loss with height, 1/s.
        level: Usual cruise altitude, m.
        speed: Cruise true airspeed, m/s.
    """

    climb: tuple[float, float]
    level: float
    speed: float


KINDS = {
    "Quillon 6": InventedType((9.0, 0.0006), 5500.0, 125.0),
    "Tessera 2": InventedType((13.0, 0.0007), 8500.0, 175.0),
}


def fleet_of(
    tails: int, flights: int, planted: dict[int, tuple[Planted, int]] | None = None
) -> list[InventedTail]:
    """A fleet by numbers.

    Args:
        tails: How many airplanes; types take turns.
        flights: Of each.
        planted: Fault and number of the first flight that has it, by number of the tail.

    Returns:
        The tails.
    """
    given, kinds = planted or {}, list(KINDS)
    return [
        InventedTail(f"inv{number:04d}", kinds[number % len(kinds)], flights,
             *given.get(number, ("none", 0)))
        for number in range(tails)
    ]  # fmt: skip


def flight_rows(
    tail: InventedTail, number: int, seed: int, *, rows: int = 10_000, interval: float = 1.0
) -> dict[str, Array]:
    """The rows of one flight as a receiver logs them.

    Args:
        tail: Whose flight.
        number: Of the flight, from 0.
        seed: Of the fleet.
        rows: About how many are sent.
        interval: s between them.

    Returns:
        Columns by role, SI and radians, all of one length.
    """
    marks = [seed, *tail.address.encode(), number]
    rng, own = np.random.default_rng(marks), np.random.default_rng(marks[:-1])
    kind = KINDS[tail.kind]
    time = interval * np.arange(rows)
    fault = tail.planted if number >= tail.since else "none"
    rate, level = _asked(kind, own, rng, time, weak=fault == "weak-climb")
    rate = rate + _planted(fault, rng, time, level)
    gusts = _colored(rng, rows, GUST * np.exp(0.25 * rng.standard_normal()), GUST_TIME / interval)
    rate = np.where(time > 20.0, rate + gusts, 0.0)
    height = 60.0 + np.cumsum(rate) * interval
    height = np.maximum(height, 60.0)
    return _seen(tail, kind, fault, rng, (time, height, interval), number)


def _asked(kind: InventedType, own, rng, time: Array, *, weak: bool) -> tuple[Array, Array]:
    """Vertical speed that is asked for, m/s, and where the flight is level."""
    share = (1.0 - WEAK_CLIMB if weak else 1.0) * (1.0 + 0.02 * own.standard_normal())
    share *= 1.0 + 0.04 * rng.standard_normal()
    cruise = kind.level + 300.0 * round(rng.uniform(-3.0, 3.0))
    loss = kind.climb[1]
    top = np.log(kind.climb[0] / max(kind.climb[0] - loss * cruise, 1.0)) / (loss * share)
    scale = min(1.0, 0.35 * time[-1] / top)  # a short record reaches a lower level
    climbing = kind.climb[0] * share * np.exp(-loss * share * time)
    climb_end = top * scale
    gained = kind.climb[0] / loss * (1.0 - np.exp(-loss * share * climb_end))
    sink = 6.5 * (1.0 + 0.08 * rng.standard_normal())
    down = time[-1] - 40.0 - gained / sink
    asked = np.where(time < climb_end, climbing, np.where(time < down, 0.0, -sink))
    level = (time > climb_end + 60.0) & (time < down - 60.0)
    step = time[1] - time[0]
    return lfilter([step / FLARE], [1.0, step / FLARE - 1.0], asked), level


def _planted(fault: str, rng, time: Array, level: Array) -> Array:
    """Vertical speed that a fault adds, m/s."""
    if fault == "hunting":
        turn = 2.0 * np.pi / HUNTING_PERIOD
        phase = turn * time + np.cumsum(0.02 * rng.standard_normal(time.size))
        return np.where(level, HUNTING_HEIGHT * turn * np.cos(phase), 0.0)
    if fault == "creep":
        cycle = (time + rng.uniform(0.0, CREEP_TIME)) % CREEP_TIME
        return np.where(level, CREEP_RATE * (cycle - 0.5 * CREEP_TIME), 0.0)
    if fault == "trim-event":
        inside = np.flatnonzero(level)
        at = time[inside[rng.integers(inside.size // 4, inside.size // 2)]] if inside.size else 0.0
        since = (time - at) / EVENT_TIME
        down = EVENT_RATE * np.exp(-0.5 * ((since - 1.0) / 0.35) ** 2)
        back = EVENT_RATE * 0.35 / 0.9 * np.exp(-0.5 * ((since - 4.0) / 0.9) ** 2)
        return down - back  # to the level that was left
    return np.zeros(time.size)


def _colored(rng, count: int, sigma: float, memory: float) -> Array:
    """First-order noise. Source: Ornstein-Uhlenbeck process sampled, exact."""
    keep = np.exp(-1.0 / memory)
    return lfilter([sigma * np.sqrt(1.0 - keep**2)], [1.0, -keep], rng.standard_normal(count))


def _seen(
    tail: InventedTail,
    kind: InventedType,
    fault: str,
    rng,
    flown: tuple[Array, Array, float],
    number: int,
) -> dict[str, Array]:
    """Steps, lag and lost rows on what was flown."""
    time, height, interval = flown
    count = time.size
    rate = np.gradient(height, interval)
    grow = np.clip(height / kind.level, 0.15, 1.0)
    speed = kind.speed * (0.55 + 0.45 * grow) + _colored(rng, count, 0.8, 30.0 / interval)
    speed = speed - GRAVITY * rate / kind.speed  # half a minute of climb is paid with speed
    wind = rng.uniform(-15.0, 15.0)
    course = 2.0 * np.pi * rng.uniform() + np.cumsum(
        np.where(rng.uniform(size=count) < interval / 900.0, rng.normal(0.0, 0.5, count), 0.0)
    )
    course = lfilter([interval / COURSES], [1.0, interval / COURSES - 1.0], course)
    ground = np.maximum(speed + wind * np.cos(course), 0.0)
    lag = 1.0 - np.exp(-interval / RATE_LAG)
    sent = lfilter([lag], [1.0, lag - 1.0], rate) + (RATE_BIAS if fault == "rate-bias" else 0.0)
    north = np.cumsum(ground * np.cos(course)) * interval
    east = np.cumsum(ground * np.sin(course)) * interval
    latitude = 0.3 + north / EARTH_RADIUS
    longitude = -0.7 + east / (EARTH_RADIUS * np.cos(0.3))
    start = EPOCH + number * (BETWEEN + count * interval) + 60.0 * rng.integers(0, 60)
    kept = rng.uniform(size=count) >= LOST
    steps = {
        "time": start + time,
        "latitude": stepped(latitude, 1e-5 * DEGREE),
        "longitude": stepped(longitude, 1e-5 * DEGREE),
        "pressure_altitude": stepped(height, 25.0 * FOOT),
        "ground_speed": stepped(ground, KNOT),
        "track_angle": stepped(course % (2.0 * np.pi), DEGREE),
        "vertical_rate": stepped(sent, 64.0 * FOOT_PER_MINUTE),
    }
    return {name: values[kept] for name, values in steps.items()}


def stepped(value: Array, step: float) -> Array:
    """A value in the steps that it is sent in."""
    return step * np.round(value / step)


def lfilter(numerator: list[float], denominator: list[float], values: Array) -> Array:
    """SciPy's filter, started at rest."""
    return np.asarray(_lfilter(numerator, denominator, values))
