"""Histories that a cause can make of itself: runs of a motor, steps, slides."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Family:
    """A set of histories with the parameters of each.

    Attributes:
        histories: Shape (c, k).
        names: Names of the parameters.
        parameters: Shape (c, number of names), SI.
    """

    histories: Array
    names: tuple[str, ...]
    parameters: Array

    def describe(self, member: int) -> dict[str, float]:
        """Parameters of one member by name.

        Args:
            member: Its index.

        Returns:
            Values, SI.
        """
        return dict(zip(self.names, self.parameters[member].tolist(), strict=True))


def _mesh(*axes: Array) -> Array:
    return np.stack([a.ravel() for a in np.meshgrid(*axes, indexing="ij")], axis=-1)


def starts(time: Array, count: int = 12) -> Array:
    """Start times worth trying: over the first two thirds of the knots.

    Args:
        time: Knots, s, shape (k,).
        count: How many.

    Returns:
        s, shape (count,).
    """
    return np.linspace(time[0] - 1.0, time[0] + 0.67 * (time[-1] - time[0]), count)


def motor_runs(time: Array, rates: Array, travel: tuple[float, float]) -> Family:
    """One run at a constant rate, up to when it stops or meets the end of its travel.

    Args:
        time: Knots, s, shape (k,).
        rates: Signed rates, rad/s, shape (r,).
        travel: What is left of the travel to either side, rad: (negative, positive).

    Returns:
        The family, with start, rate and duration.
    """
    span = float(time[-1] - time[0]) + 2.0
    durations = np.r_[np.geomspace(1.0, span, 9), 2.0 * span]
    grid = _mesh(starts(time), rates, durations)
    run = np.clip(time - grid[:, :1], 0.0, grid[:, 2:3]) * grid[:, 1:2]
    return Family(np.clip(run, *travel), ("start", "rate", "duration"), grid)


def two_motor_runs(time: Array, rates: Array, travel: tuple[float, float]) -> Family:
    """A run, a hold and a second run at the same rate: a stop that holds only while pressed.

    Args:
        time: Knots, s, shape (k,).
        rates: Signed rates, rad/s, shape (r,).
        travel: What is left of the travel to either side, rad.

    Returns:
        The family, with start, rate, first duration, hold and second duration.
    """
    span = float(time[-1] - time[0]) + 2.0
    first = np.geomspace(1.0, 0.6 * span, 5)
    hold = np.geomspace(2.0, 0.6 * span, 4)
    second = np.r_[np.geomspace(2.0, span, 3), 2.0 * span]
    grid = _mesh(starts(time, 8), rates, first, hold, second)
    start, rate, one, still, two = (grid[:, i : i + 1] for i in range(5))
    run = np.clip(time - start, 0.0, one) + np.clip(time - start - one - still, 0.0, two)
    names = ("start", "rate", "first duration", "hold", "second duration")
    return Family(np.clip(run * rate, *travel), names, grid)


def steps(time: Array, sizes: Array, durations: Array) -> Family:
    """A change from nothing to a lasting value within a short time.

    Args:
        time: Knots, s, shape (k,).
        sizes: Lasting values, shape (r,).
        durations: Times the change takes, s, shape (d,).

    Returns:
        The family, with start, size and duration.
    """
    grid = _mesh(starts(time, 16), sizes, durations)
    share = np.clip((time - grid[:, :1]) / grid[:, 2:3], 0.0, 1.0)
    return Family(share * grid[:, 1:2], ("start", "size", "duration"), grid)


def nothing(time: Array) -> Family:
    """No change of itself: only the hands act.

    Args:
        time: Knots, s, shape (k,).

    Returns:
        A family of one.
    """
    return Family(np.zeros((1, time.size)), (), np.zeros((1, 0)))


def averaged(make: Callable[[Array], Family], knots: Array, window: float) -> Family:
    """A family as the smoothed data would show it: the mean over the smoothing window.

    Args:
        make: From times, shape (n,), to a family.
        knots: Times wanted, s, shape (k,).
        window: Smoothing window, s.

    Returns:
        The family at the knots.
    """
    offsets = window * np.array([-0.4, -0.2, 0.0, 0.2, 0.4])
    fine = make((knots[:, None] + offsets).ravel())
    mean = fine.histories.reshape(-1, knots.size, offsets.size).mean(axis=2)
    return Family(mean, fine.names, fine.parameters)
