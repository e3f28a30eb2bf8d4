"""The learned odds against exact ones, on simulated data whose likelihood is known."""

from __future__ import annotations

from dataclasses import replace

import jax
import numpy as np
import pytest
from scipy.stats import multivariate_normal

from neutralpoint.weighing.network import learn, log_evidence, temperature
from neutralpoint.weighing.odds import posterior
from neutralpoint.weighing.scores import credible_set_cover, log_score

SIZE = 12


def causes(rng: np.random.Generator):
    """Three linear models with Gaussian parameters: marginal likelihoods in closed form."""
    shapes = rng.standard_normal((3, SIZE, 2))
    noise = 0.5 * np.eye(SIZE)
    return [0.6 * a @ a.T + noise for a in shapes]


def drawn(rng, covariances, count):
    features = [rng.multivariate_normal(np.zeros(SIZE), c, count) for c in covariances]
    return np.concatenate(features), np.repeat(np.arange(3), count)


@pytest.mark.slow
def test_learned_odds_match_exact_ones():
    rng = np.random.default_rng(11)
    covariances = causes(rng)
    data = drawn(rng, covariances, 2000)
    network = learn(*data, classes=3, key=jax.random.key(1), seeds=3, most=700)
    features, truth = drawn(rng, covariances, 400)
    exact = np.stack(
        [multivariate_normal(np.zeros(SIZE), c).logpdf(features) for c in covariances], axis=1
    )
    even = np.full(3, 1 / 3)
    best = log_score(posterior(even, exact), truth).mean()
    learned = posterior(even, log_evidence(network, features)).mean(axis=0)
    assert log_score(learned, truth).mean() > best - 0.12  # nats lost to learning
    assert abs(credible_set_cover(learned, truth).mean() - 0.9) < 0.03
    assert np.median(np.abs(learned - posterior(even, exact))) < 0.05


@pytest.mark.slow
def test_outputs_that_are_too_sure_are_cooled_by_what_was_kept_out():
    rng = np.random.default_rng(13)
    covariances = causes(rng)
    kept_out = drawn(rng, covariances, 300)
    network = learn(
        *drawn(rng, covariances, 300),
        classes=3,
        key=jax.random.key(1),
        seeds=2,
        most=300,
        test=kept_out,
    )
    assert float(network.temperature) == pytest.approx(1.0, abs=0.25)
    *layers, last = network.weights
    sure = replace(network, weights=[*layers, tuple(3.0 * leaf for leaf in last)])
    cooled = replace(sure, temperature=temperature(sure, *kept_out))
    assert cooled.temperature == pytest.approx(3.0 * float(network.temperature), rel=0.1)
    test = drawn(rng, covariances, 400)
    cover = {
        name: credible_set_cover(np.exp(log_evidence(n, test[0])).mean(axis=0), test[1]).mean()
        for name, n in (("sure", sure), ("cooled", cooled))
    }
    assert cover["sure"] < 0.87 < cover["cooled"] < 0.93


def test_the_same_seed_gives_the_same_answer():
    rng = np.random.default_rng(12)
    data = drawn(rng, causes(rng), 100)
    runs = [learn(*data, classes=3, key=jax.random.key(5), seeds=2, most=3) for _ in range(2)]
    first, second = (log_evidence(network, data[0]) for network in runs)
    assert np.array_equal(first, second)
