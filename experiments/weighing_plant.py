"""A small longitudinal airplane with causes, pilot and turbulence, for weighing experiments.

Five states and few operations a second of flight, so that likelihoods which need thousands
of flights can be compared on two cores. All numbers are invented, of the size of a 5 t commuter.
"""

from __future__ import annotations

from functools import partial
from typing import NamedTuple

import jax
import jax.numpy as jnp
from jax import Array

jax.config.update("jax_enable_x64", True)

CAUSES = ("nothing", "runaway", "stops and restarts", "load shift", "power loss", "push")
STEP, SECONDS, GRAVITY = 0.1, 40.0, 9.80665
STEPS, EVERY = round(SECONDS / STEP), 10
SPEED, HEIGHT, MASS, AREA, CHORD, INERTIA = 100.0, 2000.0, 5200.0, 28.0, 1.75, 2.9e4
DENSITY = 1.0
PRESSURE = 0.5 * DENSITY * SPEED**2
TRIM_CL = MASS * GRAVITY / (PRESSURE * AREA)
NOISE = jnp.array([0.05, 2.0, 0.01, 8.0])  # load factor, speed, path angle, height
PARAMETERS = 8  # cause: 4; pilot: 4
NUISANCE = 5


class Model(NamedTuple):
    """What the truth and the fitted model may differ in."""

    spread: float = 0.1  # of the derivatives
    gust: float = 1.0  # m/s, median
    lag: float = 4.0  # s, of the gust
    hands: float = 0.004  # rad of elevator that hands wander
    wind: float = 1.5  # m/s of error that drifts through the window
    second_lag: float = 0.0  # s, a lag of the pilot that the fitted model lacks


FITTED = Model()
TRUTH = Model(spread=0.2, gust=1.5, lag=2.5, hands=0.007, wind=2.5, second_lag=0.3)


class Plant(NamedTuple):
    """State of one flight."""

    speed: Array
    path: Array
    pitch: Array
    rate: Array
    height: Array
    gust: Array
    hand: Array
    pull: Array
    lagged: Array


def start() -> Plant:
    """Trimmed level flight."""
    zero = jnp.zeros(())
    return Plant(SPEED + zero, zero, zero, zero, HEIGHT + zero, zero, zero, zero, zero)


def fault(cause: int, p: Array, time: Array) -> tuple[Array, Array, Array]:
    """Change of trim (rad), of the CG (chords) and of thrust (share) of a cause at a time."""
    u = jax.scipy.stats.norm.cdf(p)
    begin = 1.0 + 14.0 * u[0]
    since = jnp.maximum(time - begin, 0.0)
    rate, run, pause = 0.003 * jnp.exp(0.4 * p[1]), 2.0 + 13.0 * u[2], 2.0 + 8.0 * u[3]
    zero = 0.0 * since
    if cause == 1:
        return rate * jnp.minimum(since, run), zero, zero
    if cause == 2:
        first = jnp.minimum(since, 0.5 * run)
        again = jnp.clip(since - 0.5 * run - pause, 0.0, 0.5 * run)
        return rate * (first + again), zero, zero
    if cause == 3:
        size = 0.25 * (2.0 * u[1] - 1.0)
        return zero, size * jnp.clip(since / (0.5 + 2.0 * u[2]), 0.0, 1.0), zero
    if cause == 4:
        return zero, zero, -(0.2 + 0.8 * u[1]) * jnp.clip(since, 0.0, 1.0)
    if cause == 5:
        size = 0.05 * jnp.exp(0.4 * p[1])
        return size * jnp.clip(since / 2.0, 0.0, 1.0) * (since < run + 3.0), zero, zero
    return zero, zero, zero


def advance(state: Plant, fault_: tuple, p: Array, nuisance: Array, noise: Array, model: Model):
    """One step of Euler's rule; returns the new state and what is observed of the old one."""
    trim, shift, power = fault_
    gain, delay = 0.5 * jnp.exp(0.4 * p[4]), 0.6 * jnp.exp(0.4 * p[5])
    limit = 0.06 * jnp.exp(0.5 * p[6])
    factor = jnp.exp(model.spread * nuisance)
    pressure = 0.5 * DENSITY * state.speed**2
    alpha = state.pitch - state.path
    met = alpha + state.gust / state.speed
    lift = TRIM_CL + 0.35 * jnp.tanh(5.6 * factor[0] * met / 0.9) * 0.9 / 0.35
    load = pressure * AREA * lift / (MASS * GRAVITY)
    elevator = state.pull * jnp.minimum(1.0, PRESSURE / pressure)
    moment = (
        -1.1 * factor[1] * met
        - 24.0 * factor[2] * state.rate * CHORD / (2.0 * state.speed)
        + 1.7 * factor[3] * (elevator + state.hand)
        - 3.3 * factor[4] * trim
        - lift * shift
    )
    drag = pressure * AREA * (0.032 + 0.045 * lift**2)
    thrust = PRESSURE * AREA * (0.032 + 0.045 * TRIM_CL**2) * (1.0 + power) * SPEED / state.speed
    along = (thrust - drag) / (MASS * GRAVITY)
    wanted = -gain * (state.pitch + 0.4 * state.rate) * (1.0 + 0.3 * p[7])
    wanted = jnp.clip(wanted, -limit, limit)
    lagged = state.lagged + STEP * (wanted - state.lagged) / jnp.maximum(model.second_lag, STEP)
    gust_size = model.gust * jnp.exp(0.3 * p[7])
    new = Plant(
        state.speed + STEP * GRAVITY * (along - jnp.sin(state.path)),
        state.path + STEP * GRAVITY / state.speed * (load - jnp.cos(state.path)),
        state.pitch + STEP * state.rate,
        state.rate + STEP * pressure * AREA * CHORD * moment / INERTIA,
        state.height + STEP * state.speed * jnp.sin(state.path),
        state.gust
        + -STEP / model.lag * state.gust
        + gust_size * (2.0 * STEP / model.lag) ** 0.5 * noise[0],
        state.hand - STEP / 2.0 * state.hand + model.hands * STEP**0.5 * noise[1],
        state.pull + STEP * (lagged - state.pull) / jnp.maximum(delay, 2.0 * STEP),
        lagged,
    )
    return new, jnp.stack([load, state.speed, state.path, state.height])


@partial(jax.jit, static_argnames=("cause", "model"))
def flights(cause: int, p: Array, key: Array, model: Model) -> Array:
    """Observations once a second without their own noise, shape (n, seconds, 4)."""

    def one(p_, key_):
        first, second, third = jax.random.split(key_, 3)
        nuisance = jax.random.normal(first, (NUISANCE,))
        noise = jax.random.normal(second, (STEPS, 2))
        drift = model.wind * jax.random.normal(third, (2,))

        def step(state, inputs):
            count, now = inputs
            return advance(state, fault(cause, p_, count * STEP), p_, nuisance, now, model)

        _, seen = jax.lax.scan(step, start(), (jnp.arange(STEPS), noise))
        seen = seen[EVERY - 1 :: EVERY]
        share = jnp.arange(seen.shape[0]) / seen.shape[0]
        return seen.at[:, 1].add(drift[0] * share + drift[1] * share**2)

    return jax.vmap(one)(p, jax.random.split(key, p.shape[0]))


def draw(cause: int, key: Array, count: int, model: Model) -> tuple[Array, Array]:
    """Parameters as normal scores and noisy observations of flights of one cause."""
    first, second, third = jax.random.split(key, 3)
    p = jax.random.normal(first, (count, PARAMETERS))
    seen = flights(cause, p, second, model)
    return p, seen + NOISE * jax.random.normal(third, seen.shape)
