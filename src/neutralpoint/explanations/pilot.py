"""A pilot with limits: who flies, what is seen and remembered, what strength allows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import jax
import jax.numpy as jnp

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.crew import Crew
from neutralpoint.explanations.strength import POPULATION
from neutralpoint.quantities import POUND_FORCE


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Pilot:
    """One person at the column. All defaults are analyst's estimates unless stated.

    What pilots differ in, and how much, is in `explanations.behaviour`; these are typical.

    Args:
        crossover: Speed of the pitch loop, rad/s; 1 to 3 rad/s is usual in tight tracking (McRuer
            and Krendel, AGARDograph 188, 1974, from memory), less when attention is shared.
        outer: Speed of the vertical-speed loop, rad/s.
        holding: How fast a missing load factor is answered with more steady force, rad/s.
        delay: From seeing to the hand, s (0.2 to 0.4 s in tracking, same source).
        lag: Neuromuscular, s (0.1 s, same source, plus the mass of the column).
        smoothing: Lag that the hand adds, as a share of the airplane's path lag: the lag
            equalization of the crossover model, 1 where the loop is to look like an integrator.
        lead: How far ahead the pitch is read from its rate, s: the lead equalization of the same
            model; up to 1 s is had without complaint, from memory.
        glance: From one look at vertical speed, airspeed and height to the next, s. A look
            lasts about 0.5 s and comes again in 1 to 3 s, Fitts et al. (1950), from memory.
        indifference: Vertical speed error that is let be, m/s.
        strength: Largest two-handed pull, N.
        one_hand: One-handed over two-handed pull.
        trims: 1 where the pilot trims steady forces away, 0 where not.
        minds_speed: 1 where the pitch is kept from leading too slow or too fast, 0 where not.
        margin: Slowest speed that is accepted, over the stall at 1 g; 1.3 is the margin of an
            approach, 14 CFR 23.73 and 25.125.
        minds_stall: 1 where the pilot gives way at the stall warning, 0 where not.
        works_power: 1 where the levers are moved for speed and a lost engine, 0 where not.
        adapts: 1 where a column without effect is answered with trim, 0 where not.
        realises: From finding the column without effect to flying without it, s.
        startle: How long the hand stays as it is once something is recognised as wrong, s.
        hands: Hands on the column before anything is recognised.
        notice_force: Column force that is recognised as wrong, N.
        notice_climb: Vertical speed error that is, m/s.
        notice_load: Change of load factor that is.
        reaction: From recognition to the first action of the procedure, s. No published
            distribution exists for a trim runaway.
        takeover: From the disconnect of the autopilot to a hand at the column, s.
        act_at: Time of the first action whatever was recognised, s; infinite = as recognised.
    """

    crossover: Scalar = 0.8
    outer: Scalar = 0.12
    holding: Scalar = 0.2
    delay: Scalar = 0.25
    lag: Scalar = 0.1
    smoothing: Scalar = 1.0
    lead: Scalar = 0.5
    glance: Scalar = 1.0
    indifference: Scalar = 0.5
    strength: Scalar = POPULATION.median
    one_hand: Scalar = POPULATION.one_hand
    trims: Scalar = 1.0
    minds_speed: Scalar = 1.0
    margin: Scalar = 1.3
    minds_stall: Scalar = 1.0
    works_power: Scalar = 1.0
    adapts: Scalar = 1.0
    realises: Scalar = 2.0
    startle: Scalar = 0.0
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
        aim: Pitch aimed at since the last look, rad.
        lagged: Load factor asked for beside 1, smoothed.
        ups: Load factor asked for above 1, over the last seconds.
        downs: The same below 1.
        intent1: Force asked for, half the delay old, N.
        intent2: The whole delay old, N.
        force: Applied by the muscles, N.
        steady: Steady part that the pilot has found, N.
        felt: Pitch felt from the direction of the force, rad.
        trend: Load factor along the path, as sensed.
        trimming: 1 while a steady force is being trimmed away.
        useless: How long the column has been without effect, s.
        power: Change of the levers that the pilot has made.
        powerless: When an engine was seen to have lost its output, s; infinite before.
        left: Strength left, share of fresh.
        second_left: The same of the second person.
        recognised: When something was recognised as wrong, s; infinite before.
        let_go: When the autopilot let go, s; infinite before.
    """

    aim: Scalar
    lagged: Scalar
    ups: Scalar
    downs: Scalar
    intent1: Scalar
    intent2: Scalar
    force: Scalar
    steady: Scalar
    felt: Scalar
    trend: Scalar
    trimming: Scalar
    useless: Scalar
    power: Scalar
    powerless: Scalar
    left: Scalar
    second_left: Scalar
    recognised: Scalar
    let_go: Scalar


