"""What becomes of a flight: how low, how fast, how hard, and whether it was recovered."""

from __future__ import annotations

from typing import Generic, NamedTuple, TypeVar

import jax
import jax.numpy as jnp
from jax import Array

from neutralpoint.dynamics.air import gas, height_above
from neutralpoint.dynamics.state import attitude
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.cockpit import meet_air
from neutralpoint.explanations.flight import Carry, start_flight
from neutralpoint.explanations.pilot import first_action
from neutralpoint.explanations.setting import Setting

Leaf = TypeVar("Leaf")

# A flight counts as recovered when, for as long as the third, it has not sunk faster than the
# first, beyond the descent that it was in, nor banked more than the second, nor trimmed: m/s, rad,
# s. Analyst's choice.
LEVEL_CLIMB, LEVEL_BANK, LEVEL_TIME = -1.0, 0.5, 4.0
# After a fault that raises the nose a climb is no recovery: the flight must not climb faster than
# this beyond the climb that it was in, m/s, and the wing must be below its stall. Analyst's: as
# far above level as the first above is below it, and common practice for a nose-high upset, no
# source.
LEVEL_RISE = -LEVEL_CLIMB


class Outcome(NamedTuple, Generic[Leaf]):
    """What a flight came to: JAX arrays within the program, NumPy arrays of many when saved.

    Args:
        height_lost: From the start to the lowest point, m; grows to the end where not recovered.
        lowest_pressure: Dynamic pressure at the lowest point, Pa.
        lowest_load: Load factor there.
        pressure_high: Largest dynamic pressure, Pa.
        load_factor_high: Largest.
        load_factor_low: Smallest.
        pull: Largest column force applied, N.
        pressure_low: Smallest dynamic pressure, Pa.
        pitch_high: Largest pitch angle, rad.
        spare_low: Smallest angle of attack that was left to the stall, rad; negative = stalled.
        height_gained: From the start to the highest point, m.
        dropped: From the highest point to the lowest one after it, m.
        recovered: When it had been level, or back in its descent, for `LEVEL_TIME`, s; after a
            fault that raises the nose also not climbing nor stalled; infinite = not within the
            flight.
    """

    height_lost: Leaf
    lowest_pressure: Leaf
    lowest_load: Leaf
    pressure_high: Leaf
    load_factor_high: Leaf
    load_factor_low: Leaf
    pull: Leaf
    pressure_low: Leaf
    pitch_high: Leaf
    spare_low: Leaf
    height_gained: Leaf
    dropped: Leaf
    recovered: Leaf


class Watch(NamedTuple):
    """A flight under way and what it came to so far; `level` is how long it has been level, s."""

    carry: Carry
    worst: Outcome
    level: Scalar


def _pressure(setting: Setting, carry: Carry) -> Scalar:
    """Dynamic pressure of the speed over the ground: the wind at the start is left out of it."""
    s = carry.state
    height = height_above(setting.air, s.north, s.east, s.down)
    speed2 = s.velocity_north**2 + s.velocity_east**2 + s.velocity_down**2
    return jnp.asarray(0.5 * gas(setting.air, height)[0] * speed2)


def _spare(setting: Setting, carry: Carry) -> Scalar:
    """Angle of attack that is left to the stall, clean of what a cause does to the wing, rad."""
    lon, met = setting.airplane.longitudinal, meet_air(setting, carry.state)
    stall = lon.stall_angle + lon.stall_angle_flap * setting.inputs.flap
    return jnp.asarray(stall - jnp.arctan2(met.w, met.u))


def first_watch(setting: Setting) -> Watch:
    """The start of a flight that is watched.

    Args:
        setting: Where it starts.

    Returns:
        With nothing lost so far.
    """
    carry = start_flight(setting)
    zero = jnp.zeros_like(carry.time)
    pressure, load = _pressure(setting, carry), jnp.asarray(carry.felt.normal)
    pitch, spare = jnp.asarray(attitude(carry.state)[1]), _spare(setting, carry)
    worst = Outcome(
        zero, pressure, load, pressure, load, load, zero,
        pressure, pitch, spare, zero, zero, zero + jnp.inf,
    )  # fmt: skip
    return Watch(carry, worst, zero)


