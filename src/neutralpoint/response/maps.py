"""Maps of outcomes, the latest safe action, and what another design would have bought."""

from __future__ import annotations

import dataclasses
from functools import partial

import jax
import jax.numpy as jnp
from jax import Array

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.prior import Prior
from neutralpoint.explanations.setting import Setting
from neutralpoint.explanations.strength import POPULATION, Population, draw_strength
from neutralpoint.response.outcome import MAP_STEP, Outcome, fly_to_outcome, saved

# From recognition to the first action. Analyst's, no published distribution: none was found for a
# trim runaway, and none is invented here; the analyst states one.
REACTION = Prior("lognormal", 4.0, 0.5)
REACTION_SOURCE = "analyst's, no published distribution"
# Delays that rules and test practice use after recognition, s: 14 CFR 23.677(d) and 25.255 by test
# practice (3; 1.5 late on approach), AC 23-8C (1 in manoeuvring flight), from memory. Reference
# settings, never what a pilot did.
REGULATORY_DELAYS = (1.0, 1.5, 3.0)
# Flights that share one early exit.
BLOCK = 2048


def draw_pilots(
    setting: Setting, key: Array, count: int, population: Population = POPULATION
) -> Setting:
    """Settings that differ in the pilot: strength, gain, delay.

    Args:
        setting: The middling one.
        key: JAX random key.
        count: How many.
        population: Of strength; spreads of gain and delay (20 %, 30 %) are the analyst's.

    Returns:
        The same setting with (count,) leaves in `pilot` for these.
    """
    strong, quick, late = jax.random.split(key, 3)
    share = (jax.random.permutation(strong, count) + 0.5) / count
    pilot = dataclasses.replace(
        setting.pilot,
        strength=draw_strength(population, share),
        crossover=setting.pilot.crossover * jnp.exp(0.2 * jax.random.normal(quick, (count,))),
        delay=setting.pilot.delay * jnp.exp(0.3 * jax.random.normal(late, (count,))),
    )
    return dataclasses.replace(setting, pilot=pilot)


def _cast(tree, kind):
    return jax.tree.map(lambda x: jnp.asarray(x, kind), tree)


def _one(setting, cause, parameters, changes, *, duration, deepest, step) -> Outcome:
    """One flight with some numbers of pilot and cause replaced."""
    pilot = {k: v for k, v in changes.items() if not k.startswith("cause.")}
    setting = dataclasses.replace(setting, pilot=dataclasses.replace(setting.pilot, **pilot))
    own = {k[6:]: v for k, v in changes.items() if k.startswith("cause.")}
    return fly_to_outcome(
        setting, cause, parameters | own, duration=duration, deepest=deepest, step=step
    )


