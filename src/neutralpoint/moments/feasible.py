"""Whether a needed history can lie in the set that a cause can reach, given its joint band."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import f as f_distribution

Array = NDArray[np.float64]

SWEEPS = 300  # of the accelerated projected gradient; the misfit is then stable to 1e-3
RIDGE = 1e-3  # of the mean variance, on the diagonal


@dataclass(frozen=True)
class Needed:
    """A needed history at a few times, with its joint uncertainty.

    Attributes:
        time: s, shape (k,).
        mean: Shape (k,).
        covariance: Shape (k, k).
        samples: Number of sample paths behind the covariance.
    """

    time: Array
    mean: Array
    covariance: Array
    samples: int


def needed_history(
    time: Array, paths: Array, knots: Array, unmodelled: Array | None = None
) -> Needed:
    """Mean and covariance of sample paths at knots.

    Args:
        time: s, shape (m,).
        paths: Sample paths, shape (S, m); columns with NaN are left out.
        knots: Times wanted, s, shape (k,).
        unmodelled: Covariance added for what the model leaves out, shape (k, k).

    Returns:
        The history; knots at which any path is NaN are gone.
    """
    index = np.clip(np.searchsorted(time, knots), 0, time.size - 1)
    values = paths[:, index]
    known = np.isfinite(values).all(axis=0)
    values = values[:, known]
    covariance = np.atleast_2d(np.cov(values.T))
    if unmodelled is not None:
        covariance = covariance + unmodelled[np.ix_(known, known)]
    ridge = RIDGE * float(np.trace(covariance)) / max(covariance.shape[0], 1) + 1e-18
    covariance = covariance + ridge * np.eye(covariance.shape[0])
    return Needed(knots[known], values.mean(axis=0), covariance, paths.shape[0])


@dataclass(frozen=True)
class Miss:
    """How close a set of histories comes to the needed one.

    Attributes:
        square: Smallest squared distance in standard deviations.
        probability: How often a flight really made by the best member would look at least this
            far off; small means that the whole set misses.
        member: Index of the best member.
        history: The best history, shape (k,).
        added: What the hands add to it, shape (k,).
        worst_time: Time of the largest remaining misfit, s.
        worst: That misfit in standard deviations of its own time.
    """

    square: float
    probability: float
    member: int
    history: Array
    added: Array
    worst_time: float
    worst: float


def tail_probability(square: Array, freedom: Array, samples: int) -> Array:
    """Probability of a squared distance at least this large under the best member.

    Args:
        square: Squared Mahalanobis distance with an estimated covariance, any shape.
        freedom: Number of times at which the hands are at their limit, same shape. Where the hands
            are free they meet the need whatever it is, and such times can show no misfit.
        samples: Number of sample paths behind the covariance.

    Returns:
        Upper tail of Hotelling's law, 1 without freedom. No freedom is taken off for the fitted
        parameters of the member, which errs towards keeping a cause.

    Source: Anderson, An Introduction to Multivariate Statistical Analysis, 3rd ed. (2003), 5.2;
    for the distance to a convex set the freedom given the face that is met is its codimension:
    Shapiro, International Statistical Review 56 (1988) 49-62.
    """
    size = np.clip(freedom, 1, samples - 1)
    scaled = square * (samples - size) / (size * (samples - 1.0))
    found = f_distribution.sf(scaled, size, samples - size)
    return np.where((freedom > 0) & (freedom < samples), found, 1.0)


def closest(needed: Needed, members: Array, low: Array, high: Array) -> Miss:
    """Closest history of the form member + hands, the hands free within their limits at each time.

    Args:
        needed: The needed history.
        members: Histories of the cause itself, shape (c, k).
        low: Least that the hands can add, shape (k,) or (c, k).
        high: Most that the hands can add, shape (k,) or (c, k).

    Returns:
        The closest one and how far it misses.

    Source: accelerated projected gradient, Beck and Teboulle, SIAM J. Imaging Sciences 2 (2009)
    183-202.
    """
    weight = np.linalg.inv(needed.covariance)
    pace = 1.0 / float(np.linalg.eigvalsh(weight)[-1])
    target = needed.mean - members
    added = np.clip(target, low, high)
    ahead, momentum = added, 1.0
    for _ in range(SWEEPS):
        step = np.clip(ahead + pace * (target - ahead) @ weight, low, high)
        following = 0.5 * (1.0 + np.sqrt(1.0 + 4.0 * momentum**2))
        ahead = step + (momentum - 1.0) / following * (step - added)
        added, momentum = step, following
    off = target - added
    squares = np.einsum("ci,ij,cj->c", off, weight, off)
    at_limit = ((added <= low) | (added >= high)).sum(axis=1)
    chances = tail_probability(squares, at_limit, needed.samples)
    # The most likely member; among equals the one that asks least of the hands.
    effort = np.abs(added).sum(axis=1) / (np.abs(added).sum() + 1e-300)
    best = int(np.lexsort((effort, -chances))[0])
    own = off[best] / np.sqrt(np.diag(needed.covariance))
    worst = int(np.argmax(np.abs(own)))
    return Miss(
        square=float(squares[best]),
        probability=float(chances[best]),
        member=best,
        history=members[best] + added[best],
        added=added[best],
        worst_time=float(needed.time[worst]),
        worst=float(own[worst]),
    )
