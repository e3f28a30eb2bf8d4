"""The sampler on problems whose evidence is known.

Conjugate cases: closed form. Unit Gaussian: exact. Gaussian shells: Feroz, Hobson and Bridges,
MNRAS 398 (2009) 1601, table 1 (from memory; recomputed by quadrature). Egg-box: fine-grid
quadrature, 235.856.
"""

from __future__ import annotations

import jax
import jax.numpy as jnp
import numpy as np
import pytest
from scipy.integrate import quad

from neutralpoint.weighing.sampler import evidence, sample

jax.config.update("jax_enable_x64", True)


def box(low: float, high: float, size: int):
    """Uniform prior."""
    volume = size * np.log(high - low)

    def log_prior(x):
        return jnp.where(jnp.all((x >= low) & (x <= high)), -volume, -jnp.inf)

    def draw(key, count):
        return jax.random.uniform(key, (count, size), minval=low, maxval=high)

    return {"log_prior": log_prior, "draw": draw}


def within(found, truth: float, floor: float) -> None:
    """Four standard errors of the seeds, or the floor where they agree by luck."""
    assert bool(found.settled)
    assert abs(float(found.log_evidence) - truth) < max(4.0 * float(found.error), floor)


@pytest.mark.parametrize("size", [1, 5])
def test_unit_gaussian(size):
    """Source: closed form."""

    def log_likelihood(x, _):
        return -0.5 * jnp.sum(x**2) - 0.5 * size * jnp.log(2.0 * jnp.pi)

    found = evidence(
        jax.random.key(1), log_likelihood=log_likelihood, count=1000, **box(-10.0, 10.0, size)
    )
    within(found, -size * np.log(20.0), 0.05)
    assert np.allclose(np.std(found.particles, axis=0), 1.0, atol=0.1)


CONJUGATE = [(2.0, 1.0, 2.0, 0.795281), (3.0, 1.0, 3.0, 2.898707), (0.0, 1.0, 2.0, -0.804719)]
CONJUGATE += [(0.8, 10.0**-0.5, 1.0, 1.710143)]  # the mean of ten


def log_normal(x, scale):
    return -0.5 * (x / scale) ** 2 - jnp.log(scale) - 0.5 * jnp.log(2.0 * jnp.pi)


def seen_with_a_mean(x, data):
    """Of a reading, its mean being the parameter times the spread."""
    seen, sigma, spread = data
    return log_normal(seen - spread * x[0], sigma)


# Named once, so that what is compiled for one case serves all.
UNIT = {
    "log_prior": lambda x: log_normal(x[0], 1.0),
    "log_likelihood": seen_with_a_mean,
    "draw": lambda key, count: jax.random.normal(key, (count, 1)),
}


@pytest.mark.parametrize(("seen", "sigma", "spread", "truth"), CONJUGATE)
def test_conjugate_bayes_factor(seen, sigma, spread, truth):
    """ln B10 of a mean that is free against one that is zero.

    Source: closed form: conjugate normal, derived here.
    """
    data = jnp.array([seen, sigma, spread])
    found = evidence(jax.random.key(2), data=data, count=1000, **UNIT)
    factor = float(found.log_evidence) - float(log_normal(seen, sigma))
    assert bool(found.settled)
    assert abs(factor - truth) < max(4.0 * float(found.error), 0.03)
    precision = 1.0 / sigma**2 + 1.0 / spread**2
    mean = spread * float(found.particles.mean())
    assert mean == pytest.approx(seen / sigma**2 / precision, abs=0.08)


def shells(size: int) -> float:
    """ln Z of two shells of width 0.1 and radius 2 by quadrature over the radius."""
    surface = 2.0 * np.pi ** (size / 2) / np.exp(jax.scipy.special.gammaln(size / 2))
    radial, _ = quad(
        lambda r: (
            r ** (size - 1) * np.exp(-0.5 * ((r - 2.0) / 0.1) ** 2) / (0.1 * np.sqrt(2 * np.pi))
        ),
        1.0,
        3.0,
    )
    return float(np.log(2.0 * surface * radial) - size * np.log(12.0))