@partial(jax.jit, static_argnames=("cause", "duration", "step", "block", "kind"))
def _run(setting, cause, parameters, changes, deepest, *, duration, step, block, kind):
    setting, parameters, changes, deepest = _cast((setting, parameters, changes, deepest), kind)

    def flown(part):
        return jax.vmap(
            lambda c: _one(
                setting, cause, parameters, c, duration=duration, deepest=deepest, step=step
            )
        )(part)

    total = len(next(iter(changes.values())))
    count = -(-total // block)
    filled = jax.tree.map(lambda x: jnp.pad(x, (0, count * block - total), mode="edge"), changes)
    parts = jax.tree.map(lambda x: x.reshape(count, block), filled)
    outcome = jax.lax.map(flown, parts)
    return jax.tree.map(lambda x: x.reshape(count * block)[:total], outcome)


def fly_many(
    setting: Setting,
    cause: Cause,
    parameters: dict[str, Scalar],
    changes: dict[str, Array],
    *,
    duration: float = 60.0,
    deepest: Scalar = jnp.inf,
    step: float = MAP_STEP,
    block: int = BLOCK,
    kind: str = "float64",
) -> Outcome:
    """Many flights that differ in some numbers; flights that end together should lie together.

    Args:
        setting: Common to all.
        cause: Static.
        parameters: Common to all.
        changes: (n,) by name: fields of the pilot, or "cause." and a parameter of the cause.
        duration: Longest flight, s. Static.
        deepest: Height loss beyond which a flight is over, m.
        step: s. Static.
        block: Flights that run together. Static.
        kind: "float64" or "float32". Static.

    Returns:
        Outcomes, leaves (n,).
    """
    return _run(
        setting,
        cause,
        parameters,
        changes,
        deepest,
        duration=duration,
        step=step,
        block=min(block, len(next(iter(changes.values())))),
        kind=kind,
    )


def outcome_map(
    setting: Setting,
    cause: Cause,
    parameters: dict[str, Scalar],
    *,
    delay: Array,
    rate: Array,
    pilots: Setting,
    **run,
) -> Outcome:
    """Outcomes over reaction delay and trim rate, for every pilot.

    Args:
        setting: Common to all, with the procedure.
        cause: A runaway. Static.
        parameters: Of the cause; its `rate_share` is replaced.
        delay: (d,) from recognition to the first action, s.
        rate: (r,) share of the motor's rate.
        pilots: Of `draw_pilots`, p of them.
        **run: As in `fly_many`.

    Returns:
        Leaves (d, r, p).
    """
    names = ("strength", "crossover", "delay")
    count = len(pilots.pilot.strength)
    shape = (len(rate), len(delay), count)  # slow motors last longest: keep them together
    changes = {
        "reaction": jnp.broadcast_to(delay[None, :, None], shape).ravel(),
        "cause.rate_share": jnp.broadcast_to(rate[:, None, None], shape).ravel(),
    }
    for name in names:
        changes[name] = jnp.broadcast_to(getattr(pilots.pilot, name), shape).ravel()
    outcome = fly_many(setting, cause, parameters, changes, **run)
    return jax.tree.map(lambda x: jnp.swapaxes(x.reshape(shape), 0, 1), outcome)


def saved_over_height(outcome: Outcome, height: Array) -> Array:
    """Share of pilots who recover, over whatever the outcomes span and height above the ground.

    Args:
        outcome: Leaves (..., p).
        height: (h,) m.

    Returns:
        (..., h).
    """
    each = jax.tree.map(lambda x: x[..., None], outcome)
    return jnp.mean(saved(each, height), axis=-2)


def latest_safe_action(
    setting: Setting,
    cause: Cause,
    parameters: dict[str, Scalar],
    pilots: Setting,
    *,
    height: float,
    longest: float = 30.0,
    rounds: int = 8,
    **run,
) -> Array:
    """How long after the fault begins the procedure could still begin, by bisection in the batch.

    It is assumed that later is never better.

    Args:
        setting: With the procedure.
        cause: Static.
        parameters: Of the cause.
        pilots: Of `draw_pilots`, p of them.
        height: Above the ground at the start, m.
        longest: Longest delay looked at, s.
        rounds: Halvings; 8 of 30 s leave 0.12 s. Static.
        **run: As in `fly_many`.

    Returns:
        (p,) s after the start of the fault; -1 where even at once is too late.
    """
    start = parameters["start"]
    fixed = {name: getattr(pilots.pilot, name) for name in ("strength", "crossover", "delay")}
    count = len(fixed["strength"])

    def safe(delay):
        outcome = fly_many(
            setting, cause, parameters, fixed | {"act_at": start + delay}, deepest=height, **run
        )
        return saved(outcome, height)

    low, high = jnp.zeros(count), jnp.full(count, longest)
    never, always = ~safe(low), safe(high)
    for _ in range(rounds):
        middle = 0.5 * (low + high)
        good = safe(middle)
        low, high = jnp.where(good, middle, low), jnp.where(good, high, middle)
    return jnp.where(never, -1.0, jnp.where(always, longest, low))
