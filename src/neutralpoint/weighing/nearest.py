"""Simulated flights beside the one seen: which come close, where even the best fails, and twins."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array
from neutralpoint.weighing.features import NAMES

LEAST_FLIGHTS = 20.0  # effective number of flights that a predictive band rests on; analyst's


@dataclass(frozen=True)
class Near:
    """The flights of one cause by their distance from the one seen.

    Attributes:
        weight: Of each simulated flight, sums to 1, shape (n,).
        best: Index of the nearest flight.
        distance: Of that flight, root mean square in standard deviations.
        miss_name: Quantity of the largest residual of the nearest flight.
        miss_index: Index of the knot where it is.
        miss: By how many standard deviations of the data and of turbulence.
    """

    weight: Array
    best: int
    distance: float
    miss_name: str
    miss_index: int
    miss: float


@dataclass(frozen=True)
class Scale:
    """What counts as close: the spread that the data's error and stirred air leave.

    Attributes:
        sigma: Standard deviation of each feature, shape (f,).
    """

    sigma: Array


def closeness(errors: Array, ordinary: Array) -> Scale:
    """Scale of distances.

    Args:
        errors: Error draws of the observed features, shape (S, f).
        ordinary: Features of flights on which nothing failed, shape (n, f).

    Returns:
        The scale.
    """
    centred = ordinary - np.median(ordinary, axis=0)
    robust = 1.4826 * np.median(np.abs(centred), axis=0)  # of a normal, by definition
    sigma = np.sqrt(errors.var(axis=0) + robust**2) + 1e-9
    return Scale(sigma)


def kernel(distance: Array, least: float = LEAST_FLIGHTS) -> tuple[Array, float]:
    """Normal kernel in the distance, as narrow as an effective number of flights allows.

    Args:
        distance: Of each flight, infinite for one that was lost, shape (n,).
        least: Effective number of flights, at most half of those that are there.

    Returns:
        Weights, sum 1, shape (n,), and the width of the kernel.
    """
    there = np.isfinite(distance)
    # Never more than half of the flights there are: else no width would do.
    least = min(least, max(0.5 * np.sum(there), 1.0))
    nearest = distance[there].min() if there.any() else 0.0
    square = np.where(there, distance, np.inf) ** 2 - nearest**2

    def weights(width: float) -> Array:
        raw = np.exp(-0.5 * square / width**2)
        return raw / raw.sum()

    # Halved in the logarithm, 60 times: from any scale to rounding.
    low, high = 1e-3, 1e3
    for _ in range(60):
        middle = np.sqrt(low * high)
        if 1.0 / np.sum(weights(middle) ** 2) < least:
            low = middle
        else:
            high = middle
    return weights(high), float(high)


def near(simulated: Array, observed: Array, scale: Scale) -> Near:
    """Compare the flights of one cause with the one seen.

    Args:
        simulated: Features, without the data's error, shape (n, f).
        observed: Shape (f,).
        scale: What counts as close.

    Returns:
        Distances and weights.

    Source: kernel weights of approximate Bayesian computation, Beaumont, Zhang and Balding,
    Genetics 162 (2002) 2025-2035, with a normal kernel.
    """
    residual = (simulated - observed) / scale.sigma
    distance = np.sqrt(np.mean(residual**2, axis=1))
    best = int(np.argmin(distance))
    worst = int(np.argmax(np.abs(residual[best])))
    knots = residual.shape[1] // len(NAMES)
    return Near(
        kernel(distance)[0],
        best,
        float(distance[best]),
        NAMES[worst // knots],
        worst % knots,
        float(residual[best, worst]),
    )


def band(values: Array, weight: Array, levels: tuple[float, ...] = (0.05, 0.5, 0.95)) -> Array:
    """Weighted quantiles over the flights.

    Args:
        values: Shape (n, m).
        weight: Shape (n,), sums to 1.
        levels: Which.

    Returns:
        Shape (levels, m).
    """
    order = np.argsort(values, axis=0)
    ranked = np.take_along_axis(values, order, axis=0)
    below = np.cumsum(weight[order], axis=0)
    rows = [
        np.take_along_axis(ranked, np.argmax(below >= level, axis=0)[None], axis=0)[0]
        for level in levels
    ]
    return np.array(rows)
