"""Where a missing part lies: a map of probability from where it would have landed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array

CELLS = 60  # along each side of the map
MARGIN = 4.0  # kernel widths beyond the outermost landing


@dataclass(frozen=True)
class Region:
    """A grid of probability.

    Attributes:
        north: Centers of the rows, m, shape (k,).
        east: Centers of the columns, m, shape (l,).
        probability: Of each cell, sums to 1, shape (k, l).
    """

    north: Array
    east: Array
    probability: Array

    def level(self, share: float) -> float:
        """Probability of the least likely cell of the smallest region that holds a share.

        Args:
            share: Such as 0.9.

        Returns:
            Probability of a cell.
        """
        ordered = np.sort(self.probability.ravel())[::-1]
        at = int(np.searchsorted(np.cumsum(ordered), share))
        return float(ordered[min(at, ordered.size - 1)])

    def area(self, share: float) -> float:
        """Area of that region, m2.

        Args:
            share: Such as 0.9.

        Returns:
            m2.
        """
        cell = (self.north[1] - self.north[0]) * (self.east[1] - self.east[0])
        return float(cell * (self.probability >= self.level(share)).sum())


def likely_region(north: Array, east: Array, weight: Array, least: float) -> Region:
    """A map from weighted landings.

    Args:
        north: m, shape (n,).
        east: m, shape (n,).
        weight: Sums to 1, shape (n,).
        least: Least width of the kernel, m.

    Returns:
        The map.

    Source: kernel density, width by Scott, Multivariate Density Estimation (1992), eq. 6.42, with
    the effective number of landings.
    """
    effective = 1.0 / np.sum(weight**2)
    widths, edges = [], []
    for values in (north, east):
        middle = weight @ values
        spread = np.sqrt(weight @ (values - middle) ** 2)
        width = max(least, spread * effective ** (-1.0 / 6.0))
        widths.append(width)
        held = values[weight > 1e-6 * weight.max()]
        low, high = held.min() - MARGIN * width, held.max() + MARGIN * width
        edges.append(np.linspace(low, high, CELLS))
    rows, columns = (
        np.exp(-0.5 * ((edge[:, None] - values) / width) ** 2)
        for edge, values, width in zip(edges, (north, east), widths, strict=True)
    )
    found = (rows * weight) @ columns.T
    return Region(edges[0], edges[1], found / found.sum())