def look(
    setting: Setting,
    before: Watch,
    carry: Carry,
    settled: Scalar,
    step: Scalar,
    *,
    nose: Scalar = 1.0,
) -> Watch:
    """What a flight came to, one step further.

    Nothing counts as recovered before the procedure is done, and the fault has begun and done
    what it does by itself.

    Args:
        setting: Of the flight.
        before: One step ago.
        carry: Now.
        settled: Time from which the fault does nothing new by itself, s.
        step: s.
        nose: Which way the fault pitches: 1 lowers the nose or neither, -1 raises it.

    Returns:
        Now.
    """
    worst, s = before.worst, carry.state
    lost, climb = s.down - setting.state.down, -s.velocity_down
    pressure, load = _pressure(setting, carry), jnp.asarray(carry.felt.normal)
    spare, (bank, pitch, _) = _spare(setting, carry), attitude(s)
    descent = jnp.minimum(-setting.state.velocity_down, 0.0)  # the pilot goes back to it
    ascent = jnp.maximum(-setting.state.velocity_down, 0.0)
    down_again = (climb <= ascent + LEVEL_RISE) & (spare > 0.0)
    calm = (
        (climb >= descent + LEVEL_CLIMB)
        & ((nose >= 0.0) | down_again)
        & (jnp.abs(bank) <= LEVEL_BANK)
        & (carry.trim == before.carry.trim)
    )
    level = jnp.where(calm, before.level + step, 0.0)
    acted = first_action(setting.pilot, carry.mind) + setting.timetable.end
    done = (level >= LEVEL_TIME) & (carry.time >= jnp.maximum(settled, acted) + LEVEL_TIME)
    # After recovery the flight goes on in its lane, and what it does then counts no more.
    running = ~jnp.isfinite(worst.recovered)
    lower = running & (lost > worst.height_lost)

    def kept(new, old):
        return jnp.where(running, new, old)

    gained = jnp.maximum(worst.height_gained, -lost)
    worst = Outcome(
        height_lost=jnp.where(lower, lost, worst.height_lost),
        lowest_pressure=jnp.where(lower, pressure, worst.lowest_pressure),
        lowest_load=jnp.where(lower, load, worst.lowest_load),
        pressure_high=kept(jnp.maximum(worst.pressure_high, pressure), worst.pressure_high),
        load_factor_high=kept(jnp.maximum(worst.load_factor_high, load), worst.load_factor_high),
        load_factor_low=kept(jnp.minimum(worst.load_factor_low, load), worst.load_factor_low),
        pull=kept(jnp.maximum(worst.pull, jnp.abs(carry.mind.force)), worst.pull),
        pressure_low=kept(jnp.minimum(worst.pressure_low, pressure), worst.pressure_low),
        pitch_high=kept(jnp.maximum(worst.pitch_high, pitch), worst.pitch_high),
        spare_low=kept(jnp.minimum(worst.spare_low, spare), worst.spare_low),
        height_gained=kept(gained, worst.height_gained),
        dropped=kept(jnp.maximum(worst.dropped, gained + lost), worst.dropped),
        recovered=jnp.where(running & done, carry.time, worst.recovered),
    )
    return Watch(carry, worst, level)


def at_the_end(watch: Watch, over: Array) -> Outcome:
    """The outcome when a flight is over: what is level then has been recovered.

    Args:
        watch: The flight.
        over: Whether its time is over.

    Returns:
        The outcome.
    """
    level = over & (watch.level >= LEVEL_TIME) & ~jnp.isfinite(watch.worst.recovered)
    return watch.worst._replace(recovered=jnp.where(level, watch.carry.time, watch.worst.recovered))


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


def cast(tree, kind: str):
    """Every leaf as an array of one kind, so that one compiled program serves all of a shape.

    Args:
        tree: Scalars and arrays.
        kind: "float64" or "float32".

    Returns:
        The tree.
    """
    return jax.tree.map(lambda x: jnp.asarray(x, kind), tree)
