"""Extremes of a quantity that is known as sample paths: each path has its own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array, Index

LEVELS = (0.05, 0.5, 0.95)  # ends and middle of a 90% band
ROUNDING = 1e-9  # of the largest value: less is no difference
CLEAR = 0.95  # quantile of the extremes of noise alone that an event goes beyond


@dataclass(frozen=True)
class Extremes:
    """The extreme of each path, and where it lies.

    Attributes:
        value: Shape (S,).
        node: Shape (S,).
    """

    value: Array
    node: Index

    def band(self) -> tuple[float, float, float]:
        """The 90% band of the value.

        Returns:
            Quantiles 5, 50 and 95%.
        """
        low, middle, high = np.quantile(self.value, LEVELS)
        return float(low), float(middle), float(high)

    def when(self, time: Array) -> tuple[float, float, float]:
        """The 90% band of the time.

        Args:
            time: s, shape (m,).

        Returns:
            Quantiles 5, 50 and 95%, s.
        """
        low, middle, high = np.quantile(time[self.node], LEVELS)
        return float(low), float(middle), float(high)


def highest(paths: Array) -> Extremes:
    """The highest value of each path.

    Args:
        paths: Shape (S, m).

    Returns:
        The extremes. The highest value of the middle curve is lower: no path follows it.
    """
    node = paths.argmax(axis=1)
    return Extremes(np.take_along_axis(paths, node[:, None], axis=1)[:, 0], node)


def lowest(paths: Array) -> Extremes:
    """The lowest value of each path.

    Args:
        paths: Shape (S, m).

    Returns:
        The extremes.
    """
    found = highest(-paths)
    return Extremes(-found.value, found.node)


def furthest(paths: Array) -> Extremes:
    """The extreme of each path on the side on which the middle curve goes further from zero.

    Args:
        paths: Shape (S, m).

    Returns:
        The extremes, with their sign.
    """
    middle = np.median(paths, axis=0)
    return highest(paths) if middle.max() >= -middle.min() else lowest(paths)


def stands_out(paths: Array, *, high: bool) -> bool:
    """Whether an extreme is more than a steady change with these errors would show.

    Args:
        paths: Shape (S, m).
        high: Whether the highest is asked for, else the lowest.

    Returns:
        True where the middle extreme goes beyond 95% of those of a flight that changes evenly:
        the straight line through the middle curve, with the errors of each path about that curve.
        A steady climb ends at its highest point and has no extreme.
    """
    signed = paths if high else -paths
    middle = np.median(signed, axis=0)
    node = np.arange(middle.size)
    line = np.polyval(np.polyfit(node, middle, 1), node) if middle.size > 2 else middle
    steady = (signed - middle + line).max(axis=1)
    beyond = np.median(signed.max(axis=1)) - np.quantile(steady, CLEAR)
    return bool(beyond > ROUNDING * max(float(np.abs(middle).max()), 1e-300))
