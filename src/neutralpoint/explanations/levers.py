"""What hands beside the column do: trim, and the power levers."""

from __future__ import annotations

import jax.numpy as jnp

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.aim import slowest_speed
from neutralpoint.explanations.crew import Crew
from neutralpoint.explanations.handling import Handling
from neutralpoint.explanations.pilot import Grip, Mind, Pilot, Seen
from neutralpoint.quantities import DEGREE, GRAVITY

# Pilots trim a steady force away above this; analyst's, half the 10 lb of 14 CFR 23.143 for
# prolonged application; and until no more than the second is left, N.
TRIM_FORCE, TRIMMED_FORCE = 22.0, 5.0
# How long trimming a force away takes where the drive is quick enough, s: short bursts while the
# hand feels the force go. Analyst's estimate.
TRIM_TIME = 3.0
# Flying by trim: speed of the pitch loop and of the load-factor loop within it, rad/s, load factor
# that is let be. Slower than the hand's by the time that a burst of trim takes; analyst's estimate.
TRIM_PITCH, TRIM_LOAD, TRIM_SPARE = 0.3, 0.8, 0.03
# Lag of a hand on the levers, s; share of the slowest or the fastest accepted speed that takes the
# whole lever; lever per share of the speed where it is held without a column. Analyst's estimate.
LEVER_LAG, WHOLE_LEVER, LEVER_PER_SPEED = 2.0, 0.07, 4.0
# Pitch below the horizon from which power comes back while the speed is above the trimmed one, and
# over which it comes back whole, rad: less power with the nose low, common practice, no source.
STEEP, STEEP_RANGE = 15.0 * DEGREE, 10.0 * DEGREE


def gave_up(pilot: Pilot, mind: Mind, crew: Crew) -> Scalar:
    """Whether the pilot flies without the column.

    Args:
        pilot: Adapts or not.
        mind: How long the column has been without effect.
        crew: Does so by the procedure.

    Returns:
        0 or 1.
    """
    return jnp.maximum((mind.useless > pilot.realises) * pilot.adapts, crew.without)


def asked_trim(
    pilot: Pilot, mind: Mind, seen: Seen, handling: Handling, *, grip: Grip, crew: Crew, off: Scalar
) -> tuple[Scalar, Scalar]:
    """Rate of trim that the pilot wants, before what the drive can do.

    With a column that works, a steady force is trimmed away. Without one the trim turns the path:
    the load factor that the pitch error asks for is approached at `TRIM_LOAD`.

    Args:
        pilot: The pilot.
        mind: Steady force, and how long the column has been without effect.
        seen: Load factor and speed.
        handling: What trim does.
        grip: Stuck or loose.
        crew: Flies without the column by the procedure.
        off: Pitch aimed at less pitch, rad.

    Returns:
        rad/s, nose down positive; whether a force is being trimmed away.
    """
    size = jnp.abs(mind.steady)
    going = (size > TRIM_FORCE) | ((mind.trimming > 0.0) & (size > TRIMMED_FORCE))
    pressure = (seen.indicated / handling.speed) ** 2
    relief = -mind.steady / (handling.force_per_trim * pressure * TRIM_TIME) * going
    per_g = jnp.where(grip.stuck > 0.0, handling.trim_stuck, handling.trim_loose) / pressure
    load = 1.0 + jnp.clip(TRIM_PITCH * seen.speed / GRAVITY * off, -0.3, 0.3)
    short = load - seen.load_factor
    short = jnp.sign(short) * jnp.maximum(jnp.abs(short) - TRIM_SPARE, 0.0)
    by_trim = gave_up(pilot, mind, crew) > 0.0
    rate = jnp.where(by_trim, TRIM_LOAD * per_g * short, relief * pilot.trims)
    return rate * grip.flying, going * pilot.trims * (1.0 - by_trim) * grip.flying


def moved_power(
    pilot: Pilot,
    mind: Mind,
    seen: Seen,
    handling: Handling,
    *,
    grip: Grip,
    crew: Crew,
    time: Scalar,
    step: Scalar,
) -> Scalar:
    """How far the pilot has moved the levers: up where slow, back where fast or steep, all there
    is of an engine that is left.

    Args:
        pilot: Works them or not.
        mind: Where they are, and when an engine was seen to fail.
        seen: Airspeed and stall warning.
        handling: Speeds.
        grip: Alert or not.
        crew: Flies without the column by the procedure.
        time: s.
        step: s.

    Returns:
        Share of the levers' travel, -1 to 1.
    """
    slow = slowest_speed(pilot, handling, grip.powerless)
    short = jnp.clip((slow - seen.indicated) / (WHOLE_LEVER * slow), 0.0, 1.0)
    past = jnp.clip((seen.indicated / handling.fastest - 1.0) / WHOLE_LEVER, 0.0, 1.0)
    steep = jnp.clip((-seen.pitch - STEEP) / STEEP_RANGE, 0.0, 1.0)
    past = jnp.maximum(past, jnp.where(seen.indicated > handling.speed, steep, 0.0))
    hold = LEVER_PER_SPEED * (handling.speed - seen.indicated) / handling.speed
    by_lever = gave_up(pilot, mind, crew) > 0.0
    works = jnp.maximum(pilot.works_power, crew.without)
    # An engine is lost: all there is of the others, and back again once the speed is.
    spared = jnp.clip(1.0 - (seen.indicated / handling.speed - 1.0) / WHOLE_LEVER, 0.0, 1.0)
    up = jnp.where(time >= mind.powerless + pilot.reaction, spared, 0.0)
    up = jnp.maximum(jnp.where(seen.spare_incidence < 0.0, 1.0, up), short)
    wanted = jnp.clip(up + jnp.where(by_lever, hold, 0.0), -1.0, 1.0) * (past == 0.0) - past
    lag = 1.0 - jnp.exp(-step / LEVER_LAG)
    return mind.power + lag * (wanted * works * grip.alert - mind.power)
