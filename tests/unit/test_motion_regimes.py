"""Regimes of movement: the filter, the histories drawn from it and the processes they make."""

import numpy as np
import pytest
from scipy.linalg import expm

from neutralpoint.motion.chain import log_evidence
from neutralpoint.motion.gaps import Thinning
from neutralpoint.motion.process import (
    ACCELERATION_TIME,
    HANDS_TIME,
    horizontal_family,
    vertical_family,
)
from neutralpoint.motion.regimes import (
    NOISE,
    NOISE_SPREAD,
    OVER_GROUND,
    UPWARD,
    MannerOfFlight,
    chances,
    rates,
    regimes,
    sizes,
)
from neutralpoint.motion.rows import Rows

STEP = 0.25
PRIOR = np.array([1e3, 100.0, 10.0] * 2 + [10.0] * 2)
ROUNDING = 1e-9  # of matrices that are products of twenty others


def read(north: np.ndarray, sigma: float, every: int, east: np.ndarray | None = None) -> Rows:
    """Positions north and east, every so many steps; east is nought where nothing is given."""
    node = np.repeat(np.arange(0, north.size, every), 2)
    design = np.zeros((node.size, 8))
    design[::2, 0] = design[1::2, 3] = 1.0
    value = np.zeros(node.size)
    value[::2] = north[::every]
    if east is not None:
        value[1::2] = east[::every]
    return Rows(
        np.zeros(node.size, int),
        node,
        design,
        value,
        np.full(node.size, sigma**2),
        np.ones(node.size),
        node,
    )


def test_the_process_over_many_steps_is_that_of_one_long_step():
    """Source: matrix exponential of the drift, no step in between (SciPy's `expm`)."""
    family = horizontal_family(STEP, np.array([[0.2, 3.0]]))
    move, noise = family.over(19)
    axis = np.array(
        [
            [0.0, 1.0, 0.0, 0.0],
            [0.0, 0.0, 1.0, 0.0],
            [0.0, 0.0, -1.0 / HANDS_TIME, 1.0 / HANDS_TIME - 1.0 / ACCELERATION_TIME],
            [0.0, 0.0, 0.0, -1.0 / ACCELERATION_TIME],
        ]
    )
    alone = expm(axis * 19 * STEP)
    places = [0, 1, 2, 6]
    np.testing.assert_allclose(move[np.ix_(places, places)], alone, rtol=ROUNDING, atol=ROUNDING)
    # The slow part keeps its size: what decays is driven again.
    assert noise[0, 6, 6] == pytest.approx(0.2 * (1.0 - alone[3, 3] ** 2), rel=1e-6)


def test_what_is_quick_starts_as_large_as_it_stays():
    """Source: the law of a stationary process is its own image, P = F P F' + Q (Lyapunov)."""
    over_ground = horizontal_family(STEP, np.array([[0.0, 9.0], [0.2, 0.3]]))
    upward = vertical_family(STEP, 0.5, np.array([[0.0, 4.0, 2.0], [0.5, 0.3, 9.0]]))
    for family, slow, whole in ((over_ground, 6, [2]), (upward, 4, [2, 5, 6])):
        move, noise = family.over(7)
        seen = np.eye(family.size)[whole]
        seen[0, slow] = -1.0  # of the acceleration, what is not its slow part
        start = family.first(np.zeros(family.size))
        later = move @ start @ move.T + noise
        np.testing.assert_allclose(seen @ later @ seen.T, seen @ start @ seen.T, atol=1e-4)


def test_one_regime_has_the_evidence_of_the_chain():
    """Source: the same likelihood by the banded precision of `chain.log_evidence`."""
    family = horizontal_family(STEP, np.array([[0.2, 1.0]]))
    rows = read(np.random.default_rng(3).normal(0.0, 60.0, 80), 30.0, 8)
    thin = Thinning(np.arange(80), 80, STEP)
    alone = (MannerOfFlight(({1.0: 1.0},), 40.0, 100.0),)
    found = regimes(family, alone, rows, PRIOR, variance=rows.variance, thin=thin)
    process = family.process(thin.spacing, np.zeros(79, int))
    by_chain = [
        log_evidence(process, rows, PRIOR, np.ones(79), rows.variance * factor) for factor in NOISE
    ]
    expected = np.array(by_chain) - 0.5 * (np.log(NOISE) / NOISE_SPREAD) ** 2
    expected = np.exp(expected - expected.max())
    np.testing.assert_allclose(found.noise, expected / expected.sum(), rtol=1e-4)


