"""Parameters of the data: latency, lag and age, each with its standard deviation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

from neutralpoint.numerics.arrays import Array

FINE = 200  # points laid between two values of a searched grid


@dataclass(frozen=True)
class ParameterEstimate:
    """A parameter of the data with its standard deviation.

    Attributes:
        value: Expected value.
        sigma: Standard deviation.
    """

    value: float
    sigma: float


def estimated(grid: Array, log_likelihood: Array) -> ParameterEstimate:
    """Mean and standard deviation of a parameter whose log likelihood is known on a grid.

    Args:
        grid: Increasing parameter values, shape (n,), n >= 4.
        log_likelihood: Shape (n,).

    Returns:
        Moments under a flat prior over the grid; where the data say nothing, those of the prior.
        A cubic through the points stands between them.
    """
    fine = np.interp(np.arange((grid.size - 1) * FINE + 1), np.arange(grid.size) * FINE, grid)
    density = np.gradient(fine) * np.exp(_capped(CubicSpline(grid, log_likelihood)(fine)))
    density /= density.sum()
    value = float((density * fine).sum())
    return ParameterEstimate(value, float(np.sqrt((density * (fine - value) ** 2).sum())))


def _capped(log_density: Array) -> Array:
    """Relative to the largest, so that the exponential stays finite."""
    return log_density - log_density.max()
