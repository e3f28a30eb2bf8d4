"""Flights and airplanes that stand out of their own family, ranked, each with its reason.

Standing out is no finding of a fault: weather, loading, a route or a receiver do it too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.history.compare import RATE, among_own, kept_by_rate, scaled, tail_chance
from neutralpoint.history.fleet import Fleet
from neutralpoint.numerics.arrays import Array, Flags, Index
from neutralpoint.vocabulary.measure import MEASURES

# Compared between airplanes are means over flights; these say of the flight more than of the
# airplane, and are left out there. Analyst's.
OF_THE_FLIGHT = frozenset({"trimmed_longest", "trimmed_share", "end_rate", "end_speed_change"})


@dataclass(frozen=True)
class Outlying:
    """What stands out.

    Attributes:
        flight: Number of the flight, or of the first one of the airplane.
        measures: Names of the measures that do, the farthest first.
        chances: That an ordinary one lies as far out, of each.
        out: How far out, in standard deviations, with sign, of each.
    """

    flight: int
    measures: tuple[str, ...]
    chances: tuple[float, ...]
    out: tuple[float, ...]


@dataclass(frozen=True)
class Screened:
    """A fleet, screened.

    Attributes:
        flights: Against the other flights of the same airplane, the farthest first.
        tails: Against the other airplanes of the type.
        tested: How many comparisons were made, of flights and of airplanes.
        rate: Expected share of false ones among those named.
    """

    flights: tuple[Outlying, ...]
    tails: tuple[Outlying, ...]
    tested: tuple[int, int]
    rate: float


def screen(fleet: Fleet, rate: float = RATE) -> Screened:
    """Look for flights and airplanes that stand out.

    Args:
        fleet: All flights.
        rate: Expected share of false ones among those named.

    Returns:
        What stands out, by Benjamini and Hochberg over all measures and flights, or airplanes.
    """
    names = list(MEASURES)
    _, first, tail = np.unique(fleet.address, return_index=True, return_inverse=True)
    kinds, kind = np.unique(fleet.kind[first], return_inverse=True)
    own, own_out, between, tail_out = [], [], [], []
    for name in names:  # over measures
        values, errors = fleet.values[name]
        on_scale = scaled(name, values, values)
        if MEASURES[name].positive:
            errors = errors / np.maximum(np.abs(values), 1e-9)
        out, free = among_own(on_scale, errors, tail, first.size)
        own.append(tail_chance(out, free))
        own_out.append(out)
        means = _means(on_scale, tail, first.size)
        if name in OF_THE_FLIGHT:
            means = np.full(first.size, np.nan)
        out, free = among_own(means, np.zeros(first.size), kind, kinds.size)
        between.append(tail_chance(out, free))
        tail_out.append(out)
    flights = _named(np.stack(own), np.stack(own_out), names, np.arange(fleet.count), rate)
    tails = _named(np.stack(between), np.stack(tail_out), names, first, rate)
    tested = (int(np.isfinite(np.stack(own)).sum()), int(np.isfinite(np.stack(between)).sum()))
    return Screened(flights, tails, tested, rate)


def _means(values: Array, group: Index, groups: int) -> Array:
    good = np.isfinite(values)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.bincount(group, np.where(good, values, 0.0), groups) / np.bincount(
            group, good, groups
        )


def _named(
    chance: Array, out: Array, names: list[str], numbers: Index, rate: float
) -> tuple[Outlying, ...]:
    kept: Flags = kept_by_rate(chance, rate)
    least = np.where(kept, chance, np.inf).min(axis=0)
    found = []
    for at in np.argsort(least, kind="stable"):  # over those that stand out
        if not np.isfinite(least[at]):
            break
        order = [k for k in np.argsort(chance[:, at]) if kept[k, at]]
        found.append(
            Outlying(
                int(numbers[at]),
                tuple(names[k] for k in order),
                tuple(float(chance[k, at]) for k in order),
                tuple(float(out[k, at]) for k in order),
            )
        )
    return tuple(found)
