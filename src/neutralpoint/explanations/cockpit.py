"""What goes on in the cockpit during one step: who notices, flies, trims and moves the levers."""

from __future__ import annotations

from typing import NamedTuple

import jax.numpy as jnp

from neutralpoint.dynamics.air import gas, height_above, wind
from neutralpoint.dynamics.state import Gust, State
from neutralpoint.dynamics.trim_motor import motor_share
from neutralpoint.dynamics.vectors import Scalar, body_to_ned, rotate_back
from neutralpoint.explanations.autopilot import servo_force
from neutralpoint.explanations.cause import Effect
from neutralpoint.explanations.crew import Crew, crew_at, trim_speed
from neutralpoint.explanations.handling import WARNING
from neutralpoint.explanations.levers import asked_trim
from neutralpoint.explanations.pilot import Grip, Mind, Seen, Task, first_action
from neutralpoint.explanations.setting import Setting
from neutralpoint.quantities import SEA_LEVEL_DENSITY

# An engine that has lost this share of its output is noticed, by sound, yaw and instruments;
# analyst's estimate.
NOTICED_LOSS = 0.3


class Felt(NamedTuple):
    """Mean specific force over the last step, body axes, over standard gravity."""

    forward: Scalar
    normal: Scalar


class Met(NamedTuple):
    """Velocity through the air in body axes, m/s, its size, and the air's density and height."""

    u: Scalar
    v: Scalar
    w: Scalar
    speed: Scalar
    density: Scalar
    height: Scalar


class Servo(NamedTuple):
    """The autopilot at one instant: on or off, force at the column, N; steady part, N."""

    on: Scalar
    force: Scalar
    steady: Scalar


def meet_air(setting: Setting, state: State) -> Met:
    """The air that the airplane meets, without what stirs it.

    Args:
        setting: Holds the air.
        state: Of the airplane.

    Returns:
        Velocity, density and height.
    """
    height = height_above(setting.air, state.north, state.east, state.down)
    blow = wind(setting.air, height)
    ground = (state.velocity_north, state.velocity_east, state.velocity_down)
    matrix = body_to_ned(state.e0, state.e1, state.e2, state.e3)
    u, v, w = rotate_back(matrix, tuple(a - b for a, b in zip(ground, blow, strict=True)))
    speed = jnp.sqrt(u * u + v * v + w * w)
    return Met(u, v, w, speed, gas(setting.air, height)[0], height)


def blown(met: Met, gust: Gust) -> Met:
    """The air as met with the wind of a cause in it; turbulence is left out of what is seen.

    Args:
        met: Without it.
        gust: Of the cause.

    Returns:
        With it.
    """
    u, w = met.u - gust.forward, met.w - gust.downward
    return met._replace(u=u, w=w, speed=jnp.sqrt(u * u + met.v * met.v + w * w))


def stall_angle(setting: Setting, effect: Effect) -> tuple[Scalar, Scalar]:
    """Angle of attack of the stall as it is, and as the warning has it.

    A vane does not know of ice; the buffet of the wing as it is comes with its stall.

    Args:
        setting: Airplane and flaps.
        effect: Of the cause.

    Returns:
        rad, rad.
    """
    lon = setting.airplane.longitudinal
    flaps = lon.stall_angle_flap * (setting.inputs.flap + effect.flap)
    clean = lon.stall_angle + flaps
    true = lon.stall_angle * effect.lift_limit + flaps
    return true, jnp.minimum(clean - WARNING, true)


def see(met: Met, state: State, pitch: Scalar, felt: Felt, warning: Scalar) -> Seen:
    """What instruments and seat tell.

    Args:
        met: The air as met.
        state: Of the airplane.
        pitch: rad.
        felt: Specific force.
        warning: Angle of attack of the stall warning, rad.

    Returns:
        What is seen.
    """
    return Seen(
        pitch=pitch,
        pitch_rate=state.pitch_rate,
        climb=-state.velocity_down,
        speed=met.speed,
        indicated=met.speed * jnp.sqrt(met.density / SEA_LEVEL_DENSITY),
        spare_incidence=warning - jnp.arctan2(met.w, met.u),
        height=met.height,
        load_factor=felt.normal,
        along=(felt.forward * met.u - felt.normal * met.w) / met.speed,
        felt_pitch=jnp.arctan2(felt.forward, felt.normal),
    )


