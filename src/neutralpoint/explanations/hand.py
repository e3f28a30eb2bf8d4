"""The hand that flies: what is asked of it, how late it comes, and how it tires."""

from __future__ import annotations

import jax.numpy as jnp

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.aim import wanted_pitch
from neutralpoint.explanations.crew import Crew
from neutralpoint.explanations.handling import Handling
from neutralpoint.explanations.pilot import (
    Grip,
    Mind,
    Pilot,
    Seen,
    Task,
    perceived_pitch,
    share_of_hands,
    strength_now,
)
from neutralpoint.explanations.strength import fatigue_rate
from neutralpoint.quantities import GRAVITY, POUND_FORCE

# Somatogravic tilt lags the force by "a few seconds" (Groen et al., Safety 2022, 8, 85); 3 s is
# the analyst's choice within that.
FELT_LAG = 3.0
# The load factor that the hand aims at is kept between these by the pilot: the limits that
# autopilot malfunction tests accept, 0 to 2 g, AC 23-8C, from memory.
LEAST_PULL_LOAD, MOST_PULL_LOAD = 0.0, 2.0
# A column that gives no answer is felt at once, and leaned on no more within about this, s: a
# stuck one does not move, a loose one moves without force. Analyst's estimate.
FELT_USELESS = 1.0
# Lag of the sense for the change of speed, s: needle and body together, analyst's estimate.
TREND_LAG = 1.5
# A demand that goes up and down is the hand's own doing: over this long, s, and from this load
# factor both ways, the loops are closed slower in proportion. People do so within a cycle or two
# when an airplane answers more than it used to (McRuer and Krendel), down to this share of the
# gain; figures are analyst's estimates.
SWAY_TIME, SWAY, LEAST_GAIN = 5.0, 0.03, 0.5
# Force at which a hand finds out that the column gives no answer: 2 lb, a breakout force,
# MIL-F-8785C table, from memory.
LEAST_FELT = 2.0 * POUND_FORCE


def _follow(value: Scalar, target: Scalar, kept: Scalar) -> Scalar:
    return target + kept * (value - target)


def eased(mind: Mind) -> Scalar:
    """How much of the usual gain is kept once the demand has swung both ways.

    A demand that stays on one side, as in any upset, is answered with the whole gain.

    Args:
        mind: What was asked for of late.

    Returns:
        1, or less while the hand porpoises.
    """
    # The less of both: a demand one way is a maneuver and no sway.
    return jnp.clip(SWAY / (jnp.minimum(mind.ups, mind.downs) + 1e-6), LEAST_GAIN, 1.0)


def wanted_load(
    pilot: Pilot, seen: Seen, off: Scalar, handling: Handling, *, alert: Scalar, gain: Scalar
) -> Scalar:
    """Load factor that the hand asks for: what turns the path by the pitch error, and no stall.

    Below the trimmed speed the airplane answers slower by the share of the speed, and the loop is
    closed slower too, as people adapt to what they control (McRuer and Krendel). The ceiling at the
    stall warning is what brings the incidence back to it, by the airplane's incidence per g;
    an analyst's choice.

    Args:
        pilot: Minds the stall or not.
        seen: Incidence left and load factor.
        off: Pitch aimed at less pitch believed, rad.
        handling: Incidence per g.
        alert: 1 where the warning is heeded.
        gain: Share of the usual gain.

    Returns:
        Load factor.
    """
    slower = jnp.minimum(seen.indicated / handling.speed, 1.0)
    ahead = slower * off - pilot.lead * seen.pitch_rate
    load = 1.0 + gain * pilot.crossover * seen.speed / GRAVITY * ahead
    load = jnp.clip(load, LEAST_PULL_LOAD, MOST_PULL_LOAD)
    pressure = (seen.indicated / handling.speed) ** 2
    # What incidence is left to the warning, as load factor at this dynamic pressure.
    ceiling = seen.load_factor + seen.spare_incidence / handling.incidence_per_g * pressure
    ceiling = jnp.maximum(ceiling, LEAST_PULL_LOAD)
    return jnp.where(pilot.minds_stall * alert > 0.0, jnp.minimum(load, ceiling), load)


def _pull(
    pilot: Pilot, mind: Mind, load: Scalar, limit: Scalar, seen: Seen, handling: Handling, step
) -> tuple[Scalar, Scalar, Scalar]:
    """Load factor asked for, smoothed; steady force; and the force asked for, N.

    The steady part grows until the load factor asked for is there, and never beyond what the hand
    can add to: an integrator that stops at the limit.
    """
    gain = handling.force_per_g
    # The path follows the pitch later as the air gets slower.
    path_lag = pilot.smoothing * handling.path_lag * handling.speed / seen.indicated
    smooth = jnp.exp(-step / jnp.maximum(path_lag, step))
    lagged = _follow(mind.lagged, load - 1.0, smooth)
    rate = eased(mind) * pilot.holding * gain
    grown = mind.steady + step * rate * (1.0 + lagged - seen.load_factor)
    past = jnp.abs(gain * lagged + grown) > limit
    # The steady force does not wind up beyond what the arm can give.
    further = past & (jnp.abs(grown) > jnp.abs(mind.steady))
    steady = jnp.clip(jnp.where(further, mind.steady, grown), -limit, limit)
    return lagged, steady, jnp.clip(gain * lagged + steady, -limit, limit)


