"""What a crew does by the clock, and what that does to the trim motor."""

from __future__ import annotations

from typing import NamedTuple

import jax.numpy as jnp

from neutralpoint.airplane.model import TrimDrive
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.procedure import Timetable
from neutralpoint.quantities import POUND_FORCE

# Column force at which a trim wheel cannot be turned any more, N: twice the 75 lb of 14 CFR 25.143.
# Analyst's estimate; that holding the column can lock a wheel is common practice, no source.
WHEEL_STOPS = 150.0 * POUND_FORCE


class Crew(NamedTuple):
    """What the crew is doing to the airplane at one instant; 0 or 1 unless said.

    Args:
        held: A momentary device is held.
        was_held: One that keeps the trim still after release has been held.
        latched: The trim is disconnected for good.
        breaker: The motor has no power.
        opposing: The opposing switch drives the trim back.
        wheel: The trim wheel is turned by hand.
        power: The levers have been moved.
        lever: To where, 0 to 1.
        hands: Hands that are away from the column.
        second: A second person pulls.
        attitude: Somebody goes by the attitude instruments, whatever is felt.
        lowered: The nose is let down below where it was trimmed.
        without: The pilot flies on trim and power and lets the column be.
    """

    held: Scalar = 0.0
    was_held: Scalar = 0.0
    latched: Scalar = 0.0
    breaker: Scalar = 0.0
    opposing: Scalar = 0.0
    wheel: Scalar = 0.0
    power: Scalar = 0.0
    lever: Scalar = 0.0
    hands: Scalar = 0.0
    second: Scalar = 0.0
    attitude: Scalar = 0.0
    lowered: Scalar = 0.0
    without: Scalar = 0.0


def crew_at(timetable: Timetable, start: Scalar, time: Scalar) -> Crew:
    """What a crew that began a procedure at a time is doing at another.

    Args:
        timetable: Of the procedure.
        start: Of the procedure, s; infinite = not begun.
        time: s.

    Returns:
        The crew.
    """
    since = time - start

    def on(onset):
        return (since >= onset) * 1.0

    def during(span):
        return (since >= span.begin) & (since < span.end)

    def any_of(spans):
        found = during(spans[0])
        for span in spans[1:]:
            found = found | during(span)
        return found * 1.0

    power, lever = 0.0, 0.0
    # In order of time: the last that has begun counts, and one below 0 gives the levers back.
    for move in timetable.levers:
        moved = since >= move.begin
        power = jnp.where(moved, (move.lever >= 0.0) * 1.0, power)
        lever = jnp.where(moved, move.lever, lever)
    return Crew(
        held=any_of(timetable.holds),
        was_held=on(timetable.was_held),
        latched=on(timetable.latched),
        breaker=on(timetable.breaker),
        opposing=on(timetable.opposing),
        wheel=on(timetable.wheel),
        power=power,
        lever=lever,
        hands=sum(during(span) * span.hands for span in timetable.hands),
        second=on(timetable.second),
        attitude=on(timetable.attitude),
        lowered=any_of(timetable.lowered),
        without=on(timetable.without),
    )


def trim_speed(
    drive: TrimDrive,
    crew: Crew,
    *,
    fault: Scalar,
    asked: Scalar,
    away: Scalar,
    pull: Scalar,
    step: Scalar,
) -> Scalar:
    """How fast the trim moves, nose down positive.

    The states, in order of precedence: a hand on the wheel turns it back whatever the motor does;
    a motor without power, disconnected, held, or held before by a device whose release does not
    restart it, stands still; the opposing switch drives it back to where it was; a fault drives
    it; otherwise whoever asks drives it.

    The motor's loss of speed under load is no part of it, see `cockpit.move_trim`. A wheel turns
    slower the more the column is held against the trim, which loads its screw, and not at all
    beyond `WHEEL_STOPS`: then the pull must be eased first.

    Args:
        drive: Rates.
        crew: What is done to the stop devices.
        fault: Share of the motor's rate that the fault commands, nose down positive.
        asked: Rate that the pilot's or autopilot's trim asks for, rad/s.
        away: Trim away from where it was at the start, rad, nose down positive.
        pull: At the column, N.
        step: s; what is driven back stops where it was at the start.

    Returns:
        rad/s.
    """
    # All the way back in one step, kept to a rate below; nothing where it is as good as there.
    home = -away / step * (jnp.abs(away) > 1e-4)

    def back(rate):
        return jnp.clip(home, -rate, rate)

    faulty = fault != 0.0
    # In the order of the wiring: a fault runs over what is asked, the opposing switch over a fault,
    # and a cut of power over all.
    motor = jnp.where(faulty, fault * drive.rate, asked)
    motor = jnp.where(faulty & (crew.opposing > 0.0), back(drive.rate), motor)
    still = jnp.maximum(jnp.maximum(crew.held, crew.latched), crew.breaker)
    # Some devices keep the fault, and only the fault, still after they are released.
    still = jnp.maximum(still, faulty * crew.was_held)
    motor = jnp.where(still > 0.0, 0.0, motor)
    turned = drive.manual_rate * jnp.clip(1.0 - jnp.abs(pull) / WHEEL_STOPS, 0.0, 1.0)
    return jnp.where(crew.wheel > 0.0, back(turned), motor)
