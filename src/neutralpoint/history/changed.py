"""Airplanes of a fleet whose flights changed from some flight on, each with its reason.

A fault that comes and stays fills half of an airplane's own flights: none of them stands out of the
others, but the series does. A change is no finding of a fault: routes, loadings and receivers
change too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.history.changes import FoundChange, find_change
from neutralpoint.history.compare import RATE, scaled
from neutralpoint.history.fleet import Fleet
from neutralpoint.history.screening import OF_THE_FLIGHT
from neutralpoint.history.shapes import LUMP
from neutralpoint.numerics.arrays import Array, Flags, Index
from neutralpoint.vocabulary.measure import MEASURES

# Chance that an airplane of a fleet changed in any measure, before it is looked at. Analyst's
# estimate.
EVER = 0.1


@dataclass(frozen=True)
class ChangedTail:
    """An airplane that changed.

    Attributes:
        flight: Number of its first flight.
        measures: Names of the measures that changed, the surest first.
        changes: Of each.
        at: Number of the first flight after each change, and 5 and 95% of it, among all flights,
            shape (k, 3).
    """

    flight: int
    measures: tuple[str, ...]
    changes: tuple[FoundChange, ...]
    at: Index


def changed_tails(fleet: Fleet, rate: float = RATE) -> tuple[ChangedTail, ...]:
    """Look for a change of every measure along the flights of every airplane.

    Args:
        fleet: All flights, in order of airplane and time.
        rate: Expected share of false ones among those named.

    Returns:
        Airplanes with a change, the surest first.

    Source: named by their probabilities, so many that the mean of what is missing to 1 stays below
        the rate (Newton et al., Biostatistics 5 (2004) 155-176, section 3, from memory).
    Checked against: tests/unit/test_history_changed.py; benchmarks/history_screen.py.
    """
    _, first, tail = np.unique(fleet.address, return_index=True, return_inverse=True)
    found = []
    for name in MEASURES:  # over measures and airplanes, a series each
        if name in OF_THE_FLIGHT:
            continue
        values = fleet.values[name][0]
        on_scale = scaled(name, values, values)
        for number in range(first.size):
            flights = np.flatnonzero((tail == number) & np.isfinite(on_scale))
            series = on_scale[flights]
            if series.size and not _is_lump(series):
                change = find_change(series, EVER / len(MEASURES))
                if change is not None:
                    found.append((number, name, change, flights))
    chances = np.array([change.probability for _, _, change, _ in found])
    named = [found[k] for k in np.flatnonzero(_kept(chances, rate))]
    named.sort(key=lambda one: -one[2].probability)
    return tuple(
        _tail(int(first[number]), [one for one in named if one[0] == number])
        for number in dict.fromkeys(one[0] for one in named)
    )


def _is_lump(series: Array) -> bool:
    """Whether most flights show one number: normal errors would make a change of any other."""
    return bool((series == np.median(series)).mean() > LUMP)


def _kept(chances: Array, rate: float) -> Flags:
    order = np.argsort(-chances, kind="stable")
    missing = np.cumsum(1.0 - chances[order]) / np.arange(1, chances.size + 1)
    kept = np.zeros(chances.size, bool)
    kept[order] = (missing <= rate) & (chances[order] > 0.5)
    return kept


def _tail(first: int, changes: list[tuple[int, str, FoundChange, Index]]) -> ChangedTail:
    return ChangedTail(
        first,
        tuple(name for _, name, _, _ in changes),
        tuple(change for _, _, change, _ in changes),
        np.array([
            [flights[min(k, flights.size - 1)] for k in (change.at, change.low, change.high)]
            for _, _, change, flights in changes
        ]),
    )  # fmt: skip
