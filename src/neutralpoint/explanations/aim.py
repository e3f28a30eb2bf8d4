"""The pitch that a pilot aims at: vertical speed, within what airspeed and the ground allow."""

from __future__ import annotations

from typing import TYPE_CHECKING

import jax.numpy as jnp

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.crew import Crew
from neutralpoint.explanations.handling import Handling
from neutralpoint.quantities import GRAVITY

if TYPE_CHECKING:
    from neutralpoint.explanations.pilot import Grip, Pilot, Seen, Task

# How far below its trimmed pitch the nose is let down to gain speed, rad: about 9 deg, analyst's
# estimate.
LOWERED_PITCH = 0.15
# Most change of pitch for the vertical speed, rad, analyst's choice.
LEAST_CLIMB_PITCH, MOST_CLIMB_PITCH = -0.15, 0.25
# Speed of the airspeed loop by pitch, rad/s: well below the phugoid's. Analyst's estimate.
SPEED_LOOP = 0.12
# Steepest pitch that airspeed alone is given, rad: 20 deg either way, analyst's choice.
MOST_SPEED_PITCH = 0.35
# A speed short of this share of the trimmed one is not taken as too slow, whatever the stall is:
# nobody dives at the start of a slow flight. Analyst's estimate.
TRIMMED_SHARE = 0.95
# Sink over height above the ground in the level-off, s, analyst's estimate.
LEVEL_OFF = 8.0


def slowest_speed(pilot: Pilot, handling: Handling, powerless: Scalar) -> Scalar:
    """Speed below which the nose goes down whatever the vertical speed: glide, or the margin.

    Args:
        pilot: Has a margin over the stall.
        handling: Speeds.
        powerless: 1 where no engine gives power any more.

    Returns:
        Equivalent airspeed, m/s.
    """
    slow = jnp.minimum(pilot.margin * handling.stall, TRIMMED_SHARE * handling.speed)
    return jnp.where(powerless > 0.0, jnp.maximum(handling.glide, slow), slow)


def wanted_pitch(
    pilot: Pilot,
    seen: Seen,
    task: Task,
    handling: Handling,
    *,
    trend: Scalar,
    crew: Crew,
    grip: Grip,
    ease: Scalar = 1.0,
) -> Scalar:
    """Pitch for the vertical speed asked for, kept from leading too slow, too fast or too low.

    A speed V is approached at `SPEED_LOOP` by the path on which the load factor along it and the
    wanted change of speed agree: sin(path) = n_x - dV/dt / g. Source: point-mass equation along
    the path; gains are analyst's estimates.

    Args:
        pilot: The pilot.
        seen: At this look.
        task: What is to be held.
        handling: Speeds.
        trend: Load factor along the path, as sensed.
        crew: Lets the nose down or not.
        grip: Engines known to be out, alert or not.
        ease: Share of the usual gain that a hand which porpoises keeps.

    Returns:
        rad.
    """
    climb = jnp.minimum(task.climb, jnp.where(grip.powerless > 0.0, 0.0, jnp.inf))
    error = climb - seen.climb
    spare = jnp.sign(error) * jnp.maximum(jnp.abs(error) - pilot.indifference, 0.0)
    turn = ease * pilot.outer / pilot.crossover * spare / seen.speed
    aim = task.pitch + jnp.clip(turn, LEAST_CLIMB_PITCH, MOST_CLIMB_PITCH)
    aim = jnp.where(crew.lowered > 0.0, task.pitch - LOWERED_PITCH, aim)
    level = seen.pitch - seen.climb / seen.speed  # pitch of a level path, at this incidence
    true = seen.speed / seen.indicated

    def for_speed(indicated):
        change = SPEED_LOOP * true * (indicated - seen.indicated) / GRAVITY
        return jnp.clip(level + trend - change, -MOST_SPEED_PITCH, MOST_SPEED_PITCH)

    slow = for_speed(slowest_speed(pilot, handling, grip.powerless))
    kept = jnp.maximum(jnp.minimum(aim, slow), for_speed(handling.fastest))
    aim = jnp.where(pilot.minds_speed * grip.alert > 0.0, kept, aim)
    above = jnp.maximum(seen.height - task.ground, 0.0)
    return jnp.maximum(aim, level - above / (LEVEL_OFF * seen.speed))
