"""A stretch of flight as the shipped networks see it: quantities at knots, and their errors.

The same lines serve training, in JAX on a graphics card, and a case, in NumPy.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from neutralpoint.quantities import GRAVITY

KNOTS = 48  # of each window, whatever its length; analyst's
CHANNELS = (
    "lift up",
    "lift sideways",
    "along the path",
    "speed",
    "path angle",
    "energy height",
    "pull at the trim of the start",
)
SIDEWAYS = CHANNELS.index("lift sideways")
# Standard deviation of the error of each column where it is called typical, and the time over
# which it changes, s: about what smoother and track leave with a fix a second. Analyst's estimate.
TYPICAL = ((0.04, 2.0), (0.015, 3.0), (0.015, 3.0), (1.8, 60.0), (0.005, 5.0), (2.5, 10.0))
TYPICAL_LENGTH, TYPICAL_WINDOW = 35.0, 3.0  # s, of a stretch and of its data's own smoothing
BEGINS = 0.75  # share of the window within which a fault begins; analyst's
SHORTEST, LONGEST = 10.0, 120.0  # s that a window may be long
# Standard deviation of the smoothing weights: shares of the data's own smoothing window and of the
# distance of knots, and at least so many seconds; analyst's choice.
OF_WINDOW, OF_SPACING, LEAST_WIDTH = 0.4, 0.35, 0.35
# Size of each channel, so that most numbers are of order 1; analyst's choice. Speed is over that of
# the start, energy height over its kinetic part.
SIZES = (0.25, 0.25, 0.06, 0.08, 0.08, 0.08, 0.25)
# A fault that moves no channel by `TRACE` times this, whatever the data show of it, did nothing.
# Analyst's choice.
FLOORS = (0.04, 0.05, 0.015, 0.015, 0.012, 0.012, 0.05)
TRACE = 3.0

Array = Any  # of NumPy or of JAX


def knot_weights(time: Array, length: Array, window: Array, xp: Any = np) -> Array:
    """Weights that turn a series into its smooth values at the begin and at the knots.

    Args:
        time: s, shape (m,); what lies after `length` is not read.
        length: Of the stretch, s.
        window: Smoothing window of the data, s.
        xp: NumPy or jax.numpy.

    Returns:
        Shape (1 + KNOTS, m): the begin first.

    Source: local linear regression with normal weights, Fan and Gijbels, Local Polynomial
    Modelling and Its Applications (1996), eq. 3.5, from memory.
    """
    share = xp.asarray(np.concatenate([[0.0], (np.arange(KNOTS) + 0.5) / KNOTS]))
    wide = xp.maximum(xp.maximum(OF_WINDOW * window, OF_SPACING * length / KNOTS), LEAST_WIDTH)
    apart = time[None, :] - share[:, None] * length
    weight = xp.exp(-0.5 * (apart / wide) ** 2) * (time[None, :] <= length + 1e-3)
    first = (weight * apart).sum(axis=1, keepdims=True)
    second = (weight * apart**2).sum(axis=1, keepdims=True)
    weight = weight * (second - first * apart)
    return weight / weight.sum(axis=1, keepdims=True)


def channels(columns: Array, weights: Array, xp: Any = np) -> Array:
    """What is compared, at the knots.

    Args:
        columns: `course.COLUMNS`, shape (..., m, 6).
        weights: Of `knot_weights`, shape (..., 1 + KNOTS, m).
        xp: NumPy or jax.numpy.

    Returns:
        Shape (..., KNOTS, 7), in units of `SIZES`; see `features.features` for what they are.
    """
    load, along, bank, speed, path, height = (columns[..., i] for i in range(6))
    first = (weights[..., 0, :] * speed).sum(axis=-1)[..., None]
    kinetic = first**2 / (2.0 * GRAVITY)
    series = xp.stack(
        [
            load * xp.cos(bank),
            load * xp.sin(bank),
            along,
            speed / first - 1.0,
            path,
            (height + speed**2 / (2.0 * GRAVITY)) / kinetic,
            load - (speed / first) ** 2,
        ],
        axis=-1,
    )
    # The height of the start is large against its changes: take it off before single precision.
    series = series - series[..., :1, :] * xp.asarray((0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 0.0))
    smooth = weights @ series
    moved = xp.asarray((0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 0.0))
    return (smooth[..., 1:, :] - moved * smooth[..., :1, :]) / xp.asarray(SIZES)


def channel_errors(sigma: Array, speed: Array, xp: Any = np) -> Array:
    """Standard deviation of each channel from that of the columns, near straight flight.

    Args:
        sigma: Of `course.COLUMNS`, shape (..., KNOTS, 6).
        speed: Of the start, m/s, shape (...).

    Returns:
        Shape (..., KNOTS, 7), in units of `SIZES`.

    Source: propagation of small independent errors through `channels`.
    """
    load, along, bank, fast, path, height = (sigma[..., i] for i in range(6))
    first = speed[..., None]
    kinetic = first**2 / (2.0 * GRAVITY)
    energy = xp.sqrt(height**2 + (first * fast / GRAVITY) ** 2) / kinetic
    pull = xp.sqrt(load**2 + (2.0 * fast / first) ** 2)
    found = [load, bank, along, fast / first, path, energy, pull]
    return xp.stack(found, axis=-1) / xp.asarray(SIZES)


def compressed(values: Array, xp: Any = np) -> Array:
    """Far-out values grow like their logarithm, so that none rules alone.

    Args:
        values: Any shape.
        xp: NumPy or jax.numpy.

    Returns:
        The same shape.
    """
    return xp.sign(values) * xp.log1p(xp.abs(values))


def known_how_well(sigma: Array, xp: Any = np) -> Array:
    """Logarithm of the error of the columns over the typical one.

    Args:
        sigma: Of `course.COLUMNS`, shape (..., 6).
        xp: NumPy or jax.numpy.

    Returns:
        The same shape.
    """
    return xp.log(sigma / xp.asarray([size for size, _ in TYPICAL]) + 1e-3)


def of_the_data(length: Array, window: Array, memory: Array, xp: Any = np) -> Array:
    """What is told of the window and its data beside the series.

    Args:
        length: s.
        window: Smoothing window of the data, s.
        memory: Time over which the error of each column changes, s, shape (..., 6).
        xp: NumPy or jax.numpy.

    Returns:
        Shape (..., 8).
    """
    times = xp.log(memory / xp.asarray([time for _, time in TYPICAL]))
    own = xp.stack([xp.log(length / TYPICAL_LENGTH), xp.log(window / TYPICAL_WINDOW)], axis=-1)
    return xp.concatenate([own, times], axis=-1)
