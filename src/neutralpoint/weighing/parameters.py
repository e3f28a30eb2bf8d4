"""Posterior of the parameters of a cause from its own simulated flights.

Features are first reduced to as many summaries as there are parameters (their regression on the
features). The summaries given the parameters are taken as normal, mean quadratic and spread
log-linear in the parameters; the sampler does the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import jax
import jax.numpy as jnp
import numpy as np
from jax import Array

from neutralpoint.numerics.arrays import Floats
from neutralpoint.weighing.sampler import Evidence, evidence

# Parameters are padded to this many, so that one compilation serves every cause.
SIZE = 8
COMPONENTS = 24  # of the features that the regression sees; analyst's
RIDGE = 1e-2  # relative to the number of flights; analyst's
PARTICLES = 400


@jax.tree_util.register_dataclass
@dataclass(frozen=True)
class Summary:
    """Normal model of the summaries of one cause, and their observed values.

    Attributes:
        observed: Shape (t,).
        mean: Coefficients of the quadratic terms, shape (q, t).
        log_scale: Coefficients of the linear terms, shape (1 + d, t).
        factor: Cholesky factor of the correlation of the residuals, shape (t, t).
    """

    observed: Array
    mean: Array
    log_scale: Array
    factor: Array


def quadratic(unit: Array) -> Array:
    """1, u, and all products of two.

    Args:
        unit: Shape (..., d).

    Returns:
        Shape (..., 1 + d + d (d + 1) / 2).
    """
    first, second = np.triu_indices(unit.shape[-1])
    return jnp.concatenate(
        [jnp.ones_like(unit[..., :1]), unit, unit[..., first] * unit[..., second]], axis=-1
    )


def log_likelihood(unit: Array, summary: Summary) -> Array:
    """ln p(summaries | parameters).

    Args:
        unit: Parameters as normal scores, shape (d,).
        summary: Model and observed values.

    Returns:
        Scalar.

    Source: synthetic likelihood, Wood, Nature 466 (2010) 1102-1104, with mean and spread
    regressed on the parameters.
    """
    mean = quadratic(unit) @ summary.mean
    linear = jnp.concatenate([jnp.ones(1), unit])
    log_scale = linear @ summary.log_scale
    residual = (summary.observed - mean) * jnp.exp(-log_scale)
    white = jax.scipy.linalg.solve_triangular(summary.factor, residual, lower=True)
    norm = jnp.sum(jnp.log(jnp.diag(summary.factor))) + jnp.sum(log_scale)
    return -0.5 * jnp.sum(white**2) - norm - 0.5 * residual.size * jnp.log(2.0 * jnp.pi)


def _log_prior(unit: Array) -> Array:
    return -0.5 * jnp.sum(unit**2) - 0.5 * unit.size * jnp.log(2.0 * jnp.pi)


def _draw(key: Array, count: int) -> Array:
    return jax.random.normal(key, (count, SIZE))


def _ridge(design: Floats, target: Floats) -> Floats:
    gram = design.T @ design + RIDGE * len(design) * np.eye(design.shape[1])
    return np.linalg.solve(gram, design.T @ target)


def _terms(features: Floats, basis: Floats) -> Floats:
    """1, the leading components, and their squares."""
    component = features @ basis
    return np.concatenate([np.ones((len(features), 1)), component, component**2 - 1.0], axis=1)


def leading(features: Floats, count: int) -> Floats:
    """Basis that turns centred features into their leading components of unit variance.

    Args:
        features: Centred, shape (n, f).
        count: At most.

    Returns:
        Shape (f, k).
    """
    _, size, rows = np.linalg.svd(features, full_matrices=False)
    use = min(count, int(np.sum(size > 1e-8 * size[0])))
    return rows[:use].T / size[:use] * np.sqrt(len(features))


def summarise(features: Floats, unit: Floats, observed: Floats) -> tuple[Floats, Floats]:
    """Summaries of the simulated flights and of the observed one.

    Each half of the flights is summarised by the regression on the other half, so that the
    simulated summaries are as noisy as the observed one.

    Args:
        features: Standardised, shape (n, f).
        unit: Parameters as normal scores, shape (n, d).
        observed: Standardised, shape (f,).

    Returns:
        Shapes (n, d) and (d,).

    Source: Fearnhead and Prangle, J. R. Stat. Soc. B 74 (2012) 419-474, section 3.
    """
    middle = features.mean(axis=0)
    basis = leading(features - middle, COMPONENTS)
    terms, seen = _terms(features - middle, basis), _terms((observed - middle)[None], basis)
    half = np.arange(len(features)) % 2 == 0
    found, there = np.empty_like(unit), []
    for use in (half, ~half):
        slopes = _ridge(terms[use], unit[use])
        found[~use] = terms[~use] @ slopes
        there.append(seen[0] @ slopes)
    return found, np.mean(there, axis=0)


def fit(summaries: Floats, unit: Floats, observed: Floats) -> Summary:
    """Normal model of summaries given parameters.

    Args:
        summaries: Of the simulated flights, shape (n, t).
        unit: Parameters as normal scores, shape (n, d).
        observed: Shape (t,).

    Returns:
        The model.
    """
    design = np.asarray(quadratic(jnp.asarray(unit)))
    mean = _ridge(design, summaries)
    residual = summaries - design @ mean
    linear = np.concatenate([np.ones((len(unit), 1)), unit], axis=1)
    # E ln |standard normal| = -0.635: from memory, (ln 2 + Euler's gamma) / 2.
    log_scale = _ridge(linear, np.log(np.abs(residual) + 1e-6) + 0.635)
    white = residual * np.exp(-linear @ log_scale)
    size = white.std(axis=0) + 1e-6
    log_scale[0] += np.log(size)
    white = white / size
    share = 0.95 * (white.T @ white) / len(white) + 0.05 * np.eye(white.shape[1])
    return Summary(*map(jnp.asarray, (observed, mean, log_scale, np.linalg.cholesky(share))))


def pad(values: Floats) -> Floats:
    """Parameters filled up to `SIZE` with columns of zeros.

    Args:
        values: Shape (n, d) with d at most `SIZE`.

    Returns:
        Shape (n, SIZE).
    """
    return np.pad(values, ((0, 0), (0, SIZE - values.shape[1])))


@partial(jax.jit, static_argnames=("seeds", "count"))
def _sample(keys: Array, summaries: Summary, seeds: int, count: int) -> Evidence:
    return jax.vmap(
        lambda key, summary: evidence(
            key,
            seeds=seeds,
            log_prior=_log_prior,
            log_likelihood=log_likelihood,
            draw=_draw,
            data=summary,
            count=count,
            moves=5,
        )
    )(keys, summaries)


def posteriors(
    keys: Array, summaries: list[Summary], *, seeds: int = 2, count: int = PARTICLES
) -> Evidence:
    """Posterior of the parameters of several causes at once.

    Args:
        keys: JAX random keys, one a cause.
        summaries: Model and observed values of each, padded to one size.
        seeds: Runs of the sampler each.
        count: Particles a run.

    Returns:
        Evidence with a leading axis over the causes; particles are normal scores.

    Checked against: tests/recovery/test_weighing_parameters.py (ranks and coverage).
    """
    stacked = jax.tree.map(lambda *leaves: jnp.stack(leaves), *summaries)
    return _sample(keys, stacked, seeds, count)
