"""A second pilot, built differently, for blind tests only: the study never flies it.

The pilot of `explanations` tracks without a break; this one acts now and then. Nothing is done
while the pitch expected a little ahead is within a threshold; beyond it the hand is set anew by one
ballistic movement, held for a refractory time, and the part that lasts is kept. Structure after
intermittent control (Gawthrop et al., Biological Cybernetics 104, 2011) and the refractory time of
0.2 to 0.5 s of Craik and Vince, from memory; numbers are the analyst's.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import jax.numpy as jnp

from neutralpoint.explanations import flight
from neutralpoint.explanations.hand import FELT_LAG, _tired
from neutralpoint.explanations.pilot import (
    Mind,
    perceived_pitch,
    share_of_hands,
    strength_now,
)
from neutralpoint.quantities import DEGREE, GRAVITY

AHEAD = 0.8  # s that the pitch is read ahead
THRESHOLD = 0.7 * DEGREE  # of pitch expected, that is let be
REFRACTORY = 0.5  # s between two movements
SHARE, LASTS = 0.6, 0.12  # size of a movement over that which ends the error; part that is kept
ARM = 0.12  # s, lag of the arm
LOWER = (
    1.0 * DEGREE
)  # 1/s, how fast the nose goes down while the speed falls below what is accepted
CLIMB = 0.12  # rad/s, speed of the vertical-speed loop


def think(pilot, mind, seen, task, handling, *, crew, grip, time, step) -> Mind:
    """One step of the other pilot; arguments and result as `explanations.hand.think`.

    `lagged` holds the time since the last movement, s, and `intent1` the force set by it, N.

    Returns:
        The memory.
    """
    error = (task.climb - seen.climb) / seen.speed
    aim = task.pitch + jnp.clip(CLIMB / SHARE * error, -0.15, 0.2)
    warned = (seen.spare_incidence < 0.0) & (pilot.minds_stall * grip.alert > 0.0)
    aim = jnp.where(warned, seen.pitch - 5.0 * DEGREE, aim)
    # Slow: the nose goes down a little at a time while the speed falls, and stays until it is back.
    least = pilot.margin * handling.stall
    held_low = (mind.aim < aim) & (seen.indicated < 1.1 * least)
    slow = (seen.indicated < least) | held_low
    falling = (seen.along < seen.climb / seen.speed) & (seen.indicated < least)
    low = jnp.where(falling, jnp.minimum(mind.aim, seen.pitch) - LOWER * step, mind.aim)
    minds = pilot.minds_speed * grip.alert > 0.0
    aim = jnp.where(slow & minds & ~warned, jnp.minimum(aim, low), aim)
    believed = perceived_pitch(mind, seen, grip.illusion * (1.0 - crew.attitude))
    off = aim - believed - AHEAD * seen.pitch_rate
    ready = (mind.lagged >= REFRACTORY) & (jnp.abs(off) > THRESHOLD)
    dead = jnp.maximum(grip.stuck, grip.loose) > 0.0
    size = SHARE * handling.force_per_g * jnp.clip(seen.speed / GRAVITY * off, -1.0, 1.0)
    limit = strength_now(pilot, mind, crew, time, grip.flying)
    steady = jnp.where(ready & ~dead, mind.steady + LASTS * size, mind.steady)
    steady = jnp.clip(jnp.where(dead, 0.0, steady), -limit, limit)
    held = jnp.where(
        ready, steady + size, jnp.where(jnp.abs(off) < THRESHOLD, steady, mind.intent1)
    )
    held = jnp.where(dead & (mind.useless > 1.0), 0.0, jnp.clip(held, -limit, limit))
    force = held + jnp.exp(-step / ARM) * (mind.force - held)
    force = jnp.clip(force, -limit, limit)
    fresh = share_of_hands(pilot, mind, crew, time) * grip.flying + crew.second
    left, second_left = _tired(pilot, mind, force, fresh, crew, step)
    wrong = (jnp.abs(force) > pilot.notice_force) | (
        jnp.abs(seen.load_factor - 1.0) > pilot.notice_load
    )
    wrong = wrong | (jnp.abs(task.climb - seen.climb) > pilot.notice_climb)
    return mind._replace(
        aim=aim,
        lagged=jnp.where(ready, 0.0, mind.lagged + step),
        intent1=held,
        force=force,
        steady=steady,
        felt=mind.felt + step / FELT_LAG * (seen.felt_pitch - mind.felt),
        useless=mind.useless + step * dead,
        left=left,
        second_left=second_left,
        recognised=jnp.where(wrong, jnp.minimum(mind.recognised, time), mind.recognised),
    )


@contextmanager
def flown_by_another() -> Iterator[None]:
    """While it lasts, flights that are traced anew are flown by the other pilot."""
    usual, flight.think = flight.think, think
    try:
        yield
    finally:
        flight.think = usual