def _tired(pilot: Pilot, mind: Mind, force: Scalar, fresh: Scalar, crew: Crew, step: Scalar):
    """Strength left of both: each gives the same share of what the hands in use have fresh."""
    # The floor: hands that are away have no strength to be a share of.
    rate = fatigue_rate(jnp.abs(force) / jnp.maximum(pilot.strength * fresh, 1e-3))
    left = mind.left * (1.0 - step * rate)
    return left, mind.second_left * (1.0 - step * rate * crew.second)


def think(
    pilot: Pilot,
    mind: Mind,
    seen: Seen,
    task: Task,
    handling: Handling,
    *,
    crew: Crew,
    grip: Grip,
    time: Scalar,
    step: Scalar,
) -> Mind:
    """One step of the pilot: a pitch aimed at, late, through muscles that tire.

    The hand asks for crossover * V / g * (pitch error) more load factor, at the force per g it
    knows, smoothed by the lag of the path behind the pitch: then pitch follows its error at the
    crossover frequency, the crossover model of McRuer and Krendel, AGARDograph 188 (1974), from
    memory. The delay is two equal lags. A column that gives no answer is leaned on no more.
    Checked against: tests/against/test_pilot_crossover.py.

    Args:
        pilot: The pilot.
        mind: Memory.
        seen: What is seen.
        task: What is to be held.
        handling: How the airplane answers, as the pilot knows it.
        crew: Hands busy.
        grip: How the pilot stands to the airplane.
        time: s.
        step: s.

    Returns:
        New memory; `force` is what the column gets.
    """
    trend = _follow(mind.trend, seen.along, jnp.exp(-step / TREND_LAG))
    # One look each so often; the aim stays between looks.
    looks = jnp.floor(time / pilot.glance) > jnp.floor((time - step) / pilot.glance)
    ease = eased(mind)
    aim = wanted_pitch(pilot, seen, task, handling, trend=trend, crew=crew, grip=grip, ease=ease)
    aim = jnp.where(looks, aim, mind.aim)
    off = aim - perceived_pitch(mind, seen, grip.illusion * (1.0 - crew.attitude))
    load = wanted_load(pilot, seen, off, handling, alert=grip.alert, gain=ease)
    fresh = share_of_hands(pilot, mind, crew, time) * grip.flying + crew.second
    limit = strength_now(pilot, mind, crew, time, grip.flying)
    lagged, steady, asked = _pull(pilot, mind, load, limit, seen, handling, step)

    no_answer = jnp.maximum(grip.stuck, grip.loose)
    # It takes a force to find out; once found out it is known.
    noticed = (no_answer > 0.0) & ((mind.useless > 0.0) | (jnp.abs(mind.force) > LEAST_FELT))
    useless = mind.useless + step * noticed
    idle = jnp.exp(-useless / FELT_USELESS)
    steady, asked = steady * jnp.where(noticed, 1.0 - step / FELT_USELESS, 1.0), asked * idle
    frozen = (time >= mind.recognised) & (time < mind.recognised + pilot.startle)
    # Startled: the hand goes on with what it was doing.
    asked = jnp.where(frozen, mind.intent1, asked)

    sway = jnp.exp(-step / SWAY_TIME)
    late = jnp.exp(-2.0 * step / pilot.delay)
    # Two lags of half the delay each stand for the delay from eye to hand.
    intent1 = _follow(mind.intent1, asked, late)
    intent2 = _follow(mind.intent2, mind.intent1, late)
    force = _follow(mind.force, mind.intent2, jnp.exp(-step / pilot.lag))
    force = jnp.clip(force, -limit, limit)
    left, second_left = _tired(pilot, mind, force, fresh, crew, step)
    wrong = (
        (jnp.abs(force) > pilot.notice_force)
        | (jnp.abs(task.climb - seen.climb) > pilot.notice_climb)
        | (jnp.abs(seen.load_factor - 1.0) > pilot.notice_load)
    )
    return mind._replace(
        aim=aim,
        lagged=lagged,
        ups=_follow(mind.ups, jnp.maximum(load - 1.0, 0.0), sway),
        downs=_follow(mind.downs, jnp.maximum(1.0 - load, 0.0), sway),
        intent1=intent1,
        intent2=intent2,
        force=force,
        steady=steady,
        felt=mind.felt + step / FELT_LAG * (seen.felt_pitch - mind.felt),
        trend=trend,
        useless=useless,
        left=left,
        second_left=second_left,
        # The first time stands.
        recognised=jnp.where(wrong, jnp.minimum(mind.recognised, time), mind.recognised),
    )
