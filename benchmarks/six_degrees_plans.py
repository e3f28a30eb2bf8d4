"""What the judge's crews mean to do, how they look at it, and the air they fly in."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from six_degrees import STEP, Array

from neutralpoint.quantities import DEGREE


def plans(rng: np.random.Generator, n: int, span: float, quick: Array) -> dict[str, Array]:
    """Climb, m/s, bank, rad, power and speed step, and attention, second by second, (N, T).

    Args:
        rng: Of the plans.
        n: Flights.
        span: s.
        quick: Climb that the airplane is good for, m/s, shape (N,).
    """
    count = int(span) + 2
    found = {name: np.zeros((n, count)) for name in ("climb", "bank", "power", "speed")}
    found["looks"] = np.zeros((n, count), bool)
    for k in range(n):
        _one(rng, {name: table[k] for name, table in found.items()}, float(quick[k]))
    found["noise"] = _slow_noise(rng, n, count)
    return found


def _one(rng: np.random.Generator, table: dict[str, Array], quick: float) -> None:
    count = table["climb"].size
    climb = rng.choice([0.0, 0.0, 0.6, -0.7]) * quick * rng.uniform(0.5, 1.0)
    table["climb"][:] = climb
    busy = rng.choice([0.0, 0.4, 1.0, 1.7])  # manoeuvres a minute, some two
    at = 0.0
    while busy and (at := at + rng.exponential(50.0 / busy)) < count - 8:
        begin = int(at)
        what = rng.random()
        if what < 0.4:
            end = begin + int(rng.uniform(8.0, 50.0))
            table["bank"][begin:end] = rng.choice([-1, 1]) * rng.uniform(8.0, 32.0) * DEGREE
            at = float(end)
        elif what < 0.75:
            climb = rng.choice([0.0, 0.0, 0.7, -0.8]) * quick * rng.uniform(0.3, 1.0)
            table["climb"][begin:] = climb
            if climb == 0.0 and rng.random() < 0.5:
                table["power"][begin:] += rng.normal(0.0, 0.08)
        else:
            table["speed"][begin:] += rng.normal(0.0, 6.0)
            table["power"][begin:] += rng.normal(0.0, 0.06)
    at, looking = 0.0, True
    rest = rng.choice([0.5, 2.0, 6.0])
    while at < count:
        lasts = rng.exponential(7.0 if looking else rest)
        table["looks"][int(at) : int(at + lasts) + 1] = looking
        at, looking = at + lasts, not looking


def _slow_noise(rng: np.random.Generator, n: int, count: int) -> Array:
    """Unit noise of a hand with a memory of some 2 s."""
    found = np.zeros((n, count))
    for k in range(1, count):
        found[:, k] = 0.6 * found[:, k - 1] + 0.8 * rng.standard_normal(n)
    return found


class Gusts:
    """Continuous gusts of three directions and a rolling one, first order (after Dryden).

    Lengths 150 to 500 m at height; strength by flight, still to moderate (0.1 to 2.5 m/s).
    """

    def __init__(self, rng: np.random.Generator, n: int, span: Array) -> None:
        self.rng, self.n = rng, n
        self.sigma = np.minimum(rng.lognormal(np.log(0.45), 0.8, n), 2.8)
        self.length = np.stack([rng.uniform(250.0, 600.0, n)] * 2 + [rng.uniform(120.0, 350.0, n)])
        self.now, self.roll, self.span = np.zeros((3, n)), np.zeros(n), span

    def step(self, speed: Array) -> tuple[Array, Array]:
        """Gust, NED, m/s, (3, N), and rolling gust, rad/s, (N,), at the speed of the twin."""
        fade = np.exp(-STEP * speed / self.length)
        kick = self.rng.standard_normal((4, self.n))
        self.now = fade * self.now + self.sigma * np.sqrt(1.0 - fade**2) * kick[:3]
        slow = np.exp(-STEP * speed / (1.5 * self.span))
        size = 0.6 * self.sigma / self.span
        self.roll = slow * self.roll + size * np.sqrt(1.0 - slow**2) * kick[3]
        return self.now, self.roll


def at(plan: dict[str, Array], time: float) -> SimpleNamespace:
    """The plan of a moment."""
    k = int(time)
    return SimpleNamespace(**{name: table[:, k] for name, table in plan.items()})