def test_hands_after_still_air_show_where_they_begin():
    """A slow radar: still until 100 s, then forces that change every few seconds."""
    rng, time = np.random.default_rng(8), np.arange(0.0, 200.0, STEP)
    force = np.repeat(6.0 * rng.standard_normal((2, 40)), 20, axis=1) * (time > 100.0)
    place = np.cumsum(np.cumsum(force, axis=1), axis=1) * STEP**2
    place += 20.0 * rng.standard_normal(place.shape)
    rows = read(place[0], 20.0, 20, east=place[1])
    thin = Thinning(np.arange(time.size), time.size, STEP)
    family = horizontal_family(STEP, sizes(OVER_GROUND))
    found = regimes(family, OVER_GROUND, rows, PRIOR, variance=rows.variance, thin=thin)
    quick = sizes(OVER_GROUND)[:, 1]
    drawn = np.array([quick[found.drawn(rng)[1]] for _ in range(60)])
    at = time[found.node]
    assert np.median(drawn[:, at > 110.0]) > 3.0**2
    assert np.median(drawn[:, at < 90.0]) < 1.0


def test_what_nothing_shows_keeps_the_chance_it_had():
    family = horizontal_family(STEP, sizes(OVER_GROUND))
    rows = read(np.zeros(200), 1e5, 20)
    thin = Thinning(np.arange(200), 200, STEP)
    found = regimes(family, OVER_GROUND, rows, PRIOR, variance=rows.variance, thin=thin)
    np.testing.assert_allclose(found.chance[0, -1], chances(OVER_GROUND), atol=0.01)


def test_a_regime_holds_until_the_next_reading_and_changes_with_the_time():
    alone = (MannerOfFlight(({0.1: 1.0}, {0.15: 1.0, 0.5: 3.0}), 40.0, 100.0),)
    family = horizontal_family(STEP, sizes(alone))
    rows = read(np.zeros(200), 1e5, 20)
    thin = Thinning(np.arange(200), 200, STEP)
    found = regimes(family, alone, rows, PRIOR, variance=rows.variance, thin=thin)
    # By hand: it holds, or is drawn anew by its chances.
    held = np.exp(-20 * STEP / 40.0)
    by_hand = held * np.eye(2) + (1.0 - held) * np.array([0.25, 0.75])
    np.testing.assert_allclose(found.share[1:], by_hand[None].repeat(9, axis=0), rtol=1e-9)
    between = found.between(np.arange(10), 200)
    assert between[0] == 1
    assert between[19] == 1
    assert between[20] == 2
    assert between[-1] == 9


def test_manners_last_as_long_as_they_say_and_leave_the_chances_as_they_are():
    """Source: a Markov chain leaves at its rates, and keeps a distribution p with p Q = 0."""
    made, usual = rates(OVER_GROUND), chances(OVER_GROUND)
    np.testing.assert_allclose(made.sum(axis=1), 0.0, atol=1e-15)
    np.testing.assert_allclose(usual @ made, 0.0, atol=1e-15)
    first = len(sizes(OVER_GROUND[:1]))
    np.testing.assert_allclose(made[:first, first:].sum(axis=1), 1.0 / OVER_GROUND[0].lasts)
    np.testing.assert_allclose(made[first:, :first].sum(axis=1), 1.0 / OVER_GROUND[1].lasts)
    assert usual[:first].sum() == pytest.approx(150.0 / 210.0)


def test_chances_are_a_distribution_and_still_air_is_the_likeliest():
    for parts in (OVER_GROUND, UPWARD):
        assert chances(parts).sum() == pytest.approx(1.0)
        assert len(sizes(parts)) == len(chances(parts))
    gust = sizes(UPWARD)[:, 2]
    assert chances(UPWARD)[gust == gust.min()].sum() == pytest.approx(0.45)
