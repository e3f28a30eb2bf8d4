"""What becomes of a flight: how low, how fast, how hard, and whether it was recovered."""

from __future__ import annotations

from typing import NamedTuple

import jax
import jax.numpy as jnp
from jax import Array

from neutralpoint.dynamics.air import gas, height_above
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.flight import Carry, one_step, start_flight
from neutralpoint.explanations.setting import Setting

# A step twice that of `dynamics.flight.STEP`: benchmarks/response_map.py prints the error.
MAP_STEP = 0.1
# Steps between looks at whether every flight of a block is over.
CHUNK = 20
# A flight counts as recovered when it has not sunk below its lowest point by more than the first
# for as long as the second: m, s. Analyst's.
LEVEL_CLIMB, LEVEL_TIME = -1.0, 4.0


class Outcome(NamedTuple):
    """What a flight came to.

    Args:
        height_lost: From the start to the lowest point, m; grows to the end where not recovered.
        dynamic_pressure: Largest, Pa.
        load_factor_high: Largest.
        load_factor_low: Smallest.
        pull: Largest column force applied, N.
        recovered: When the sink ended for good, s; infinite = not within the flight.
        recovery_height_lost: Height lost at that time, m.
        recovery_pressure: Dynamic pressure then, Pa.
    """

    height_lost: Scalar
    dynamic_pressure: Scalar
    load_factor_high: Scalar
    load_factor_low: Scalar
    pull: Scalar
    recovered: Scalar
    recovery_height_lost: Scalar
    recovery_pressure: Scalar


class _Watch(NamedTuple):
    carry: Carry
    worst: Outcome
    level: Scalar


def _pressure(setting: Setting, carry: Carry) -> Scalar:
    """Dynamic pressure of the speed over the ground: the wind at the start is left out of it."""
    s = carry.state
    height = height_above(setting.air, s.north, s.east, s.down)
    speed2 = s.velocity_north**2 + s.velocity_east**2 + s.velocity_down**2
    return 0.5 * gas(setting.air, height)[0] * speed2


def _look(setting: Setting, before: _Watch, carry: Carry, fault: Scalar, step: float) -> _Watch:
    worst, s = before.worst, carry.state
    lost = s.down - setting.state.down
    pressure = _pressure(setting, carry)
    level = jnp.where(-s.velocity_down >= LEVEL_CLIMB, before.level + step, 0.0)
    done = (level >= LEVEL_TIME) & (carry.time >= fault + LEVEL_TIME)
    first = done & ~jnp.isfinite(worst.recovered)
    running = ~jnp.isfinite(worst.recovered)

    def kept(new, old):
        return jnp.where(running, new, old)

    worst = Outcome(
        height_lost=kept(jnp.maximum(worst.height_lost, lost), worst.height_lost),
        dynamic_pressure=kept(
            jnp.maximum(worst.dynamic_pressure, pressure), worst.dynamic_pressure
        ),
        load_factor_high=kept(
            jnp.maximum(worst.load_factor_high, carry.felt.normal), worst.load_factor_high
        ),
        load_factor_low=kept(
            jnp.minimum(worst.load_factor_low, carry.felt.normal), worst.load_factor_low
        ),
        pull=kept(jnp.maximum(worst.pull, jnp.abs(carry.mind.force)), worst.pull),
        recovered=jnp.where(first, carry.time, worst.recovered),
        recovery_height_lost=jnp.where(first, lost, worst.recovery_height_lost),
        recovery_pressure=jnp.where(first, pressure, worst.recovery_pressure),
    )
    return _Watch(carry, worst, level)


def fly_to_outcome(
    setting: Setting,
    cause: Cause,
    parameters: dict[str, Scalar],
    *,
    busy: Scalar = 0.0,
    deepest: Scalar = jnp.inf,
    duration: float,
    step: float = MAP_STEP,
) -> Outcome:
    """Fly until recovered, deeper than asked about, or out of time; nothing is recorded.

    Same equations and crew as `explanations.fly`. Works inside `jit` and `vmap`; in a batch all
    flights run until the last one is over.

    Args:
        setting: Where the flight starts.
        cause: What happens; not a turbulent one. Static.
        parameters: By name.
        busy: Time before which nothing counts as recovered, s (the fault still runs).
        deepest: Height loss beyond which the flight is over, m.
        duration: Longest, s. Static.
        step: s. Static.

    Returns:
        What it came to.
    """
    carry = start_flight(setting)
    zero = jnp.zeros_like(carry.time)
    pressure = _pressure(setting, carry)
    worst = Outcome(
        height_lost=zero,
        dynamic_pressure=pressure,
        load_factor_high=carry.felt.normal,
        load_factor_low=carry.felt.normal,
        pull=zero,
        recovered=zero + jnp.inf,
        recovery_height_lost=zero + jnp.nan,
        recovery_pressure=zero + jnp.nan,
    )
    settle = jnp.maximum(parameters["start"], busy)

    def flown(_, watch):
        moved = one_step(setting, cause, parameters, watch.carry, step=step)[0]
        after = _look(setting, watch, moved, settle, step)
        return jax.tree.map(lambda new, old: jnp.asarray(new, old.dtype), after, watch)

    def going(watch):
        over = jnp.isfinite(watch.worst.recovered) | (watch.worst.height_lost > deepest)
        return ~over & (watch.carry.time < duration - 0.5 * step)

    def chunk(watch):
        return jax.lax.fori_loop(0, CHUNK, flown, watch)

    return jax.lax.while_loop(going, chunk, _Watch(carry, worst, zero)).worst


def saved(outcome: Outcome, height: Scalar) -> Array:
    """Whether a flight that starts this high above the ground is recovered above it.

    The height of the ground enters no equation of motion, so one flight answers for every height.

    Args:
        outcome: Of the flight.
        height: Above the ground at the start, m.

    Returns:
        True where it is.
    """
    return jnp.isfinite(outcome.recovered) & (outcome.height_lost < height)
