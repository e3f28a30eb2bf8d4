"""How good probabilities have been on cases whose answer is known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array, Index


def log_score(probability: Array, truth: Index) -> Array:
    """ln of the probability that the true cause was given; 0 is perfect.

    Args:
        probability: Shape (n, C).
        truth: Index of the true cause, shape (n,).

    Returns:
        Shape (n,), nats.

    Source: Gneiting and Raftery, J. Am. Stat. Assoc. 102 (2007) 359-378, section 3.
    """
    return np.log(probability[np.arange(truth.size), truth])


def brier_score(probability: Array, truth: Index) -> Array:
    """Sum over the causes of the squared error of probability; 0 is perfect, 2 the worst.

    Args:
        probability: Shape (n, C).
        truth: Shape (n,).

    Returns:
        Shape (n,).

    Source: Brier, Mon. Weather Rev. 78 (1950) 1-3, eq. 2.
    """
    return np.sum((probability - np.eye(probability.shape[1])[truth]) ** 2, axis=1)


@dataclass(frozen=True)
class Reliability:
    """A reliability diagram: how often things given a probability came true.

    Attributes:
        edges: Of the bins of probability, shape (b + 1,).
        stated: Mean probability in each bin, NaN where empty, shape (b,).
        happened: Share that was true, NaN where empty, shape (b,).
        count: Statements in each bin, shape (b,).
    """

    edges: Array
    stated: Array
    happened: Array
    count: Index


# Bins of the reliability diagram: fine at both ends, where a wrong number costs most. Analyst's
# choice.
EDGES = (0.0, 0.01, 0.03, 0.1, 0.3, 0.5, 0.7, 0.9, 0.97, 1.0)


def reliability(probability: Array, truth: Index, edges: tuple[float, ...] = EDGES) -> Reliability:
    """Stated probability against frequency, every cause of every case being one statement.

    Args:
        probability: Shape (n, C).
        truth: Shape (n,).
        edges: Bins of probability.

    Returns:
        The diagram.

    Source: Brocker and Smith, Weather and Forecasting 22 (2007) 651-661.
    """
    flat = probability.ravel()
    true = np.eye(probability.shape[1])[truth].ravel()
    # A certainty of 1 belongs to the last bin, not to one beyond it.
    place = np.clip(np.searchsorted(edges, flat, side="right") - 1, 0, len(edges) - 2)
    count = np.bincount(place, minlength=len(edges) - 1)

    def mean(values: Array) -> Array:
        total = np.bincount(place, weights=values, minlength=len(edges) - 1)
        return np.where(count > 0, total / np.maximum(count, 1), np.nan)

    return Reliability(np.asarray(edges), mean(flat), mean(true), count)


def credible_set_cover(probability: Array, truth: Index, level: float = 0.9) -> Array:
    """Chance that the credible set of causes holds the truth.

    The set takes causes from the most probable down; the one that would carry it beyond the level
    is taken with the chance that makes the set's probability exactly the level. So honest
    probabilities give the level itself, not more.

    Args:
        probability: Shape (n, C).
        truth: Shape (n,).
        level: Probability of the set.

    Returns:
        Shape (n,), 0 to 1; the mean is the coverage.
    """
    order = np.argsort(-probability, axis=1, kind="stable")
    sorted_ = np.take_along_axis(probability, order, axis=1)
    # The cause at which the level is reached counts by the share of it that is needed: the set has
    # the level exactly, on average.
    before = np.cumsum(sorted_, axis=1) - sorted_
    taken = np.clip((level - before) / np.maximum(sorted_, 1e-300), 0.0, 1.0)
    place = np.argmax(order == truth[:, None], axis=1)
    return taken[np.arange(truth.size), place]


def interval_cover(draws: Array, truth: float, level: float = 0.9) -> bool:
    """Whether a central interval of draws holds a true value.

    Args:
        draws: Shape (n,).
        truth: In the same unit.
        level: Probability of the interval.

    Returns:
        True inside.
    """
    low, high = np.quantile(draws, (0.5 * (1.0 - level), 0.5 * (1.0 + level)))
    return bool(low <= truth <= high)
