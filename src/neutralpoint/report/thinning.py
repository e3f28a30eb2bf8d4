"""Fewer points for a page or a print, kept where the curves bend."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

EVEN_SHARE = 0.5  # of the points, spread evenly in time; the rest follows the bends


def kept_times(time: Array, curves: Iterable[Array], limit: int) -> NDArray[np.intp]:
    """Which times to keep so that no curve loses its shape.

    Args:
        time: s, shape (m,).
        curves: Curves on these times, each (m,); NaN is allowed.
        limit: Largest number of times kept.

    Returns:
        Indices in order, at most `limit`, with the first and the last; all of them where there
        are no more than `limit`.
    """
    if len(time) <= limit:
        return np.arange(len(time))
    density = np.full(len(time), EVEN_SHARE / len(time))
    bend = sum((_bend(curve) for curve in curves), np.zeros(len(time)))
    density += (1.0 - EVEN_SHARE) * (bend / bend.sum() if bend.sum() > 0 else 1.0 / len(time))
    reached = np.cumsum(density) / density.sum()
    wanted = np.linspace(0.0, 1.0, limit)
    return np.unique(np.r_[0, np.searchsorted(reached, wanted[1:-1]), len(time) - 1])


def _bend(curve: Array) -> Array:
    """Square root of the second difference, in parts of the curve's range; 0 across NaN."""
    span = np.ptp(curve[np.isfinite(curve)]) if np.isfinite(curve).any() else 0.0
    second = np.zeros(len(curve))
    if span > 0:
        second[1:-1] = np.sqrt(np.abs(np.diff(curve, 2)) / span)
    return np.nan_to_num(second)
