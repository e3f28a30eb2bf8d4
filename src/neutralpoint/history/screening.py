"""Flights and airplanes that stand out of their own family, ranked, each with its reason.

Standing out is no finding of a fault: weather, loading, a route or a receiver do it too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.history.compare import FEWEST, RATE, among_own, kept_by_rate, scaled
from neutralpoint.history.fleet import Fleet
from neutralpoint.history.shapes import chances_among, chances_of_counts, events_in
from neutralpoint.history.tails import calibrated
from neutralpoint.numerics.arrays import Array, Flags, Index
from neutralpoint.vocabulary.measure import MEASURES

# Compared between airplanes are means over flights; these say of the flight more than of the
# airplane, and are left out there. Analyst's choice.
OF_THE_FLIGHT = frozenset({"trimmed_longest", "trimmed_share", "end_rate", "end_speed_change"})
COUNTED = "event_rate"  # events over time: told by their number


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
    own, between = chances_of(fleet)
    _, first = np.unique(fleet.address, return_index=True)
    flights = _named(own, np.arange(fleet.count), rate)
    tails = _named(between, first, rate)
    tested = (int(np.isfinite(own.chance).sum()), int(np.isfinite(between.chance).sum()))
    return Screened(flights, tails, tested, rate)


@dataclass(frozen=True)
class FarOut:
    """How far out each flight, or airplane, lies.

    Attributes:
        chance: That an ordinary one lies as far out, NaN where nothing is known, (measures, n).
        out: In standard deviations, with sign, (measures, n).
    """

    chance: Array
    out: Array


def chances_of(fleet: Fleet) -> tuple[FarOut, FarOut]:
    """How far out flights lie of those of their airplane, and airplanes of those of their type.

    Args:
        fleet: All flights.

    Returns:
        Of flights, and of airplanes in order of their addresses; rows as in `MEASURES`. Chances of
        flights are no smaller than the other airplanes bear out (`tails`).
    """
    _, first, tail = np.unique(fleet.address, return_index=True, return_inverse=True)
    kinds, kind = np.unique(fleet.kind[first], return_inverse=True)
    own, between = [], []
    for name in MEASURES:  # over measures
        values, errors = fleet.values[name]
        if name == COUNTED:
            own.append(_more(values, errors, tail, first.size))
            between.append(_more(*_summed(values, errors, tail, first.size), kind, kinds.size))
            continue
        on_scale = scaled(name, values, values)
        if MEASURES[name].positive:
            errors = errors / np.maximum(np.abs(values), 1e-9)
        side = MEASURES[name].side
        own.append(_far(on_scale, errors, tail, first.size, side))
        means = _means(on_scale, tail, first.size)
        if name in OF_THE_FLIGHT:
            means = np.full(first.size, np.nan)
        between.append(_far(means, np.zeros(first.size), kind, kinds.size, side))
    borne = [(calibrated(chance, tail, first.size), out) for chance, out in own]
    return _stacked(borne), _stacked(between)


def _far(values: Array, errors: Array, group: Index, groups: int, side: int) -> tuple[Array, Array]:
    chance = chances_among(values, errors, group, groups, FEWEST, side=side)
    return chance, among_own(values, errors, group, groups)


def _more(rate: Array, error: Array, group: Index, groups: int) -> tuple[Array, Array]:
    chance = chances_of_counts(rate, error, group, groups, FEWEST)
    return chance, among_own(rate, error, group, groups)


def _summed(rate: Array, error: Array, tail: Index, tails: int) -> tuple[Array, Array]:
    """Rate of events of each airplane, all its flights together, and its error."""
    number, time, _ = events_in(rate, error)
    events, watched = (np.bincount(tail, what, tails) for what in (number, time))
    over = np.where(watched > 0.0, watched, np.nan)
    return events / over, np.sqrt(np.maximum(events, 1.0)) / over


def _stacked(rows: list[tuple[Array, Array]]) -> FarOut:
    return FarOut(np.stack([chance for chance, _ in rows]), np.stack([out for _, out in rows]))


def _means(values: Array, group: Index, groups: int) -> Array:
    good = np.isfinite(values)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.bincount(group, np.where(good, values, 0.0), groups) / np.bincount(
            group, good, groups
        )


def _named(far: FarOut, numbers: Index, rate: float) -> tuple[Outlying, ...]:
    chance, out, names = far.chance, far.out, list(MEASURES)
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
