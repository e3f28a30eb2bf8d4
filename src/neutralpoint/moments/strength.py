"""Column force against what rules and people allow."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array
from neutralpoint.vocabulary.strength import STRENGTH_LIMITS, ForceLimit


@dataclass(frozen=True)
class TimeAbove:
    """How long the needed force was above a limit.

    Attributes:
        limit: The limit.
        median: s.
        low: 5% quantile, s.
        high: 95% quantile, s.
        probability: That it was above at any time.
    """

    limit: ForceLimit
    median: float
    low: float
    high: float
    probability: float


def times_above(force: Array, step: float) -> list[TimeAbove]:
    """Time that the size of the needed force spent above each limit.

    Args:
        force: Pull, N, shape (S, m).
        step: Grid step, s.

    Returns:
        One row a limit, with the 90% band over the sample paths.
    """
    rows = []
    for limit in STRENGTH_LIMITS:
        above = np.abs(force) > limit.force
        duration = above.sum(axis=1) * step
        low, median, high = np.quantile(duration, (0.05, 0.5, 0.95))
        rows.append(
            TimeAbove(
                limit, float(median), float(low), float(high), float(above.any(axis=1).mean())
            )
        )
    return rows
