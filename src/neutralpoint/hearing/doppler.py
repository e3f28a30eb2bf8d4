"""A propeller that passes a microphone: its rate at the source, and its speed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from neutralpoint.numerics.arrays import Array, Flags

GRID = 4001  # points of a pass
FEWEST = 12  # frames of a line that a pass is fitted to
# Deviation of the speed, a share, and squared misfit a frame over its own, beyond which it was no
# straight pass. Analyst's choice.
UNSURE, WORST = 0.1, 6.0
LEAST_SWING = 0.03  # of the frequency over a pass, below which it tells no speed; analyst's


@dataclass(frozen=True)
class Pass:
    """A straight pass at constant speed, by its sound alone; value and standard deviation.

    Attributes:
        rate: Blade rate at the source, Hz.
        speed: Over the ground, m/s.
        closest: Time of the closest point at the source, s.
        distance: There, m.
    """

    rate: tuple[float, float]
    speed: tuple[float, float]
    closest: tuple[float, float]
    distance: tuple[float, float]


def heard_at(time: Array, pass_: Array, sound: float, tail: float = 0.0) -> Array:
    """Frequency that a microphone hears of a straight pass.

    Args:
        time: At the microphone, s, shape (m,).
        pass_: Rate at the source, speed, time and distance of the closest point.
        sound: Speed of sound, m/s.
        tail: Wind along the flight, from behind, m/s.

    Returns:
        Hz, shape (m,).

    Source: Ferguson and Quinn, J. Acoust. Soc. Am. 96 (1994) 821, eq. 3, from memory: retarded
    time of a source in uniform motion, f = f0 / (1 + v^2 u / (c r)), u the time since the closest
    point at the source; with wind, c is that along the way of the sound. Checked against:
    tests/recovery/test_hearing.py.
    """
    rate, speed, closest, distance = pass_
    late = time - closest
    # Fine about the closest point, where the frequency falls, and wide enough for every moment.
    reach = np.abs(late).max() + distance / sound + 1.0
    since = np.sinh(np.linspace(-1.0, 1.0, GRID) * np.arcsinh(reach))
    way = speed * since
    away = np.sqrt(distance**2 + way**2)
    carried = sound - tail * way / away
    arrival = since + away / carried
    # d (r / c) / d u by hand: the wind's share falls as the square of the angle.
    slope = (
        1.0 + speed * way / (away * carried) + tail * speed * (distance / away) ** 2 / carried**2
    )
    return rate / np.interp(late, arrival, slope)


def fit_pass(
    time: Array, frequency: Array, sigma: Array, sound: float, tail: float = 0.0
) -> Pass | None:
    """Fit a straight pass to a line that was followed.

    Args:
        time: At the microphone, s, shape (m,).
        frequency: Hz, shape (m,).
        sigma: Standard deviation, Hz, shape (m,).
        sound: Speed of sound, m/s.
        tail: Wind along the flight, from behind, m/s.

    Returns:
        The pass; None where too little of it was heard to tell a speed, or it was not straight.
    """
    if time.size < FEWEST:
        return None
    high, low = np.quantile(frequency, (0.95, 0.05))
    if (high - low) / (high + low) < LEAST_SWING / 2.0:
        return None
    swing = (high - low) / (high + low)
    middle = float(time[np.argmin(np.abs(frequency - 0.5 * (high + low)))])
    best = None
    for distance in (150.0, 500.0, 1500.0):
        start = np.array([0.5 * (high + low), swing * sound, middle - distance / sound, distance])
        found = least_squares(
            lambda p: (heard_at(time, p, sound, tail) - frequency) / sigma,
            start,
            bounds=([0.0, 5.0, time[0] - 60.0, 5.0], [1e4, 0.9 * sound, time[-1] + 60.0, 2e4]),
            x_scale=np.array([1.0, 5.0, 1.0, 100.0]),
            loss="soft_l1",
        )
        if best is None or found.cost < best.cost:
            best = found
    if best is None:
        return None
    # The worse of the stated and the seen scatter.
    spread = max(1.0, 2.0 * best.cost / max(time.size - 4, 1))
    try:
        deviation = np.sqrt(np.diag(np.linalg.inv(best.jac.T @ best.jac)) * spread)
    except np.linalg.LinAlgError:
        return None
    value = [(float(x), float(s)) for x, s in zip(best.x, deviation, strict=True)]
    inside = time[0] < best.x[2] < time[-1]
    if not inside or deviation[1] > UNSURE * best.x[1] or spread > WORST:
        return None
    return Pass(*value)


def source_rate(
    time: Array,
    frequency: Array,
    known: Flags,
    *,
    path_time: Array,
    place: Array,
    microphone: Array,
    sound: float,
    wind: Array,
    clock: Array,
) -> tuple[Array, Array]:
    """Rate at the source along each sample path, from what a microphone on the ground heard.

    Args:
        time: At the microphone, s, shape (m,).
        frequency: Heard, Hz, shape (m,).
        known: Where there is a line, shape (m,).
        path_time: s, shape (k,).
        place: Of each path, m north, east and up, shape (3, S, k).
        microphone: m, shape (3,).
        sound: Speed of sound, m/s.
        wind: Mean wind between, m/s north and east, shape (2, S).
        clock: By how much the microphone's clock is late for each path, s, shape (S,).

    Returns:
        Hz, NaN where nothing was heard or the path does not reach; and when what was heard left
        the airplane, s; each shape (S, m).

    Source: retarded time along the path, t = t_e + r / c_e with c_e the speed of sound plus the
    wind along the way; f = f0 / (d t / d t_e).
    """
    away = microphone[:, None, None] - place
    distance = np.sqrt((away**2).sum(axis=0))
    along = (wind[0][:, None] * away[0] + wind[1][:, None] * away[1]) / np.maximum(distance, 1.0)
    arrival = path_time + distance / (sound + along)
    rate = np.gradient(arrival, path_time, axis=1)
    found = np.full((place.shape[1], time.size), np.nan)
    emitted = found.copy()
    for row in range(place.shape[1]):
        heard = time - clock[row]
        inside = known & (heard >= arrival[row, 0]) & (heard <= arrival[row, -1])
        found[row, inside] = frequency[inside] * np.interp(heard[inside], arrival[row], rate[row])
        emitted[row] = np.interp(heard, arrival[row], path_time)
    return found, emitted
