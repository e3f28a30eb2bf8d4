"""Whether a measure changed from some flight on: probability of a change, and when it was."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln, logsumexp
from scipy.stats import t as student

from neutralpoint.numerics.arrays import Array

LEAST = 4  # flights on either side of a change; analyst's
EVER = 0.5  # chance that any of the measures changed at all, shared among them; analyst's
UNIT = 1.0  # flights that the prior of a mean counts for: a unit-information prior


@dataclass(frozen=True)
class FoundChange:
    """A change of one measure along the flights.

    Attributes:
        probability: That the mean changed once, against that it did not.
        at: Number of the first flight after it, the most probable.
        low: 5% of that number, given a change.
        high: 95%.
        by: Mean after less mean before, at the most probable place.
    """

    probability: float
    at: int
    low: int
    high: int
    by: float


def find_change(values: Array, prior: float) -> FoundChange | None:
    """Look for one change of the mean in a series.

    Args:
        values: In order of time, all finite, shape (n,).
        prior: Chance of a change before the values are looked at.

    Returns:
        The change; None where there are too few values.

    Source: Bayesian inference about a change point, Smith, Biometrika 62 (1975) 407-416, with a
        conjugate normal-gamma prior: unknown common variance, means of a unit-information prior
        (Kass and Wasserman, J. Am. Stat. Assoc. 90 (1995) 928-934), every place as likely.
    """
    count = values.size
    if count < 2 * LEAST + 1 or np.ptp(values) <= 0.0:
        return None
    x = (values - np.median(values)) / values.std()
    sums, squares = np.cumsum(x), float(np.sum(x**2))
    places = np.arange(LEAST, count - LEAST + 1)
    one = _log_evidence([(sums[-1], count)], squares, count)
    before, after = sums[places - 1], sums[-1] - sums[places - 1]
    two = np.array(
        [
            _log_evidence([(float(a), int(k)), (float(b), count - int(k))], squares, count)
            for a, b, k in zip(before, after, places, strict=True)  # over places of one series
        ]
    )
    changed = logsumexp(two) - np.log(places.size)
    odds = changed - one + np.log(prior) - np.log1p(-prior)
    weight = np.exp(two - logsumexp(two))
    level = np.cumsum(weight)
    at = int(places[np.argmax(two)])
    return FoundChange(
        probability=float(1.0 / (1.0 + np.exp(-np.clip(odds, -700, 700)))),
        at=at,
        low=int(places[np.searchsorted(level, 0.05)]),
        high=int(places[min(np.searchsorted(level, 0.95), places.size - 1)]),
        by=float(values[at:].mean() - values[:at].mean()),
    )


def _log_evidence(groups: list[tuple[float, int]], squares: float, count: int) -> float:
    """ln evidence up to one constant: means integrated out, then the variance (1 / variance)."""
    left, shrink = squares, 0.0
    for total, number in groups:
        left -= total**2 / (number + UNIT)
        shrink += 0.5 * np.log(UNIT / (number + UNIT))
    return float(shrink + gammaln(0.5 * count) - 0.5 * count * np.log(max(left, 1e-12)))


def difference(before: Array, after: Array) -> tuple[float, float, float] | None:
    """Mean after a date less mean before it.

    Args:
        before: Values of the flights before, finite, shape (n,).
        after: Shape (m,).

    Returns:
        Difference, its 95% half-width, and the chance of one as large without a change; None where
        either side has too few flights.

    Source: Welch, Biometrika 34 (1947) 28-35, degrees of freedom by Satterthwaite.
    """
    if min(before.size, after.size) < LEAST:
        return None
    parts = np.array([before.var(ddof=1) / before.size, after.var(ddof=1) / after.size])
    error = float(np.sqrt(parts.sum()))
    by = float(after.mean() - before.mean())
    if error == 0.0:
        return by, 0.0, 1.0 if by == 0.0 else 0.0
    free = parts.sum() ** 2 / np.sum(parts**2 / (np.array([before.size, after.size]) - 1.0))
    half = float(student.ppf(0.975, free)) * error
    return by, half, float(2.0 * student.sf(abs(by) / error, free))
