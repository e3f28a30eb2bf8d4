"""Whether and when sample paths pass a limit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.vocabulary.limit import LimitName

LEVELS = (0.05, 0.5, 0.95)  # ends and middle of a 90% band
# Chance of having passed a strength that is never to be passed, from which on the path of an
# undamaged airplane is no longer trusted. Analyst's choice.
DISTRUST = 0.05


@dataclass(frozen=True)
class Margin:
    """A quantity against one limit.

    Attributes:
        name: Of the limit.
        limit: Its value, SI; `above` says on which side it is passed.
        paths: Sample paths of the quantity, shape (S, m).
        above: True where values above the limit pass it.
    """

    name: LimitName
    limit: float
    paths: Array
    above: bool = True

    @property
    def passed(self) -> Flags:
        """True where a path is beyond the limit, shape (S, m)."""
        return self.paths > self.limit if self.above else self.paths < self.limit


@dataclass(frozen=True)
class Passing:
    """What the paths say of one limit; bands are 5, 50 and 95%.

    Attributes:
        name: Of the limit.
        limit: SI.
        probability: Share of the paths that were beyond it at any time.
        by: Chance of having passed it by each time, shape (m,).
        first: When it was first passed, s, over the paths that did; None without any.
        duration: How long each of these was beyond it in all, s; None without any.
        extreme: The furthest value of each path on the side of the limit, SI, over all paths.
    """

    name: LimitName
    limit: float
    probability: float
    by: Array
    first: tuple[float, float, float] | None
    duration: tuple[float, float, float] | None
    extreme: tuple[float, float, float]


def _band(values: Array) -> tuple[float, float, float]:
    low, middle, high = np.quantile(values, LEVELS)
    return float(low), float(middle), float(high)


def passing(margin: Margin, time: Array, step: float) -> Passing:
    """When and for how long the paths were beyond a limit.

    Args:
        margin: The quantity and its limit.
        time: Times of a uniform grid that are looked at, s, shape (m,).
        step: Of that grid, s.

    Returns:
        What they say of it.

    Checked against: tests/against/test_limits_passed.py, where the answer is known in closed form.
    """
    passed = margin.passed
    ever = passed.any(axis=1)
    first = duration = None
    if ever.any():
        first = _band(time[passed[ever].argmax(axis=1)])
        duration = _band(step * passed[ever].sum(axis=1))
    ends = margin.paths.max(axis=1) if margin.above else margin.paths.min(axis=1)
    return Passing(
        name=margin.name,
        limit=margin.limit,
        probability=float(ever.mean()),
        by=np.maximum.accumulate(passed, axis=1).mean(axis=0),
        first=first,
        duration=duration,
        extreme=_band(ends),
    )


def passed_together(margins: list[Margin]) -> list[tuple[LimitName, LimitName, float]]:
    """Pairs of limits that the same path was beyond at the same moment.

    Args:
        margins: On one grid and with the same sample paths.

    Returns:
        Both names and the share of the paths, for pairs that any path passed together.
    """
    found = []
    for at, one in enumerate(margins):
        for other in margins[at + 1 :]:
            share = float((one.passed & other.passed).any(axis=1).mean())
            if share > 0.0:
                found.append((one.name, other.name, share))
    return found


def passed_any(margins: list[Margin]) -> float:
    """Share of the paths that were beyond at least one of several limits.

    Args:
        margins: On one grid and with the same sample paths.

    Returns:
        Probability; 0 without a limit.
    """
    if not margins:
        return 0.0
    return float(np.any([margin.passed.any(axis=1) for margin in margins], axis=0).mean())


def trusted_until(margins: list[Margin], time: Array) -> float | None:
    """Until when the path of a whole airplane may be believed.

    Args:
        margins: Against strengths that are never to be passed.
        time: s, shape (m,).

    Returns:
        First time at which the chance of having passed one of them reaches `DISTRUST`, s; None
        where it never does.
    """
    if not margins:
        return None
    beyond = np.any([margin.passed for margin in margins], axis=0)
    by = np.maximum.accumulate(beyond, axis=1).mean(axis=0)
    at = np.flatnonzero(by >= DISTRUST)
    return float(time[at[0]]) if at.size else None