def notice(setting: Setting, mind: Mind, effect: Effect, moved: Scalar, time: Scalar) -> Mind:
    """What is told by sound: trim that runs, and an engine that is lost.

    Args:
        setting: Has a sound or not.
        mind: Memory.
        effect: Of the cause.
        moved: How long the trim has moved, s.
        time: s.

    Returns:
        Memory.
    """
    heard = moved >= setting.cue_delay
    lost = jnp.maximum(*effect.engine_out) > NOTICED_LOSS
    return mind._replace(
        recognised=jnp.where(heard, jnp.minimum(mind.recognised, time), mind.recognised),
        powerless=jnp.where(lost, jnp.minimum(mind.powerless, time), mind.powerless),
    )


def act_by_clock(setting: Setting, mind: Mind, effect: Effect, time: Scalar) -> Crew:
    """What the crew does by its procedure.

    Args:
        setting: Pilot and timetable.
        mind: When something was recognised.
        effect: Of the cause.
        time: s.

    Returns:
        The crew.
    """
    crew = crew_at(setting.timetable, first_action(setting.pilot, mind), time)
    return crew._replace(held=jnp.maximum(crew.held, effect.interrupted))


def run_autopilot(
    setting: Setting,
    mind: Mind,
    servo: Scalar,
    seen: Seen,
    task: Task,
    effect: Effect,
    *,
    time: Scalar,
    step: Scalar,
) -> tuple[Servo, Mind, Scalar]:
    """The autopilot, until it disconnects: by its own limit, the cause, or the crew's first action.

    Args:
        setting: Autopilot and pilot.
        mind: When it let go.
        servo: Steady part so far, N.
        seen: What the sensors tell.
        task: What is to be held.
        effect: Of the cause.
        time: s.
        step: s.

    Returns:
        The servo; memory; 1 where a hand flies instead.
    """
    autopilot, pilot = setting.autopilot, setting.pilot
    wanted, steady = servo_force(autopilot, servo, seen, task, setting.handling.force_per_g, step)
    forced = jnp.abs(effect.autopilot) * (effect.autopilot >= -1.0)
    ever = jnp.maximum(autopilot.engaged, forced)
    on = jnp.where(effect.autopilot < 0.0, 0.0, ever) * (time < mind.let_go)
    on = on * (time < first_action(pilot, mind))
    gone = (on == 0.0) | (jnp.abs(wanted) > autopilot.force)
    let_go = jnp.where(gone & (ever > 0.0), jnp.minimum(mind.let_go, time), mind.let_go)
    by_hand = jnp.where(ever > 0.0, (time >= let_go + pilot.takeover) * 1.0, 1.0)
    limit = autopilot.force
    steady = jnp.where(on > 0.0, jnp.clip(steady, -limit, limit), 0.0)
    force = on * jnp.clip(wanted, -limit, limit)
    return Servo(on, force, steady), mind._replace(let_go=let_go), by_hand


def take_hold(
    setting: Setting, mind: Mind, effect: Effect, crew: Crew, *, by_hand: Scalar, time: Scalar
) -> Grip:
    """How the pilot stands to the airplane.

    Args:
        setting: The pilot.
        mind: Engines seen to fail.
        effect: Of the cause.
        crew: A second person or not.
        by_hand: 1 where no autopilot flies.
        time: s.

    Returns:
        The grip.
    """
    gone = jnp.minimum(*effect.engine_out) if len(setting.airplane.engines) > 1 else None
    gone = effect.engine_out[0] if gone is None else gone
    known = time >= mind.powerless + setting.pilot.reaction
    return Grip(
        flying=by_hand * effect.hands_on,
        alert=jnp.maximum(effect.hands_on, crew.second) * (1.0 - effect.unaware),
        stuck=effect.jammed,
        loose=effect.disconnected,
        illusion=effect.illusion,
        powerless=known * (gone > NOTICED_LOSS),
    )


