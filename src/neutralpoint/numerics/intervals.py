"""Bands from sample paths, and how often a truth lies in them."""

from __future__ import annotations

import numpy as np

from neutralpoint.numerics.arrays import Array


def quantiles(samples: Array, levels: tuple[float, ...]) -> Array:
    """Quantiles over the first axis, by linear interpolation between order statistics.

    Args:
        samples: Sample paths, shape (S, ...).
        levels: Probabilities between 0 and 1, L of them.

    Returns:
        Shape (L, ...).
    """
    count = samples.shape[0]
    position = np.asarray(levels) * (count - 1)
    low = np.floor(position).astype(int)
    high = np.minimum(low + 1, count - 1)
    ordered = np.partition(samples, np.unique(np.r_[low, high]), axis=0)
    fraction = (position - low).reshape((-1,) + (1,) * (samples.ndim - 1))
    return ordered[low] * (1.0 - fraction) + ordered[high] * fraction


def band(samples: Array, probability: float) -> tuple[Array, Array]:
    """Central band that holds a share of the sample paths at each point.

    Args:
        samples: Shape (S, ...).
        probability: Share, for instance 0.9.

    Returns:
        Lower and upper edge, each of the shape of one sample.
    """
    tail = 0.5 * (1.0 - probability)
    lower, upper = quantiles(samples, (tail, 1.0 - tail))
    return lower, upper


def half_width(samples: Array, probability: float = 0.9) -> Array:
    """Half the width of the central band.

    Args:
        samples: Shape (S, ...).
        probability: Share of the samples in the band.

    Returns:
        Shape of one sample.
    """
    lower, upper = band(samples, probability)
    return 0.5 * (upper - lower)


def circular_mean(angles: Array) -> Array:
    """Mean direction over the first axis.

    Args:
        angles: rad, shape (S, ...).

    Returns:
        rad in (-pi, pi], shape of one sample.

    Source: Mardia and Jupp, Directional Statistics (2000), eq. 2.2.4.
    """
    return np.arctan2(np.sin(angles).mean(axis=0), np.cos(angles).mean(axis=0))


def unwrapped_about(angles: Array, centre: Array) -> Array:
    """Angles moved by whole turns to within half a turn of a centre.

    Args:
        angles: rad, shape (S, ...).
        centre: rad, shape of one sample.

    Returns:
        rad, shape (S, ...).
    """
    return centre + np.mod(angles - centre + np.pi, 2.0 * np.pi) - np.pi


def circular_half_width(angles: Array, probability: float = 0.9) -> Array:
    """Half the width of the central band of a direction.

    Args:
        angles: rad, shape (S, ...).
        probability: Share of the samples in the band.

    Returns:
        rad, at most pi.
    """
    return half_width(unwrapped_about(angles, circular_mean(angles)), probability)


def coverage(lower: Array, upper: Array, truth: Array) -> float:
    """Share of the points whose truth lies in the band; points with NaN do not count.

    Args:
        lower: Lower edge, shape (n,).
        upper: Upper edge, shape (n,).
        truth: Shape (n,).

    Returns:
        Share between 0 and 1; NaN without points.
    """
    known = np.isfinite(lower) & np.isfinite(upper) & np.isfinite(truth)
    if not known.any():
        return float("nan")
    inside = (truth >= lower) & (truth <= upper)
    return float(inside[known].mean())
