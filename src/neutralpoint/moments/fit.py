"""The history of a set, with hands within limits, that comes closest to a needed one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.moments.needed import Needed
from neutralpoint.numerics.arrays import Array, Flags, Index

SWEEPS = 60  # of the accelerated projected gradient over the whole set
FINE = 150  # over the closest few, on each stratum
KEPT = 30  # histories that are worked out finely


@dataclass(frozen=True)
class Fits:
    """The closest history on each stratum of the derivatives.

    Attributes:
        which: Index in the set, shape (b,).
        squares: Squared distance in standard deviations, shape (b,).
        off: What is left over, shape (b, k).
        bound: True where the hands are at a limit; elsewhere they meet any need, shape (b, k).
        every: Squared distance of every history of the set with the total spread, roughly, (c,).
    """

    which: Index
    squares: Array
    off: Array
    bound: Flags
    every: Array


def distances(
    target: Array, weight: Array, low: Array, high: Array, sweeps: int
) -> tuple[Array, Array]:
    """Closest point of a box to each target.

    Args:
        target: Shape (c, k).
        weight: Inverse covariance, shape (k, k).
        low: Least of the box, shape (c, k).
        high: Most of it, shape (c, k).
        sweeps: Rounds.

    Returns:
        The points, shape (c, k), and their squared distances, shape (c,).

    Source: accelerated projected gradient, Beck and Teboulle, SIAM J. Imaging Sciences 2 (2009)
    183-202.
    """
    pace = 1.0 / float(np.linalg.eigvalsh(weight)[-1])
    added = np.clip(target, low, high)
    ahead, momentum = added, 1.0
    for _ in range(sweeps if np.any(high > low) else 0):
        step = np.clip(ahead + pace * (target - ahead) @ weight, low, high)
        following = 0.5 * (1.0 + np.sqrt(1.0 + 4.0 * momentum**2))
        ahead = step + (momentum - 1.0) / following * (step - added)
        added, momentum = step, following
    off = target - added
    return added, np.einsum("ci,ij,cj->c", off, weight, off)


def closest(needed: Needed, made: Array, low: Array, high: Array) -> Fits:
    """Closest histories of the form made + hands.

    Args:
        needed: The need.
        made: Histories of the cause itself, as moment coefficients, shape (c, k).
        low: Least that the hands can add to each, shape (c, k).
        high: Most, shape (c, k).

    Returns:
        The closest one on each stratum.
    """
    _, every = distances(needed.mean - made, np.linalg.inv(needed.total), low, high, SWEEPS)
    few = np.argsort(every)[:KEPT]
    strata, size = needed.means.shape
    target = (needed.means[:, None, :] - made[few]).reshape(-1, size)
    low, high = (np.tile(limit[few], (strata, 1)) for limit in (low, high))
    added, squares = distances(target, np.linalg.inv(needed.covariance), low, high, FINE)
    squares = squares.reshape(strata, -1)
    best = squares.argmin(axis=1)
    flat = np.arange(strata) * few.size + best
    bound = (added[flat] <= low[flat]) | (added[flat] >= high[flat])
    return Fits(few[best], squares.min(axis=1), (target - added)[flat], bound, every)