def travel(setting: Setting, trim: Scalar) -> Scalar:
    """Keep the trim between its stops.

    Args:
        setting: Drive, and where it was at the start.
        trim: Away from the start, rad, nose down positive.

    Returns:
        rad.
    """
    drive, sign = setting.airplane.trim_drive, setting.nose_down
    if drive.kind == "none":
        return trim
    start = getattr(setting.inputs, drive.kind)
    ends = (sign * (drive.travel_min - start), sign * (drive.travel_max - start))
    low = jnp.minimum(jnp.minimum(*ends), 0.0)
    return jnp.clip(trim, low, jnp.maximum(jnp.maximum(*ends), 0.0))


def move_trim(
    setting: Setting,
    mind: Mind,
    seen: Seen,
    effect: Effect,
    crew: Crew,
    *,
    grip: Grip,
    servo: Servo,
    trim: Scalar,
    load: Scalar,
    step: Scalar,
) -> tuple[Scalar, Mind]:
    """Where the trim is at the end of the step, and the hand that lets its force go meanwhile.

    Args:
        setting: Drive and handling.
        mind: Memory.
        seen: What is seen.
        effect: Of the cause.
        crew: What is done to the stop devices.
        grip: How the pilot stands to the airplane.
        servo: Of the autopilot.
        trim: At the start of the step, rad, nose down positive.
        load: Moment of the air on the stabilizer, N m, leading edge up positive.
        step: s.

    Returns:
        rad; memory.
    """
    drive, handling = setting.airplane.trim_drive, setting.handling
    both = jnp.maximum(grip.flying, crew.second)
    grip = grip._replace(flying=both)
    asked, trimming = asked_trim(
        setting.pilot, mind, seen, handling, grip=grip, crew=crew, off=mind.aim - seen.pitch
    )
    most = jnp.maximum(drive.rate, drive.manual_rate)
    asked = jnp.clip(asked, -most, most)
    by_servo = -jnp.sign(servo.steady) * (jnp.abs(servo.steady) > setting.autopilot.trim_force)
    asked = jnp.where(servo.on > 0.0, by_servo * drive.autopilot_rate, asked)
    rate = trim_speed(
        drive,
        crew,
        fault=effect.motor,
        asked=asked,
        away=trim,
        pull=mind.force,
        step=step,
    )
    # What the motor drives loses speed to the air; a hand on the wheel has its own rate.
    share = motor_share(drive, -load * jnp.sign(setting.nose_down * rate))
    rate = jnp.where(crew.wheel > 0.0, rate, share * rate)
    new = travel(setting, trim + step * rate)
    own = trimming * (effect.motor == 0.0) * (servo.on == 0.0) * (crew.wheel == 0.0)
    pressure = (seen.indicated / handling.speed) ** 2
    eased = own * handling.force_per_trim * pressure * (new - trim)
    eased = jnp.where(own > 0.0, eased, 0.0)
    return new, mind._replace(steady=mind.steady + eased, trimming=trimming)


def set_levers(
    setting: Setting, mind: Mind, effect: Effect, crew: Crew
) -> tuple[tuple[Scalar, ...], tuple[Scalar, ...]]:
    """Power levers with the output that is lost, and feathering.

    Args:
        setting: Levers at the start.
        mind: What the pilot has moved.
        effect: Of the cause.
        crew: Levers by the procedure.

    Returns:
        Lever and feather, one number an engine.
    """
    levers, feathers = [], []
    for number, lever in enumerate(setting.inputs.lever):
        lost = effect.engine_out[min(number, 1)]
        set_to = jnp.clip(jnp.clip(lever + effect.lever, 0.0, 1.0) + mind.power, 0.0, 1.0)
        set_to = jnp.where(crew.power > 0.0, crew.lever, set_to)
        levers.append(set_to * (1.0 - lost))
        feathers.append(lost * effect.feather)
    return tuple(levers), tuple(feathers)
