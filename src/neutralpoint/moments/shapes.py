"""Histories that a cause can make of itself: runs of a motor, steps, slides."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array

STARTS = 16  # start times tried; the data's own knots are hardly closer
SHARES = np.array([-0.4, -0.2, 0.0, 0.2, 0.4])  # of the smoothing window, for its mean


@dataclass(frozen=True)
class Histories:
    """A set of histories with the parameters of each.

    Attributes:
        values: Shape (c, k), in the unit of what moves.
        names: Names of the parameters; the first is the start where there is one.
        parameters: Shape (c, number of names), SI.
    """

    values: Array
    names: tuple[str, ...]
    parameters: Array

    @property
    def start(self) -> Array:
        """When each begins, s, shape (c,); never where nothing moves."""
        if not self.names:
            return np.full(len(self.values), np.inf)
        return self.parameters[:, 0]


def _mesh(*axes: Array) -> Array:
    return np.stack([a.ravel() for a in np.meshgrid(*axes, indexing="ij")], axis=-1)


def starts(time: Array, count: int = STARTS) -> Array:
    """Start times worth trying: over the first three quarters of the knots.

    Args:
        time: Knots, s, shape (k,).
        count: How many.

    Returns:
        s, shape (count,).
    """
    return np.linspace(time.min() - 1.0, time.min() + 0.75 * np.ptp(time), count)


def motor_runs(time: Array, rates: Array, travel: tuple[float, float]) -> Histories:
    """One run at a constant rate, up to when it stops or meets the end of its travel.

    Args:
        time: Knots, s, shape (k,).
        rates: Signed rates, rad/s, shape (r,).
        travel: What is left of the travel to either side, rad: (negative, positive).

    Returns:
        Histories with start, rate and duration.
    """
    span = float(np.ptp(time)) + 2.0
    durations = np.r_[np.geomspace(1.0, span, 9), 2.0 * span]
    grid = _mesh(starts(time), rates, durations)
    run = np.clip(time - grid[:, :1], 0.0, grid[:, 2:3]) * grid[:, 1:2]
    return Histories(np.clip(run, *travel), ("start", "rate", "duration"), grid)


def two_motor_runs(time: Array, rates: Array, travel: tuple[float, float]) -> Histories:
    """A run, a hold and a second run at the same rate: a stop that holds only while pressed.

    Args:
        time: Knots, s, shape (k,).
        rates: Signed rates, rad/s, shape (r,).
        travel: What is left of the travel to either side, rad.

    Returns:
        Histories with start, rate, first duration, hold and second duration.
    """
    span = float(np.ptp(time)) + 2.0
    first = np.geomspace(1.0, 0.6 * span, 5)
    hold = np.geomspace(2.0, 0.6 * span, 4)
    second = np.r_[np.geomspace(2.0, span, 3), 2.0 * span]
    grid = _mesh(starts(time, 10), rates, first, hold, second)
    start, rate, one, still, two = (grid[:, i : i + 1] for i in range(5))
    run = np.clip(time - start, 0.0, one) + np.clip(time - start - one - still, 0.0, two)
    names = ("start", "rate", "first duration", "hold", "second duration")
    return Histories(np.clip(run * rate, *travel), names, grid)


def steps(time: Array, sizes: Array, durations: Array) -> Histories:
    """A change from nothing to a lasting value within a short time.

    Args:
        time: Knots, s, shape (k,).
        sizes: Lasting values, none of them zero, shape (r,).
        durations: Times the change takes, s, shape (d,).

    Returns:
        Histories with start, size and duration.
    """
    grid = _mesh(starts(time), sizes, durations)
    share = np.clip((time - grid[:, :1]) / grid[:, 2:3], 0.0, 1.0)
    return Histories(share * grid[:, 1:2], ("start", "size", "duration"), grid)


def nothing(time: Array) -> Histories:
    """No change of itself: power, gravity and perhaps hands alone.

    Args:
        time: Knots, s, shape (k,).

    Returns:
        One history, of zeros.
    """
    return Histories(np.zeros((1, time.size)), (), np.zeros((1, 0)))


def averaged(make: Callable[[Array], Histories], knots: Array, window: float) -> Histories:
    """Histories as the smoothed data would show them: the mean over the smoothing window.

    Args:
        make: From times, shape (n,), to histories.
        knots: Times wanted, s, shape (k,).
        window: Smoothing window, s.

    Returns:
        The histories at the knots.
    """
    fine = make((knots[:, None] + window * SHARES).ravel())
    mean = fine.values.reshape(-1, knots.size, SHARES.size).mean(axis=2)
    return Histories(mean, fine.names, fine.parameters)
