"""Fewer points for a page or a print, kept where the curves bend."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from neutralpoint.numerics.arrays import Array, Index

EVEN_SHARE = 0.5  # of the points, spread evenly in time; the rest follows the bends
EXTREME_SHARE = 0.5  # of all points: lowest and highest values of stretches of each curve


def kept_times(time: Array, curves: Iterable[Array], limit: int) -> Index:
    """Which times to keep so that no curve loses its shape nor its extremes.

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
    curves = list(curves)
    ends = _extremes(curves, len(time), limit)
    return np.union1d(_by_bend(time, curves, limit - len(ends)), ends)


def _by_bend(time: Array, curves: list[Array], limit: int) -> Index:
    density = np.full(len(time), EVEN_SHARE / len(time))
    bend = sum((_bend(curve) for curve in curves), np.zeros(len(time)))
    density += (1.0 - EVEN_SHARE) * (bend / bend.sum() if bend.sum() > 0 else 1.0 / len(time))
    reached = np.cumsum(density) / density.sum()
    wanted = np.linspace(0.0, 1.0, limit)
    return np.unique(np.r_[0, np.searchsorted(reached, wanted[1:-1]), len(time) - 1])


def _extremes(curves: list[Array], count: int, limit: int) -> Index:
    """Where each curve is lowest and highest in each of a number of stretches; at most a share."""
    stretches = int(EXTREME_SHARE * limit / (2 * max(len(curves), 1)))
    length = count // max(stretches, 1)
    if stretches < 1 or length < 2:
        return np.zeros(0, np.intp)
    found = []
    first = np.arange(stretches) * length
    for curve in curves:
        parts = curve[: stretches * length].reshape(stretches, length)
        known = np.isfinite(parts)
        some = known.any(axis=1)
        for empty, pick in ((np.inf, np.argmin), (-np.inf, np.argmax)):
            at = pick(np.where(known, parts, empty), axis=1)
            found.append((first + at)[some])
    return np.unique(np.concatenate(found))


def _bend(curve: Array) -> Array:
    """Square root of the second difference, in parts of the curve's range; 0 across NaN."""
    span = np.ptp(curve[np.isfinite(curve)]) if np.isfinite(curve).any() else 0.0
    second = np.zeros(len(curve))
    if span > 0:
        second[1:-1] = np.sqrt(np.abs(np.diff(curve, 2)) / span)
    return np.nan_to_num(second)
