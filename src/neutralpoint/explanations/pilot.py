"""A pilot with limits: what is seen late, what is asked of the column, what strength allows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import jax
import jax.numpy as jnp

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.crew import Crew
from neutralpoint.explanations.strength import POPULATION, fatigue_rate
from neutralpoint.quantities import GRAVITY, POUND_FORCE

# Somatogravic tilt lags the force by "a few seconds" (Groen et al., Safety 2022, 8, 85); 3 s is
# the analyst's choice within that.
FELT_LAG = 3.0
# A pilot expects at least this force per g: 6 lb/g, MIL-F-8785C, level 1, from memory.
LEAST_FORCE_PER_G = 6.0 * POUND_FORCE
# The load factor that the hand aims at is kept between these by the pilot: the limits that
# autopilot malfunction tests accept, 0 to 2 g, AC 23-8C, from memory.
LEAST_PULL_LOAD, MOST_PULL_LOAD = 0.0, 2.0
# How far below its trimmed pitch the nose is let down to gain speed, rad: about 9 deg, analyst's.
LOWERED_PITCH = 0.15


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Pilot:
    """One person at the column. All defaults are the analyst's unless said.

    Args:
        crossover: Speed of the pitch loop, rad/s; 1 to 3 rad/s is usual in tight tracking (McRuer
            and Krendel, AGARDograph 188, 1974, from memory), less when attention is shared.
        outer: Speed of the vertical-speed loop, rad/s.
        holding: How fast a missing load factor is answered with more steady force, rad/s.
        delay: From seeing to the hand, s (0.2 to 0.4 s in tracking, same source).
        lag: Neuromuscular, s (0.1 s, same source, plus the mass of the column).
        indifference: Vertical speed error that is let be, m/s.
        strength: Largest two-handed pull, N.
        one_hand: One-handed over two-handed pull.
        trims: 1 where the pilot trims steady forces away, 0 where not.
        hands: Hands on the column before anything is recognised.
        notice_force: Column force that is recognised as wrong, N.
        notice_climb: Vertical speed error that is, m/s.
        notice_load: Change of load factor that is.
        reaction: From recognition to the first action of the procedure, s. No published
            distribution exists for a trim runaway.
        takeover: From the autopilot letting go to a hand on the column, s.
        act_at: Time of the first action whatever was recognised, s; infinite = as recognised.
    """

    crossover: Scalar = 0.6
    outer: Scalar = 0.15
    holding: Scalar = 0.25
    delay: Scalar = 0.3
    lag: Scalar = 0.15
    indifference: Scalar = 0.5
    strength: Scalar = POPULATION.median
    one_hand: Scalar = POPULATION.one_hand
    trims: Scalar = 1.0
    hands: Scalar = 1.0
    notice_force: Scalar = 15.0 * POUND_FORCE
    notice_climb: Scalar = 5.0
    notice_load: Scalar = 0.3
    reaction: Scalar = 3.0
    takeover: Scalar = 1.0
    act_at: Scalar = jnp.inf


class Mind(NamedTuple):
    """Memory of the pilot.

    Args:
        intent1: Force asked for, half the delay old, N.
        intent2: The whole delay old, N.
        force: Applied by the muscles, N.
        steady: Steady part that the pilot has found, N.
        felt: Pitch felt from the direction of the force, rad.
        left: Strength left, share of fresh.
        recognised: When something was recognised as wrong, s; infinite before.
        let_go: When the autopilot let go, s; infinite before.
    """

    intent1: Scalar
    intent2: Scalar
    force: Scalar
    steady: Scalar
    felt: Scalar
    left: Scalar
    recognised: Scalar
    let_go: Scalar


class Seen(NamedTuple):
    """What instruments and seat tell; SI.

    Args:
        pitch: rad.
        climb: m/s.
        speed: True airspeed, m/s.
        load_factor: Across the path, 1 in level flight.
        felt_pitch: Direction of the specific force in the plane of symmetry, rad.
    """

    pitch: Scalar
    climb: Scalar
    speed: Scalar
    load_factor: Scalar
    felt_pitch: Scalar


class Task(NamedTuple):
    """What is to be held: rad, m/s, and the column force per g that the pilot knows, N."""

    pitch: Scalar
    climb: Scalar
    force_per_g: Scalar


def first_mind(seen: Seen) -> Mind:
    """A pilot in trimmed flight.

    Args:
        seen: At the start.

    Returns:
        The memory.
    """
    zero = jnp.zeros(())
    return Mind(
        intent1=zero,
        intent2=zero,
        force=zero,
        steady=zero,
        felt=jnp.asarray(seen.felt_pitch, float),
        left=jnp.ones(()),
        recognised=jnp.asarray(jnp.inf),
        let_go=jnp.asarray(jnp.inf),
    )


def perceived_pitch(mind: Mind, seen: Seen, illusion: Scalar) -> Scalar:
    """Pitch as believed: the true one, or partly that of the force that is felt.

    Source: perceived pitch follows the gravito-inertial vector, atan2(f_x, f_z), seconds late
    (reference values 12.2 to 12.4: formula from memory, lag Groen et al. 2022).

    Args:
        mind: Holds what is felt.
        seen: The truth.
        illusion: Share of the felt pitch that is believed.

    Returns:
        rad.
    """
    return seen.pitch + illusion * (mind.felt - seen.pitch)


def hands_left(pilot: Pilot, mind: Mind, crew: Crew, time: Scalar) -> Scalar:
    """Hands on the column: two once something is wrong, less those that are busy.

    Args:
        pilot: The pilot.
        mind: Recognised when.
        crew: Hands busy.
        time: s.

    Returns:
        0, 1 or 2.
    """
    on = jnp.where(time >= mind.recognised, 2.0, pilot.hands)
    return jnp.clip(jnp.minimum(on, 2.0 - crew.hands), 0.0, 2.0)


def strength_now(
    pilot: Pilot, mind: Mind, crew: Crew, time: Scalar, flying: Scalar = 1.0
) -> Scalar:
    """Largest pull that is there: by hands and fatigue, and a second person of the same strength.

    Args:
        pilot: The pilot.
        mind: Strength left.
        crew: Hands busy and second person.
        time: s.
        flying: 0 where the first person does not fly.

    Returns:
        N.
    """
    hands = hands_left(pilot, mind, crew, time)
    share = jnp.where(hands >= 2.0, 1.0, jnp.where(hands >= 1.0, pilot.one_hand, 0.0))
    return pilot.strength * (share * mind.left * flying + crew.second)


def think(
    pilot: Pilot,
    mind: Mind,
    seen: Seen,
    task: Task,
    *,
    crew: Crew,
    flying: Scalar,
    illusion: Scalar,
    time: Scalar,
    step: Scalar,
) -> Mind:
    """One step of the pilot: attitude within vertical speed, late, through muscles that tire.

    The hand asks for crossover * V / g * (pitch error) more load factor, at the force per g it
    knows: then pitch follows its error at the crossover frequency, the crossover model of McRuer
    and Krendel, AGARDograph 188 (1974), from memory. The steady part grows until the load factor
    asked for is there. The delay is two equal lags.

    Args:
        pilot: The pilot.
        mind: Memory.
        seen: What is seen.
        task: What is to be held.
        crew: Hands busy.
        flying: 1 with hands on the column, 0 without; a second person flies in either case.
        illusion: Share of the felt pitch believed.
        time: s.
        step: s.

    Returns:
        New memory; `force` is what the column gets.
    """
    error = task.climb - seen.climb
    spare = jnp.sign(error) * jnp.maximum(jnp.abs(error) - pilot.indifference, 0.0)
    wanted = task.pitch + jnp.clip(pilot.outer / pilot.crossover * spare / seen.speed, -0.15, 0.25)
    wanted = jnp.where(crew.lowered > 0.0, task.pitch - LOWERED_PITCH, wanted)
    off = wanted - perceived_pitch(mind, seen, illusion * (1.0 - crew.attitude))
    load = 1.0 + pilot.crossover * seen.speed / GRAVITY * off
    load = jnp.clip(load, LEAST_PULL_LOAD, MOST_PULL_LOAD)
    gain = jnp.maximum(task.force_per_g, LEAST_FORCE_PER_G)
    limit = strength_now(pilot, mind, crew, time, flying)
    steady = mind.steady + step * pilot.holding * gain * (load - seen.load_factor)
    steady = jnp.clip(steady, -limit, limit)
    asked = jnp.clip(gain * (load - 1.0) + steady, -limit, limit)

    def follow(value, target, lag):
        return value + (target - value) * (1.0 - jnp.exp(-step / lag))

    intent1 = follow(mind.intent1, asked, 0.5 * pilot.delay)
    intent2 = follow(mind.intent2, mind.intent1, 0.5 * pilot.delay)
    force = jnp.clip(follow(mind.force, mind.intent2, pilot.lag), -limit, limit)
    felt = mind.felt + step / FELT_LAG * (seen.felt_pitch - mind.felt)
    left = mind.left * (1.0 - step * fatigue_rate(jnp.abs(force) / pilot.strength))
    wrong = (
        (jnp.abs(force) > pilot.notice_force)
        | (jnp.abs(error) > pilot.notice_climb)
        | (jnp.abs(seen.load_factor - 1.0) > pilot.notice_load)
    )
    recognised = jnp.where(wrong, jnp.minimum(mind.recognised, time), mind.recognised)
    return Mind(intent1, intent2, force, steady, felt, left, recognised, mind.let_go)


def first_action(pilot: Pilot, mind: Mind) -> Scalar:
    """When the procedure begins.

    Args:
        pilot: Reaction, or the time told.
        mind: Recognition.

    Returns:
        s; infinite while nothing was recognised.
    """
    told = jnp.isfinite(pilot.act_at)
    return jnp.where(told, pilot.act_at, mind.recognised + pilot.reaction)
