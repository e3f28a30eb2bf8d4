"""The chances of a whole fleet at once are those of one flight after the other."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import nbinom

from neutralpoint.history.shapes import (
    by_rank,
    chance_as_far,
    chances_among,
    chances_of_counts,
    events_in,
)


def _one_by_one(values, errors, group):
    found = np.full(values.size, np.nan)
    for k in np.flatnonzero(np.isfinite(values)):
        rest = (group == group[k]) & np.isfinite(values)
        rest[k] = False
        if rest.sum() < 5:
            continue
        least = float((errors[rest] ** 2).mean())
        excess = max(float(errors[k] ** 2) - least, 0.0)
        found[k] = chance_as_far(values[rest], float(values[k]), least, excess)
    return found


def test_all_at_once_are_those_one_by_one():
    """Skew and heavy families, missing values, errors, a small group; within a sixth of a decade.

    The scale on which shapes are tried is that of the group with the value in it: so near, not the
    same.
    """
    rng = np.random.default_rng(7)
    group = np.repeat([0, 1, 2, 3], [60, 40, 25, 5])
    values = np.r_[rng.normal(3.0, 2.0, 60), np.exp(rng.normal(0.0, 1.0, 40)),
                   rng.standard_t(3, 25), rng.normal(0.0, 1.0, 5)]  # fmt: skip
    values[[0, 61]], values[[3, 4]] = np.nan, (15.0, -8.0)
    errors = rng.uniform(0.0, 0.3, values.size)
    found = chances_among(values, errors, group, 4, 5)
    one = _one_by_one(values, errors, group)
    assert np.array_equal(np.isnan(found), np.isnan(one))
    assert np.isnan(found[[0, 61, *range(125, 130)]]).all()
    known = np.isfinite(found)
    assert np.abs(np.log10(found[known] / one[known])).max() < 1.0 / 6.0
    assert found[3] < 1e-4 and found[4] < 1e-3


def test_only_the_side_that_speaks_is_unusual():
    """The larger of two one-sided chances of the same value; together they are certain."""
    rng = np.random.default_rng(11)
    values, group, still = rng.normal(0.0, 1.0, 40), np.zeros(40, int), np.zeros(40)
    values[0], values[1] = 6.0, -6.0
    both, high, low = (chances_among(values, still, group, 1, 5, side=s) for s in (0, 1, -1))
    assert high + low == pytest.approx(np.ones(40))
    assert both == pytest.approx(2.0 * np.minimum(high, low))
    assert high[0] < 1e-3 < 0.99 < high[1] and low[1] < 1e-3 < 0.99 < low[0]
    for side, chance in ((1, high[0]), (-1, low[0])):
        own = chance_as_far(values[1:], 6.0, 0.0, 0.0, side=side)
        assert np.log10(own) == pytest.approx(np.log10(chance), abs=1.0 / 6.0)
    rank = [float(by_rank(np.array(9.0), np.array(9.0), side)) for side in (1, -1, 0)]
    assert rank == pytest.approx([0.1, 1.0, 0.2])


def test_a_family_that_is_mostly_one_number_is_judged_by_ranks():
    """Last minutes end level on 20 of 30 flights; one that does not is no rarer than its rank."""
    values = np.r_[np.zeros(20), np.arange(1.0, 10.0), 500.0]
    group, errors = np.zeros(30, int), np.full(30, 0.05)
    found = chances_among(values, errors, group, 1, 5)
    assert found[-1] == pytest.approx(2.0 / 30.0)
    assert found == pytest.approx(_one_by_one(values, errors, group))
    # By hand: of 29 others 19 are equal, 10 above, so that 9.5 lie below.
    assert found[0] == pytest.approx(2.0 * 10.5 / 30.0)
    same = chances_among(np.full(8, 3.0), np.zeros(8), np.zeros(8, int), 1, 5)
    assert same == pytest.approx(np.ones(8))


def test_a_rank_by_hand():
    assert by_rank(np.array([0.0, 39.5, 100.0]), np.array([99.0, 99.0, 100.0])) == pytest.approx(
        [0.02, 0.81, 2.0 / 101.0]
    )


def test_chances_of_a_normal_fleet_are_uniform():
    """40 airplanes of 25 flights, seed 11: as often below a level as it says, within counting."""
    rng = np.random.default_rng(11)
    group = np.repeat(np.arange(40), 25)
    chance = chances_among(rng.normal(0.0, 1.0, 1000), np.zeros(1000), group, 40, 5)
    for level, low, high in ((0.5, 0.44, 0.56), (0.05, 0.03, 0.07), (0.01, 0.002, 0.02)):
        assert low < np.mean(chance < level) < high
    assert chance.min() > 1e-5


def test_a_measure_that_no_flight_has_says_nothing():
    found = chances_among(np.full(6, np.nan), np.zeros(6), np.zeros(6, int), 1, 5)
    assert np.isnan(found).all()


def test_errors_that_the_family_contradicts_do_not_hide_a_flight():
    """Errors ten times the spread of 40 flights: eight spreads away is far out all the same."""
    rng = np.random.default_rng(3)
    family = rng.normal(0.0, 1.0, 40)
    assert chance_as_far(family, 8.0, 100.0, 0.0) < 1e-4
    # Of five flights their errors are the better witness.
    assert chance_as_far(family[:5], 8.0, 100.0, 0.0) > 0.01


def test_events_are_counted_against_the_time_of_others():
    """Five flights of an hour without, one with three; and 2 in ten hours beside 4 in ninety.

    Source: SciPy, `scipy.stats.nbinom`.
    """
    hours = np.array([1.0, 1.0, 1.0, 1.0, 1.0, 1.0])
    number = np.array([0.0, 0.0, 0.0, 0.0, 0.0, 3.0])
    errors = np.sqrt(np.maximum(number, 1.0)) / hours
    found = chances_of_counts(number / hours, errors, np.zeros(6, int), 1, 5)
    # By hand, k = 0.5 and p = 5/6: 1 - sqrt(5/6) (1 + 1/12 + 1/96).
    assert found[5] == pytest.approx(1.0 - np.sqrt(5.0 / 6.0) * (1.0 + 1.0 / 12.0 + 1.0 / 96.0))
    assert found[:5] == pytest.approx(np.ones(5))
    hours = np.array([10.0, *np.full(9, 10.0)])
    number = np.array([2.0, 4.0, *np.zeros(8)])
    errors = np.sqrt(np.maximum(number, 1.0)) / hours
    assert events_in(number / hours, errors)[0] == pytest.approx(number)
    found = chances_of_counts(number / hours, errors, np.zeros(10, int), 1, 5)
    assert found[0] == pytest.approx(nbinom.sf(1, 4.5, 0.9))
