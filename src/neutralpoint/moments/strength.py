"""Column force against what rules and people allow."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neutralpoint.quantities import POUND_FORCE

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ForceLimit:
    """A column force with where it comes from.

    Attributes:
        name: What it is.
        force: N.
        source: Document.
    """

    name: str
    force: float
    source: str


# Wheel control, pitch. The rule values are what may be asked of a pilot, not what a pilot can do.
PROLONGED = ForceLimit("prolonged", 10.0 * POUND_FORCE, "14 CFR 25.143, long term; 23.143(c)")
ONE_HAND = ForceLimit("short term, one hand", 50.0 * POUND_FORCE, "14 CFR 23.143(c), 25.143(d)")
TWO_HANDS = ForceLimit("short term, two hands", 75.0 * POUND_FORCE, "14 CFR 23.143(c), 25.143(d)")
AVERAGE = ForceLimit(
    "average measured, controls neutral",
    95.0 * POUND_FORCE,
    "NACA Rep. 550 (1936), Gough and Beard",
)
LARGEST = ForceLimit(
    "largest measured", 200.0 * POUND_FORCE, "NACA Rep. 550 (1936), Gough and Beard"
)
LIMITS = (PROLONGED, ONE_HAND, TWO_HANDS, AVERAGE, LARGEST)


@dataclass(frozen=True)
class TimeAbove:
    """How long the needed force was above a limit.

    Attributes:
        limit: The limit.
        median: s.
        low: 5 % quantile, s.
        high: 95 % quantile, s.
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
        One row a limit, with the 90 % band over the sample paths.
    """
    rows = []
    for limit in LIMITS:
        above = np.abs(force) > limit.force
        duration = above.sum(axis=1) * step
        low, median, high = np.quantile(duration, (0.05, 0.5, 0.95))
        rows.append(
            TimeAbove(
                limit, float(median), float(low), float(high), float(above.any(axis=1).mean())
            )
        )
    return rows
