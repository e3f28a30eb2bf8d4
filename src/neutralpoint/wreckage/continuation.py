"""Sample paths continued from the last reading to the ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import GRAVITY
from neutralpoint.wreckage.falling import Ground

STEP = 0.1  # s
LONGEST = 240.0  # s that a path is continued; analyst's
SLOWEST = 15.0  # m/s: below it no path of a wing is meant; analyst's
STEEPEST = 1.55  # rad from level; the turn of the track is not defined beyond


@dataclass(frozen=True)
class PathState:
    """Sample paths at one moment, each of shape (S,).

    Attributes:
        north: m.
        east: m.
        height: m above the sea.
        speed: True airspeed, m/s.
        path_angle: Of the air velocity, up positive, rad.
        heading: Of the air velocity from north, rad.
        wind_north: Velocity of the air, m/s.
        wind_east: m/s.
    """

    north: Array
    east: Array
    height: Array
    speed: Array
    path_angle: Array
    heading: Array
    wind_north: Array
    wind_east: Array


@dataclass(frozen=True)
class PathControls:
    """What acts on each path from then on; after the last time the last values are held.

    Attributes:
        step: s between columns.
        load: Load factor across the path, shape (S, m).
        along: Load factor along the path, shape (S, m).
        bank: Of the lift about the path, rad, shape (S, m).
    """

    step: float
    load: Array
    along: Array
    bank: Array

    def at(self, time: float) -> tuple[Array, Array, Array]:
        """Values at a time since the last reading, s, each (S,)."""
        place = min(time / self.step, self.load.shape[1] - 1.0)
        low = min(int(place), max(self.load.shape[1] - 2, 0))
        high, share = min(low + 1, self.load.shape[1] - 1), place - low
        load, along, bank = (
            values[:, low] * (1.0 - share) + values[:, high] * share
            for values in (self.load, self.along, self.bank)
        )
        return load, along, bank


@dataclass(frozen=True)
class Ending:
    """How paths met the ground, each of shape (S,); `reached` is False where one did not.

    Attributes:
        reached: Whether within `LONGEST`.
        time: s since the last reading.
        north: m.
        east: m.
        speed: True airspeed, m/s.
        path_angle: rad.
        heading: Of the air velocity, rad.
        bank: rad.
        places: Along the way, s, north, east, height, and velocities north, east, up over the
            ground, shape (7, k, S); what has ended stays.
    """

    reached: Flags
    time: Array
    north: Array
    east: Array
    speed: Array
    path_angle: Array
    heading: Array
    bank: Array
    places: Array


def continue_paths(state: PathState, controls: PathControls, ground: Ground) -> Ending:
    """Fly each path on as a point mass until it meets the ground.

    Args:
        state: At the last reading.
        controls: What acts from then on.
        ground: Height of the ground, m above the sea.

    Returns:
        How each ended.

    Source: point-mass equations, V' = g (n_x - sin gamma), gamma' = g (n cos mu - cos gamma) / V,
    chi' = g n sin mu / (V cos gamma): Etkin and Reid (1996), section 4.6, in load factors.
    Checked against: tests/against/test_debris_falls.py, against a closed form and SciPy.
    """
    values = [state.north, state.east, state.height, state.speed, state.path_angle, state.heading]
    y = np.stack([np.asarray(v, float) for v in values])
    wind = np.stack([state.wind_north, state.wind_east])
    count = y.shape[1]
    ended, time = np.zeros(count, bool), np.zeros(count)
    bank = controls.at(0.0)[2]
    kept = [_kept(0.0, y, wind)]
    now = 0.0
    while not ended.all() and now < LONGEST:
        acting = controls.at(now + 0.5 * STEP)
        middle = y + 0.5 * STEP * _rates(y, wind, controls.at(now))
        new = y + STEP * _rates(middle, wind, acting)
        above, below = y[2] - ground(y[0], y[1]), new[2] - ground(new[0], new[1])
        share = np.clip(above / np.maximum(above - below, 1e-9), 0.0, 1.0)
        share = np.where(ended, 0.0, np.where(below <= 0.0, share, 1.0))
        y = y + share * (new - y)
        bank = np.where(ended, bank, acting[2])
        time = time + share * STEP
        ended = ended | (below <= 0.0)
        now += STEP
        if round(now / STEP) % 5 == 0:
            kept.append(_kept(now, y, wind))
    return Ending(
        ended, time, y[0], y[1], y[3], y[4], np.mod(y[5], 2.0 * np.pi), bank,
        np.stack(kept, axis=1),
    )  # fmt: skip


def _rates(y: Array, wind: Array, acting: tuple[Array, Array, Array]) -> Array:
    load, along, bank = acting
    speed = np.maximum(y[3], SLOWEST)
    angle = np.clip(y[4], -STEEPEST, STEEPEST)
    level = speed * np.cos(angle)
    return np.stack(
        [
            level * np.cos(y[5]) + wind[0],
            level * np.sin(y[5]) + wind[1],
            speed * np.sin(angle),
            GRAVITY * (along - np.sin(angle)),
            GRAVITY / speed * (load * np.cos(bank) - np.cos(angle)),
            GRAVITY * load * np.sin(bank) / level,
        ]
    )


def _kept(now: float, y: Array, wind: Array) -> Array:
    """Time, place and velocity over the ground, shape (7, S)."""
    level = y[3] * np.cos(y[4])
    return np.stack(
        [
            np.full(y.shape[1], now),
            *y[:3],
            level * np.cos(y[5]) + wind[0],
            level * np.sin(y[5]) + wind[1],
            y[3] * np.sin(y[4]),
        ]
    )