class Seen(NamedTuple):
    """What instruments and seat tell; SI.

    Args:
        pitch: rad.
        pitch_rate: Body axes, rad/s.
        climb: m/s.
        speed: True airspeed, m/s.
        indicated: Equivalent airspeed, m/s.
        spare_incidence: Angle of attack short of the stall warning, rad; negative beyond it.
        height: m.
        load_factor: Across the path, 1 in level flight.
        along: Load factor along the path.
        felt_pitch: Direction of the specific force in the plane of symmetry, rad.
    """

    pitch: Scalar
    pitch_rate: Scalar
    climb: Scalar
    speed: Scalar
    indicated: Scalar
    spare_incidence: Scalar
    height: Scalar
    load_factor: Scalar
    along: Scalar
    felt_pitch: Scalar


class Task(NamedTuple):
    """What is to be held, rad and m/s, and the height of the ground, m (minus infinity: none)."""

    pitch: Scalar
    climb: Scalar
    ground: Scalar = -jnp.inf


class Grip(NamedTuple):
    """How the pilot stands to the airplane at one instant, 0 or 1 unless said.

    Args:
        flying: Hands on the column; a second person flies in either case.
        alert: Somebody looks at the airspeed and heeds the stall warning.
        stuck: The column does not move.
        loose: The column moves nothing.
        illusion: Share of the felt pitch that is believed.
        powerless: Every engine is known to have lost its output.
    """

    flying: Scalar = 1.0
    alert: Scalar = 1.0
    stuck: Scalar = 0.0
    loose: Scalar = 0.0
    illusion: Scalar = 0.0
    powerless: Scalar = 0.0


def first_mind(seen: Seen, task: Task) -> Mind:
    """A pilot in trimmed flight.

    Args:
        seen: At the start.
        task: What is held.

    Returns:
        The memory.
    """
    # Infinity for what has not happened: comparing it with the time needs no flag.
    zero, never = jnp.zeros(()), jnp.asarray(jnp.inf)
    return Mind(
        aim=jnp.asarray(task.pitch, float),
        lagged=zero,
        ups=zero,
        downs=zero,
        intent1=zero,
        intent2=zero,
        force=zero,
        steady=zero,
        felt=jnp.asarray(seen.felt_pitch, float),
        trend=jnp.asarray(seen.along, float),
        trimming=zero,
        useless=zero,
        power=zero,
        powerless=never,
        left=jnp.ones(()),
        second_left=jnp.ones(()),
        recognised=never,
        let_go=never,
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
    # Nobody pulls with both hands at a thing that has not been noticed.
    on = jnp.where(time >= mind.recognised, 2.0, pilot.hands)
    return jnp.clip(jnp.minimum(on, 2.0 - crew.hands), 0.0, 2.0)


def share_of_hands(pilot: Pilot, mind: Mind, crew: Crew, time: Scalar) -> Scalar:
    """Fresh pull with the hands that are on the column, over that with two.

    Args:
        pilot: The pilot.
        mind: Recognised when.
        crew: Hands busy.
        time: s.

    Returns:
        0 to 1.
    """
    # In steps: with one hand by the ratio of the rules, with none nothing.
    hands = hands_left(pilot, mind, crew, time)
    return jnp.where(hands >= 2.0, 1.0, jnp.where(hands >= 1.0, pilot.one_hand, 0.0))


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
    share = share_of_hands(pilot, mind, crew, time)
    return pilot.strength * (share * mind.left * flying + crew.second * mind.second_left)


def first_action(pilot: Pilot, mind: Mind) -> Scalar:
    """When the procedure begins.

    Args:
        pilot: Reaction, or the time told.
        mind: Recognition.

    Returns:
        s; infinite while nothing was recognised.
    """
    # A time that is told is what is asked about: nothing need have been recognised.
    told = jnp.isfinite(pilot.act_at)
    return jnp.where(told, pilot.act_at, mind.recognised + pilot.reaction)
