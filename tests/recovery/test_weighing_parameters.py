"""Parameters of a cause are found as often as their intervals claim."""

from __future__ import annotations

import jax
import numpy as np
import pytest

from neutralpoint.weighing.parameters import SIZE, fit, pad, posteriors, summarise

TIME = np.linspace(0.0, 1.0, 30)


def simulated(unit: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A ramp that starts somewhere, of some slope, in noise of two kinds."""
    start, slope = 0.4 + 0.15 * unit[:, :1], np.exp(0.4 * unit[:, 1:2])
    clean = slope * np.maximum(TIME - start, 0.0)
    walk = np.cumsum(rng.standard_normal(clean.shape), axis=1) * 0.01
    return clean + walk + 0.03 * rng.standard_normal(clean.shape)


@pytest.mark.slow
def test_intervals_cover_as_stated_and_ranks_are_uniform():
    rng = np.random.default_rng(21)
    unit = rng.standard_normal((1500, 2))
    features = simulated(unit, rng)
    truth = rng.standard_normal((40, 2))
    observed = simulated(truth, rng)
    models = []
    for seen in observed:
        summary, there = summarise(features, unit, seen)
        padded = fit(pad(summary), pad(unit), pad(there[None])[0])
        models.append(padded)
    found = posteriors(jax.random.split(jax.random.key(3), 40), models)
    draws = np.asarray(found.particles)[:, :, :2]
    ranks = np.mean(draws < truth[:, None, :], axis=1)
    cover = np.mean((ranks > 0.05) & (ranks < 0.95))
    assert 0.82 < cover < 0.98  # 80 intervals at 0.90: 0.034 standard error
    assert np.abs(ranks.mean(axis=0) - 0.5).max() < 0.14  # 0.046 standard error
    spread = draws.std(axis=1)
    assert spread[:, 0].mean() < 0.6 and spread[:, 1].mean() < 0.6  # the data did tell
    idle = np.asarray(found.particles)[:, :, 2:SIZE]
    assert abs(idle.std() - 1.0) < 0.1  # what is not there stays at its prior