# In five dimensions in `make slow`: two modes are kept apart in two dimensions, and five are those
# of the Gaussian above.
@pytest.mark.parametrize(
    ("size", "published"), [(2, -1.746), pytest.param(5, -5.674, marks=pytest.mark.slow)]
)
def test_gaussian_shells(size, published):
    """Source: Feroz, Hobson and Bridges, MNRAS 398 (2009) 1601, table 1, from memory; recomputed
    by quadrature.
    """
    assert shells(size) == pytest.approx(published, abs=0.003)
    centre = jnp.zeros(size).at[0].set(3.5)

    def log_likelihood(x, _):
        def shell(middle):
            return -0.5 * ((jnp.linalg.norm(x - middle) - 2.0) / 0.1) ** 2

        norm = jnp.log(0.1 * jnp.sqrt(2.0 * jnp.pi))
        return jnp.logaddexp(shell(centre), shell(-centre)) - norm

    found = evidence(
        jax.random.key(3), log_likelihood=log_likelihood, count=1500, **box(-6.0, 6.0, size)
    )
    within(found, published, 0.06)
    assert 0.3 < float((found.particles[:, 0] > 0).mean()) < 0.7  # both modes are kept


def test_egg_box():
    """Source: Feroz, Hobson and Bridges, MNRAS 398 (2009) 1601, from memory; recomputed by
    quadrature.
    """

    def log_likelihood(x, _):
        return (2.0 + jnp.cos(0.5 * x[0]) * jnp.cos(0.5 * x[1])) ** 5

    found = evidence(
        jax.random.key(4),
        log_likelihood=log_likelihood,
        count=2000,
        **box(0.0, 10.0 * np.pi, 2),
    )
    within(found, 235.856, 0.15)
    cells = np.unique(np.round(np.asarray(found.particles) / (2.0 * np.pi)), axis=0)
    assert len(cells) == 18  # every mode is kept


# Four hundred in `make slow`, a quarter of a minute: the same bins with four times as many each.
@pytest.mark.parametrize("replications", [100, pytest.param(400, marks=pytest.mark.slow)])
def test_ranks_of_prior_draws_are_uniform(replications):
    """Simulation-based calibration, Talts et al. (2018), arXiv 1804.06788: 20 bins, 99 % limit.

    Source: Talts et al. (2018), arXiv 1804.06788.
    """
    bins, kept = 20, 199

    def one(key):
        truth_key, noise_key, run_key, pick = jax.random.split(key, 4)
        truth = jax.random.normal(truth_key, (2,))
        seen = jnp.array([truth[0] + truth[1], truth[0] ** 2]) + 0.5 * jax.random.normal(
            noise_key, (2,)
        )
        run = sample(
            run_key,
            log_prior=lambda x: jnp.sum(-0.5 * x**2 - 0.5 * jnp.log(2.0 * jnp.pi)),
            log_likelihood=lambda x, _: (
                -0.5 * jnp.sum((seen - jnp.array([x[0] + x[1], x[0] ** 2])) ** 2) / 0.25
            ),
            draw=lambda k, n: jax.random.normal(k, (n, 2)),
            count=400,
            moves=8,
        )
        chosen = jax.random.choice(pick, run.particles, (kept,), replace=False)
        return jnp.sum(chosen < truth, axis=0)

    # Runs for seconds, so that it is worth optimizing, unlike most programs of the tests.
    run = jax.jit(jax.vmap(one), compiler_options={"xla_backend_optimization_level": 1})
    ranks = np.asarray(run(jax.random.split(jax.random.key(5), replications)))
    for rank in ranks.T:
        counts = np.histogram(rank, bins=bins, range=(0, kept + 1))[0]
        expected = replications / bins
        assert np.sum((counts - expected) ** 2 / expected) < 36.19
