"""Evidence and posterior of one model by tempered sequential Monte Carlo, over several seeds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any, cast

import jax
import jax.numpy as jnp
from blackjax.mcmc import random_walk
from blackjax.smc import adaptive_tempered, resampling
from jax import Array

Density = Callable[[Array], Array]
Likelihood = Callable[[Array, Any], Array]
Draw = Callable[[Array, int], Array]

# Share of the particles that still count after each step of the temperature, and a bound on the
# number of steps, far above what any of the problems of known evidence takes.
KEPT = 0.7
MOST_STEPS = 120
ARRIVED = 1.0 - 1e-9  # steps of the temperature add up to 1 only to rounding
# Sizes of a move over 2.38 / sqrt(d), drawn anew each time: wide ones carry mass between modes,
# narrow ones settle it. Source of 2.38: Roberts, Gelman and Gilks, Ann. Appl. Prob. 7 (1997).
SCALES = (1.0, 0.4, 0.12)
WIDEST = 2.38


@jax.tree_util.register_dataclass
@dataclass(frozen=True)
class Run:
    """One run of the sampler.

    Attributes:
        log_evidence: ln Z.
        particles: Equally weighted draws of the posterior, shape (n, d).
        steps: Temperature steps taken.
        temperature: Reached; 1 is the posterior.
        acceptance: Share of the moves accepted in the last step.
    """

    log_evidence: Array
    particles: Array
    steps: Array
    temperature: Array
    acceptance: Array


@jax.tree_util.register_dataclass
@dataclass(frozen=True)
class Evidence:
    """What several seeds say together.

    Attributes:
        log_evidence: ln of the mean of Z over the seeds.
        error: Standard error of that, from the spread over the seeds.
        each: ln Z of every seed, shape (r,).
        particles: Draws of the posterior, the seeds pooled, shape (r n, d).
        settled: Whether every seed reached temperature 1.
    """

    log_evidence: Array
    error: Array
    each: Array
    particles: Array
    settled: Array


def _move(key: Array, state, log_density: Density, factor: Array):
    """One symmetric random-walk step of a size drawn from `SCALES`."""
    pick, step = jax.random.split(key)
    scale = jax.random.choice(pick, jnp.asarray(SCALES))

    def proposal(inner: Array, position: Array) -> Array:
        return scale * factor @ jax.random.normal(inner, position.shape)

    return random_walk.build_additive_step()(step, state, log_density, proposal)


def _factor(particles: Array, weights: Array) -> Array:
    """Cholesky factor of a random-walk step, from the spread of the particles, shape (1, d, d)."""
    size = particles.shape[1]
    centred = particles - weights @ particles
    spread = (weights[:, None] * centred).T @ centred
    # Particles may all lie in a plane once few count; the factor must exist all the same.
    floor = 1e-10 * (1.0 + jnp.trace(spread) / size)
    return (WIDEST / size**0.5) * jnp.linalg.cholesky(spread + floor * jnp.eye(size))[None]


@partial(jax.jit, static_argnames=("log_prior", "log_likelihood", "draw", "count", "moves"))
def sample(
    key: Array,
    *,
    log_prior: Density,
    log_likelihood: Likelihood,
    draw: Draw,
    data: Any = None,
    count: int = 1000,
    moves: int = 12,
) -> Run:
    """Carry particles from the prior to the posterior.

    Args:
        key: JAX random key.
        log_prior: Normalised log density of parameters, shape (d,); minus infinity outside.
        log_likelihood: Log likelihood of parameters, shape (d,), and `data`.
        draw: `draw(key, n)` gives n draws of the prior, shape (n, d).
        data: What the likelihood needs, any pytree of arrays; not compiled in.
        count: Particles. Static.
        moves: Moves of each particle at each temperature. Static.

    Returns:
        The run.

    Source: Del Moral, Doucet and Jasra, J. R. Stat. Soc. B 68 (2006) 411-436; the temperatures by
    effective sample size, as in the sampler library's adaptive tempering.
    Checked against: tests/against/test_evidence.py.
    """

    def likelihood(position: Array) -> Array:
        return log_likelihood(position, data)

    kernel = adaptive_tempered.build_kernel(
        log_prior, likelihood, _move, random_walk.init, resampling.systematic, KEPT
    )
    first, rest, last = jax.random.split(key, 3)

    def unfinished(carry):
        state, _, _, count_, _ = carry
        return (state.tempering_param < ARRIVED) & (count_ < MOST_STEPS)

    def step(carry):
        state, total, key_, count_, _ = carry
        key_, now = jax.random.split(key_)
        parameters = {"factor": _factor(state.particles, state.weights)}
        state, info = kernel(now, state, moves, parameters)
        accepted = jnp.mean(info.update_info.acceptance_rate)
        return state, total + info.log_likelihood_increment, key_, count_ + 1, accepted

    start = adaptive_tempered.init(draw(first, count))
    # The library starts from a Python number, and a loop may not change the kind of its values.
    start = start._replace(tempering_param=jnp.zeros(()))
    state, total, _, steps, accepted = jax.lax.while_loop(
        unfinished, step, (start, jnp.zeros(()), rest, jnp.asarray(0), jnp.zeros(()))
    )
    chosen = resampling.systematic(last, state.weights, count)
    particles = cast(Array, state.particles)  # one array: the density takes its rows
    return Run(total, particles[chosen], steps, jnp.asarray(state.tempering_param), accepted)


def evidence(key: Array, *, seeds: int = 4, **problem) -> Evidence:
    """Run the sampler with several seeds and say how far they agree.

    Args:
        key: JAX random key.
        seeds: Number of runs, at least 2.
        **problem: As for `sample`.

    Returns:
        Evidence with its error.

    Source: the error of ln Z from the spread over independent runs, delta method.
    """
    runs = jax.vmap(lambda k: sample(k, **problem))(jax.random.split(key, seeds))
    each = runs.log_evidence
    pooled = jax.scipy.special.logsumexp(each) - jnp.log(seeds)
    share = jnp.exp(each - pooled)
    error = jnp.std(share, ddof=1) / seeds**0.5
    return Evidence(
        pooled,
        error,
        each,
        runs.particles.reshape(-1, runs.particles.shape[-1]),
        jnp.all(runs.temperature >= ARRIVED),
    )
