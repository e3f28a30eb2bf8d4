"""Chances of a fleet are no smaller than its other airplanes bear out."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.history.tails import FEWEST, HELD, SMALL, TRUSTED, calibrated

TAILS, FLIGHTS = 12, 30
GROUP = np.repeat(np.arange(TAILS), FLIGHTS)


def uniform(seed: int) -> np.ndarray:
    return np.random.default_rng(seed).uniform(size=GROUP.size)


def test_chances_that_hold_stay_within_what_so_few_flights_show():
    """Uniform chances are right as they are: what is left of them is right or cautious."""
    found = np.concatenate([calibrated(uniform(seed), GROUP, TAILS) for seed in range(40)])
    for level in (0.05, 0.01, 0.001):
        assert 0.2 * level < (found < level).mean() < 1.15 * level


def test_chances_of_heavier_tails_are_made_larger():
    """Too small by the power of two: a thousandth comes once in thirty flights and not after."""
    raw = [uniform(seed) ** 2 for seed in range(40)]
    found = np.concatenate([calibrated(each, GROUP, TAILS) for each in raw])
    assert (np.concatenate(raw) < 1e-4).mean() > 50.0 * 1e-4
    assert (found < 1e-4).mean() < 3.0 * 1e-4
    assert (found < 0.001).mean() < 2.0 * 0.001


def test_no_chance_gets_smaller_and_large_ones_stay():
    chance = uniform(3) ** 1.5
    found = calibrated(chance, GROUP, TAILS)
    assert (found >= chance).all()
    np.testing.assert_array_equal(found[chance >= SMALL], chance[chance >= SMALL])


def test_by_hand_of_the_others_alone():
    """Of 40 flights of the other airplane four are small; the largest size counts as the third."""
    group = np.r_[np.zeros(5, int), np.ones(40, int)]
    chance = np.r_[[1e-9, 0.5, 0.5, 0.5, 0.5], np.full(36, 0.4), SMALL * np.exp([-1, -2, -3, -99])]
    found = calibrated(chance, group, 2)
    shown, total = 3, 1.0 + 2.0 + 3.0 + 3.0
    assert shown == np.ceil(TRUSTED * 4)
    share = max((4 + HELD * SMALL) / (40 + HELD), SMALL)
    size = np.log(SMALL / 1e-9)
    expected = share * (1.0 + size / (HELD + total)) ** -(HELD + shown)
    assert found[0] == pytest.approx(expected)


def test_faults_of_another_airplane_hide_no_flight():
    """A tenth of the small chances of the others is beyond all measure: it counts as censored."""
    chance = uniform(5)
    chance[0] = 1e-12
    clean = calibrated(chance, GROUP, TAILS)[0]
    chance[[40, 41, 75]] = 1e-200
    assert clean < calibrated(chance, GROUP, TAILS)[0] < 30.0 * clean


def test_one_airplane_alone_is_asked_itself_and_what_is_not_known_stays_so():
    chance = np.r_[np.nan, uniform(7)[: FEWEST - 1]]
    found = calibrated(chance, np.zeros(FEWEST, int), 1)
    assert np.isnan(found[0]) and np.isfinite(found[1:]).all()
    assert calibrated(np.zeros(0), np.zeros(0, int), 0).size == 0
