"""Bands of sample paths: the median with the central 50% and 90%."""

from __future__ import annotations

import numpy as np

from neutralpoint.numerics.arrays import Array

# Ends of the central 90 and 50 %, and the median.
LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)
PIECE = 2048  # times sorted at once
COMPARED = 1000  # times at which a path is laid beside the others


def bands(samples: Array, *, circular: bool = False) -> Array:
    """Quantiles of sample paths at each time.

    Args:
        samples: Sample paths, shape (S, m).
        circular: True for an angle in rad: the paths are first made continuous in time and laid
            beside the first one, so that no band crosses the jump at a full turn.

    Returns:
        5%, 25%, 50%, 75% and 95% quantiles, shape (5, m).
    """
    return _quantiles(_unrolled(samples) if circular else samples)


def _quantiles(values: Array) -> Array:
    """Quantiles over the first axis, as `numpy.quantile` gives them; NaN where any sample is NaN.

    Long tracks come in pieces whose samples lie side by side: sorting those is some twenty times
    as fast as partitioning the whole.
    """
    count, length = values.shape
    at = np.array(LEVELS) * (count - 1)
    below = at.astype(int)
    above, share = np.minimum(below + 1, count - 1), (at - below)[:, None]
    found = np.empty((len(LEVELS), length))
    for first in range(0, length, PIECE):
        piece = np.ascontiguousarray(values[:, first : first + PIECE].T)
        piece.sort(axis=1)
        ordered = piece.T.astype(float, copy=False)
        between = ordered[below] * (1.0 - share) + ordered[above] * share
        found[:, first : first + PIECE] = np.where(np.isnan(ordered[-1]), np.nan, between)
    return found


def _unrolled(samples: Array) -> Array:
    turn = 2.0 * np.pi
    jumps = samples.shape[1] > 1 and np.abs(np.diff(samples, axis=1)).max() > np.pi
    continuous = np.unwrap(samples, axis=1) if jumps else samples
    middle = np.arctan2(np.sin(samples).mean(axis=0), np.cos(samples).mean(axis=0))
    middle = np.unwrap(middle)
    some = slice(None, None, max(1, samples.shape[1] // COMPARED))
    away = np.median(continuous[:, some] - middle[some], axis=1, keepdims=True)
    return continuous - turn * np.round(away / turn)
