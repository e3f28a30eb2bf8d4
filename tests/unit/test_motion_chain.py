"""The chain of states: mean, evidence and samples against dense Gaussian algebra."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from neutralpoint.motion.chain import (
    Chain,
    Levels,
    NotResolvedError,
    fit_chain,
    log_evidence,
    posterior,
    sample_chain,
)
from neutralpoint.motion.gaps import Thinning
from neutralpoint.motion.parameter import estimated
from neutralpoint.motion.process import (
    ACCELERATION_TIME,
    QUICK_TIME,
    QUICK_VERTICAL,
    horizontal_process,
    unknown,
    vertical_process,
)
from neutralpoint.motion.rows import KINDS, Rows, taylor

STEP = 0.5
NODES = 9
PRIOR = np.array([50.0, 20.0, 3.0, 20.0, 3.0])


def none(mean, kappa):
    return np.zeros(1)


def rows(seed=1, count=14):
    """Altitudes and lagged rates at random nodes."""
    rng = np.random.default_rng(seed)
    node = np.sort(rng.integers(0, NODES, count))
    position, _ = taylor(rng.uniform(-0.25, 0.25, count))
    design = np.concatenate([position, np.zeros((count, 2))], axis=1)
    rate = rng.random(count) < 0.4
    design[rate] = [0.0, 0.0, 0.0, 1.0, 0.0]
    kind = np.where(rate, KINDS.index("vertical_rate"), KINDS.index("altitude"))
    value = rng.normal(0.0, 10.0, count)
    return Rows(kind, node, design, value, rng.uniform(1.0, 9.0, count), np.ones(count), node)


def dense(process, jerk):
    """Covariance of all states of the process."""
    size = process.size
    noise = np.linalg.inv(process.inverse_noise)
    covariance = np.zeros((NODES * size, NODES * size))
    here = np.diag(PRIOR**2)
    # An acceleration that dies away in `QUICK_TIME` settles at half that time of its drive.
    here[2, 2] += 0.5 * QUICK_VERTICAL * QUICK_TIME * jerk[0]
    covariance[:size, :size] = here
    for k in range(1, NODES):
        now, until = slice(k * size, (k + 1) * size), slice(0, k * size)
        before = slice((k - 1) * size, k * size)
        covariance[now, until] = process.transition @ covariance[before, until]
        covariance[until, now] = covariance[now, until].T
        here = process.transition @ here @ process.transition.T + jerk[k - 1] * noise
        covariance[now, now] = here
    return covariance


@pytest.fixture
def problem():
    process, data = vertical_process(STEP, 0.7), rows()
    jerk = np.linspace(0.5, 3.0, NODES - 1)
    every = np.zeros((data.value.size, NODES * process.size))
    for i, node in enumerate(data.node):
        every[i, node * process.size : (node + 1) * process.size] = data.design[i]
    states = dense(process, jerk)
    readings = every @ states @ every.T + np.diag(data.variance)
    gain = states @ every.T @ np.linalg.inv(readings)
    return process, data, jerk, readings, gain @ data.value, states - gain @ every @ states


def test_mean(problem):
    process, data, jerk, _, mean, _ = problem
    _, found = posterior(process, data, PRIOR, jerk, data.variance)
    np.testing.assert_allclose(found.ravel(), mean, atol=1e-6)


def test_evidence(problem):
    process, data, jerk, readings, _, _ = problem
    found = log_evidence(process, data, PRIOR, jerk, data.variance)
    expected = multivariate_normal(np.zeros(data.value.size), readings).logpdf(data.value)
    assert found == pytest.approx(expected, abs=1e-6)


def test_samples(problem):
    process, data, jerk, _, mean, covariance = problem
    certain = np.full(NODES - 1, 1e12)
    levels = Levels(
        jerk, certain, np.ones(len(KINDS)), np.full(len(KINDS), 1e12), np.ones(data.value.size)
    )
    chain = Chain(mean.reshape(NODES, -1), levels, np.zeros(data.value.size), 1, True)
    paths = sample_chain(
        process,
        data,
        PRIOR,
        chain,
        thin=Thinning(np.arange(NODES), NODES, STEP),
        window=1.0,
        rng=np.random.default_rng(3),
        count=40_000,
        extra=none,
    ).reshape(40_000, -1)
    scale = np.sqrt(np.diag(covariance))
    np.testing.assert_allclose((paths.mean(axis=0) - mean) / scale, 0.0, atol=0.025)
    correlation = covariance / np.outer(scale, scale)
    np.testing.assert_allclose(np.cov(paths.T) / np.outer(scale, scale), correlation, atol=0.03)


def test_process_against_small_steps():
    """Transition and noise of one step are those of many small ones."""
    whole, part = vertical_process(0.4, 0.7), vertical_process(0.1, 0.7)
    noise = np.zeros((5, 5))
    transition = np.eye(5)
    for _ in range(4):
        noise = part.transition @ noise @ part.transition.T + np.linalg.inv(part.inverse_noise)
        transition = part.transition @ transition
    np.testing.assert_allclose(transition, whole.transition, atol=1e-12)
    np.testing.assert_allclose(noise, np.linalg.inv(whole.inverse_noise), rtol=1e-6, atol=1e-15)


def test_the_horizontal_process_is_two_equal_axes():
    process = horizontal_process(0.25)
    north, east = [0, 1, 2, 6], [3, 4, 5, 7]
    both = process.transition
    np.testing.assert_allclose(both[np.ix_(north, north)], both[np.ix_(east, east)], atol=1e-15)
    assert not both[np.ix_(north, east)].any()
    assert both[6, 6] == pytest.approx(np.exp(-0.25 / ACCELERATION_TIME))
    assert both[2, 2] == pytest.approx(np.exp(-0.25 / QUICK_TIME))


def test_the_quick_part_dies_away_at_the_slow_part():
    """An acceleration of 3 m/s^2 whose slow part is 1 m/s^2 is near that after some seconds."""
    state = np.array([0.0, 0.0, 3.0, 0.0, 1.0])
    after = vertical_process(6.0, 0.5).transition @ state
    assert after[2] == pytest.approx(after[4], abs=0.02)
    assert after[4] == pytest.approx(np.exp(-6.0 / ACCELERATION_TIME))


def test_energy_of_noise_is_its_freedom():
    process = horizontal_process(0.25)
    rng = np.random.default_rng(4)
    root = np.linalg.cholesky(np.linalg.inv(process.inverse_noise))
    states = np.zeros((4001, 8))
    for k in range(4000):
        states[k + 1] = process.transition @ states[k] + root @ rng.standard_normal(8)
    # 4,000 chi-square numbers of 8 degrees: the mean is known to sqrt(16/4000) = 0.063.
    assert process.energy(states).mean() == pytest.approx(8.0, abs=0.25)


def test_levels_are_found():
    """Jerk and noise levels of a simulated chain come back, and wild rows lose their weight."""
    process = vertical_process(0.25, 0.5)
    rng = np.random.default_rng(6)
    root = np.linalg.cholesky(np.linalg.inv(process.inverse_noise))
    nodes = 2000
    states = np.zeros((nodes, 5))
    for k in range(nodes - 1):
        states[k + 1] = process.transition @ states[k] + np.sqrt(0.5) * root @ rng.normal(size=5)
    node = np.arange(0, nodes, 4)
    position, _ = taylor(np.zeros(node.size))
    design = np.concatenate([position, np.zeros((node.size, 2))], axis=1)
    wild = np.zeros(node.size)
    wild[::60] = 80.0
    value = states[node, 0] + 3.0 * rng.standard_normal(node.size) + wild
    kind = np.full(node.size, KINDS.index("altitude"))
    data = Rows(kind, node, design, value, np.ones(node.size), np.ones(node.size), node)
    chain = fit_chain(
        process,
        data,
        PRIOR,
        thin=Thinning(np.arange(nodes), nodes, 0.25),
        window=3.0,
        floor=np.full(len(KINDS), 0.02),
        calm=1e-3,
        extra=lambda mean, kappa: np.zeros(node.size),
    )
    assert chain.converged
    # The Student-t scale of normal noise with a few wild rows lies a little below its variance.
    assert 4.0 < chain.levels.kappa[kind[0]] < 10.0
    assert 0.2 < np.exp(np.log(chain.levels.jerk).mean()) < 1.0
    # The first of them has nothing before it that could contradict it.
    assert chain.levels.weights[60::60].max() < 0.05
    error = (chain.mean[:, 0] - states[:, 0])[40:]
    assert np.sqrt((error**2).mean()) < 2.0


def test_parameter_from_its_likelihood():
    grid = np.linspace(-1.0, 2.0, 13)
    for sigma in (0.02, 0.1, 0.2):
        found = estimated(grid, -0.5 * ((grid - 0.4) / sigma) ** 2 - 1e5)
        assert (found.value, found.sigma) == pytest.approx((0.4, sigma), rel=0.02)


def test_parameter_the_data_do_not_show():
    grid = np.linspace(-1.0, 2.0, 13)
    found = estimated(grid, np.zeros(13))
    assert (found.value, found.sigma) == pytest.approx((0.5, 3.0 / np.sqrt(12.0)), rel=0.01)


def test_parameter_at_an_edge():
    grid = np.linspace(0.0, 1.0, 11)
    found = estimated(grid, grid * 20.0)
    assert found.value == pytest.approx(0.95, abs=0.01)
    assert found.sigma == pytest.approx(0.05, abs=0.01)


def test_a_matrix_beyond_rounding_is_refused_after_a_few_touches():
    process = vertical_process(STEP, 0.4)
    impossible = -np.ones(rows().value.size)
    with pytest.raises(NotResolvedError):
        posterior(process, rows(), PRIOR, np.ones(NODES - 1), impossible)


def test_wild_rows_do_not_throw_the_noise_level_about():
    """One reading in eight astray by 9 km: the level of the rest is found nearly."""
    rng = np.random.default_rng(4)
    count, step = 160, 1.0
    node = np.arange(count)
    position, _ = taylor(np.zeros(count))
    design = np.concatenate([position, np.zeros((count, 2))], axis=1)
    value = rng.normal(0.0, 3.0, count)
    value[::8] += 9000.0
    seen = Rows(
        np.full(count, KINDS.index("altitude")),
        node,
        design,
        value,
        np.full(count, 9.0),
        np.ones(count),
        node,
    )
    chain = fit_chain(
        vertical_process(step, 0.4),
        seen,
        np.array([3e4, 150.0, 10.0, 150.0, 10.0]),
        thin=Thinning(node, count, step),
        window=3.0,
        floor=np.full(len(KINDS), 0.02),
        calm=0.005,
        extra=lambda mean, kappa: np.zeros(count),
    )
    assert np.abs(chain.mean[:, 0]).max() < 30.0
    assert 0.5 < chain.levels.kappa[KINDS.index("altitude")] < 4.0


def test_an_acceleration_of_which_little_is_known_is_its_slow_part_and_little_else():
    """Source: variance of a sum of two independent parts, by hand."""
    first = unknown([1e6, 400.0, 0.5, 10.0], {2: 3})
    assert first[2, 2] == pytest.approx(10.0**2 + 0.5**2)
    assert first[2, 3] == first[3, 2] == pytest.approx(10.0**2)
    apart = np.array([0.0, 0.0, 1.0, -1.0])
    assert apart @ first @ apart == pytest.approx(0.5**2)
    process = horizontal_process(STEP, quick=2.0)
    settled = process.first(np.zeros(8), 3.0)
    by_hand = np.zeros((8, 8))
    by_hand[2, 2] = by_hand[5, 5] = 0.5 * 3.0 * 2.0 * QUICK_TIME
    np.testing.assert_allclose(settled, by_hand)
