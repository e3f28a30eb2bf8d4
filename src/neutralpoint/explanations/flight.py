"""Flying a cause: each step the cause acts, the crew acts, the trim moves, the airplane flies."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import jax
import jax.numpy as jnp
from jax import Array

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics.air import gas, gravity_ned, height_above, wind
from neutralpoint.dynamics.equations import evaluate
from neutralpoint.dynamics.flight import STEP, advance
from neutralpoint.dynamics.state import Gust, Inputs, Readings, State, attitude
from neutralpoint.dynamics.turbulence import (
    HIGH_LENGTH,
    Turbulence,
    start_filters,
    step_filters,
)
from neutralpoint.dynamics.vectors import Scalar, body_to_ned, rotate_back
from neutralpoint.explanations.autopilot import servo_force
from neutralpoint.explanations.cause import Cause, Effect, Moment
from neutralpoint.explanations.change import (
    changed_airplane,
    level_wings,
    limits_passed,
    wind_change,
)
from neutralpoint.explanations.crew import Crew, crew_at, trim_speed
from neutralpoint.explanations.pilot import Mind, Seen, first_action, first_mind, think
from neutralpoint.explanations.setting import Setting
from neutralpoint.quantities import GRAVITY

# Pilots trim a steady force away above this; analyst's, half the 10 lb of 14 CFR 23.143 for
# prolonged application.
TRIM_FORCE = 22.0


class Felt(NamedTuple):
    """Mean specific force over the last step, body axes, over standard gravity."""

    forward: Scalar
    normal: Scalar


class Carry(NamedTuple):
    """Everything that a flight remembers from one step to the next.

    Args:
        count: Steps taken.
        time: s.
        state: Of the airplane.
        trim: Trim surface away from its setting at the start, rad, nose down positive.
        moved: How long the trim has moved, s.
        mind: The pilot.
        servo: Steady part of the autopilot's servo, N.
        felt: What the seat tells.
        passed: Largest so far of speed and load factor over their limits.
        filters: Of the turbulence, None in calm air.
    """

    count: Array
    time: Scalar
    state: State
    trim: Scalar
    moved: Scalar
    mind: Mind
    servo: Scalar
    felt: Felt
    passed: Scalar
    filters: object


class Controls(NamedTuple):
    """What is in force during one step."""

    airplane: Airplane
    inputs: Inputs
    gust: Gust
    effect: Effect
    crew: Crew


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class CauseFlight:
    """A recorded flight; leaves have a leading axis over the n records.

    Args:
        time: (n,) s since the start.
        state: At each record.
        readings: At each record, `column_force` with it.
        applied_force: Pull of pilot, body and servo together, N.
        trim: Trim surface from its reference, rad (stabilizer or tab).
        lever: Mean power lever, 0 to 1.
        strength_left: Share of the fresh strength.
        recognised: When something was recognised as wrong, s; infinite before.
        hands: Hands that are away from the column.
        cg_shift: m aft.
    """

    time: Array
    state: State
    readings: Readings
    applied_force: Array
    trim: Array
    lever: Array
    strength_left: Array
    recognised: Array
    hands: Array
    cg_shift: Array


def _seen(carry: Carry) -> Seen:
    s = carry.state
    return Seen(
        pitch=attitude(s)[1],
        climb=-s.velocity_down,
        speed=jnp.sqrt(s.velocity_north**2 + s.velocity_east**2 + s.velocity_down**2),
        load_factor=carry.felt.normal,
        felt_pitch=jnp.arctan2(carry.felt.forward, carry.felt.normal),
    )


def _body_air(setting: Setting, state: State) -> tuple[Scalar, Scalar, Scalar]:
    height = height_above(setting.air, state.north, state.east, state.down)
    blow = wind(setting.air, height)
    ground = (state.velocity_north, state.velocity_east, state.velocity_down)
    matrix = body_to_ned(state.e0, state.e1, state.e2, state.e3)
    return rotate_back(matrix, tuple(a - b for a, b in zip(ground, blow, strict=True)))


def _limits_passed(setting: Setting, carry: Carry, speed: Scalar) -> Scalar:
    height = height_above(setting.air, carry.state.north, carry.state.east, carry.state.down)
    density = gas(setting.air, height)[0]
    return limits_passed(setting.airplane, density, speed, carry.felt.normal)


def _felt(setting: Setting, before: State, now: State, step: Scalar) -> Felt:
    """Specific force from the change of velocity over a step."""
    height = height_above(setting.air, now.north, now.east, now.down)
    down = gravity_ned(setting.air, now.north, now.east, height)
    change = (
        (now.velocity_north - before.velocity_north) / step - down[0],
        (now.velocity_east - before.velocity_east) / step - down[1],
        (now.velocity_down - before.velocity_down) / step - down[2],
    )
    x, _, z = rotate_back(body_to_ned(now.e0, now.e1, now.e2, now.e3), change)
    return Felt(x / GRAVITY, -z / GRAVITY)


def start_flight(setting: Setting, *, turbulent: bool = False, key: Array | None = None) -> Carry:
    """The memory at time 0.

    Args:
        setting: Where the flight starts.
        turbulent: Whether the air is stirred.
        key: JAX random key, read where it is.

    Returns:
        The memory, in the precision of the setting's state.
    """
    readings = evaluate(setting.airplane, setting.state, setting.inputs, setting.air)[1]
    felt = Felt(readings.forward_load_factor, readings.normal_load_factor)
    carry = Carry(
        count=jnp.asarray(0),
        time=0.0,
        state=setting.state,
        trim=0.0,
        moved=0.0,
        mind=None,
        servo=0.0,
        felt=felt,
        passed=0.0,
        filters=start_filters(key) if turbulent else None,
    )
    carry = carry._replace(mind=first_mind(_seen(carry)))
    kind = jnp.asarray(setting.state.down).dtype
    return jax.tree.map(
        lambda x: jnp.asarray(x, kind if jnp.asarray(x).dtype.kind == "f" else None), carry
    )


def _levers(setting: Setting, effect: Effect, crew: Crew) -> tuple[tuple, tuple]:
    levers, feathers = [], []
    for number, lever in enumerate(setting.inputs.lever):
        lost = effect.engine_out[min(number, 1)]
        set_to = jnp.clip(lever + effect.lever, 0.0, 1.0)
        set_to = jnp.where(crew.power > 0.0, crew.lever, set_to)
        levers.append(set_to * (1.0 - lost))
        feathers.append(lost * effect.feather)
    return tuple(levers), tuple(feathers)


def _trim_inputs(setting: Setting, trim: Scalar) -> dict[str, Scalar]:
    kind = setting.airplane.trim_drive.kind
    if kind == "none":
        return {}
    return {kind: getattr(setting.inputs, kind) + setting.nose_down * trim}


def _travel(setting: Setting, trim: Scalar) -> Scalar:
    """Keep the trim between its stops."""
    drive, sign = setting.airplane.trim_drive, setting.nose_down
    if drive.kind == "none":
        return trim
    start = getattr(setting.inputs, drive.kind)
    ends = (sign * (drive.travel_min - start), sign * (drive.travel_max - start))
    low = jnp.minimum(jnp.minimum(*ends), 0.0)
    return jnp.clip(trim, low, jnp.maximum(jnp.maximum(*ends), 0.0))


def decide(
    setting: Setting,
    cause: Cause,
    parameters: dict[str, Scalar],
    carry: Carry,
    *,
    step: Scalar,
    key: Array | None = None,
) -> tuple[Carry, Controls]:
    """Everything that happens before the airplane moves: cause, crew, autopilot, trim.

    Args:
        setting: The setting.
        cause: Its kind selects code.
        parameters: Of the cause.
        carry: At the start of the step.
        step: s.
        key: JAX random key, read in turbulent air.

    Returns:
        The memory with all but the state moved on, and what is in force during the step.
    """
    time, state, drive = carry.time, carry.state, setting.airplane.trim_drive
    middle = time + 0.5 * step
    seen = _seen(carry)
    u, v, w = _body_air(setting, state)
    speed = jnp.sqrt(u * u + v * v + w * w)
    bank, pitch, _ = attitude(state)
    stalled = (jnp.arctan2(w, u) > setting.airplane.longitudinal.stall_angle) * 1.0
    passed = jnp.maximum(carry.passed, _limits_passed(setting, carry, speed))
    effect = cause.act(parameters, Moment(middle, state, setting.inputs, passed))
    task = setting.task._replace(  # small path angles: pitch moves with climb / speed
        climb=setting.task.climb + effect.climb, pitch=setting.task.pitch + effect.climb / speed
    )

    mind, pilot = carry.mind, setting.pilot
    heard = carry.moved >= setting.cue_delay
    mind = mind._replace(
        recognised=jnp.where(heard, jnp.minimum(mind.recognised, time), mind.recognised)
    )
    crew = crew_at(setting.timetable, first_action(pilot, mind), middle)
    crew = crew._replace(held=jnp.maximum(crew.held, effect.interrupted))

    # The autopilot, until it lets go: by its own limit, the cause, or the crew's first action.
    wanted, servo = servo_force(setting.autopilot, carry.servo, seen, task, step)
    ever = jnp.maximum(setting.autopilot.engaged, jnp.abs(effect.autopilot))
    on = jnp.where(effect.autopilot < 0.0, 0.0, ever) * (time < mind.let_go)
    on = on * (time < first_action(pilot, mind))
    gone = (on == 0.0) | (jnp.abs(wanted) > setting.autopilot.force)
    let_go = jnp.where(gone & (ever > 0.0), jnp.minimum(mind.let_go, time), mind.let_go)
    mind = mind._replace(let_go=let_go)
    by_hand = jnp.where(ever > 0.0, (time >= let_go + pilot.takeover) * 1.0, 1.0)
    mind = think(
        pilot,
        mind,
        seen,
        task,
        crew=crew,
        flying=by_hand * effect.hands_on,
        illusion=effect.illusion,
        time=middle,
        step=step,
    )
    flying = jnp.maximum(by_hand * effect.hands_on, crew.second)
    bank_care = jnp.maximum(effect.bank_care, jnp.maximum(crew.second, crew.attitude))
    limit = setting.autopilot.force
    leaning = effect.body_force * (1.0 - crew.second)
    push = mind.force + leaning + on * (jnp.clip(wanted, -limit, limit) + effect.load)

    asked = -jnp.sign(mind.steady) * (jnp.abs(mind.steady) > TRIM_FORCE) * pilot.trims
    asked = asked * jnp.maximum(drive.rate, drive.manual_rate) * flying
    by_servo = -jnp.sign(servo) * (jnp.abs(servo) > setting.autopilot.trim_force)
    asked = jnp.where(on > 0.0, by_servo * drive.autopilot_rate, asked)
    rate = trim_speed(drive, crew, fault=effect.motor, asked=asked, away=carry.trim, step=step)
    trim = _travel(setting, carry.trim + step * rate)
    aileron, rudder = level_wings(
        setting.airplane, bank=bank, roll_rate=state.roll_rate, sin_beta=v / speed, speed=speed
    )
    lever, feather = _levers(setting, effect, crew)
    inputs = replace(
        setting.inputs,
        pitch_by="force",
        column_force=push * (1.0 - effect.disconnected),
        aileron=setting.inputs.aileron + aileron * bank_care + effect.aileron,
        rudder=setting.inputs.rudder + rudder,
        lever=lever,
        feather=feather,
        cg_shift=setting.inputs.cg_shift + effect.cg_shift,
        flap=jnp.clip(setting.inputs.flap + effect.flap, 0.0, 1.0),
        **_trim_inputs(setting, 0.5 * (trim + carry.trim) + effect.trim_offset),
    )
    airplane = changed_airplane(
        setting.airplane, effect, elevator=setting.inputs.elevator, stalled=stalled
    )
    gust, filters = wind_change(effect, pitch), carry.filters
    if filters is not None:
        strength = effect.gust
        air = Turbulence(
            length_forward=HIGH_LENGTH,
            length_side=HIGH_LENGTH,
            length_vertical=HIGH_LENGTH,
            sigma_forward=strength,
            sigma_side=strength,
            sigma_vertical=strength,
        )
        filters, stirred = step_filters(
            filters,
            air,
            span=airplane.geometry.span,
            speed=speed,
            step=step,
            key=jax.random.fold_in(key, carry.count),
        )
        gust = jax.tree.map(lambda a, b: a + b, gust, stirred)
    moving = jnp.abs(trim - carry.trim) > 0.0
    carry = carry._replace(
        count=carry.count + 1,
        time=time + step,
        trim=trim,
        moved=carry.moved + step * moving,
        mind=mind,
        servo=jnp.where(on > 0.0, jnp.clip(servo, -limit, limit), 0.0),
        passed=passed,
        filters=filters,
    )
    return carry, Controls(airplane, inputs, gust, effect, crew)


def one_step(
    setting: Setting,
    cause: Cause,
    parameters: dict[str, Scalar],
    carry: Carry,
    *,
    step: Scalar = STEP,
    key: Array | None = None,
) -> tuple[Carry, Controls]:
    """One whole step; what a filter over a cause's dynamics moves its particles with.

    Args:
        setting: The setting.
        cause: Its kind selects code.
        parameters: Of the cause.
        carry: At the start of the step.
        step: s.
        key: JAX random key, read in turbulent air.

    Returns:
        Memory at the end of the step, and what was in force during it.
    """
    before = carry.state
    moved, controls = decide(setting, cause, parameters, carry, step=step, key=key)
    state = advance(
        controls.airplane, before, controls.inputs, setting.air, step=step, gust=controls.gust
    )
    moved = moved._replace(state=state, felt=_felt(setting, before, state, step))
    return jax.tree.map(lambda new, old: jnp.asarray(new, old.dtype), moved, carry), controls


def record_of(
    setting: Setting,
    cause: Cause,
    parameters: dict[str, Scalar],
    carry: Carry,
    *,
    step: Scalar,
    key: Array | None = None,
) -> CauseFlight:
    """What is recorded at one instant.

    Args:
        setting: The setting.
        cause: Its kind selects code.
        parameters: Of the cause.
        carry: Now.
        step: s.
        key: JAX random key, read in turbulent air.

    Returns:
        One record; leaves are scalars.
    """
    _, c = decide(setting, cause, parameters, carry, step=step, key=key)
    readings = evaluate(c.airplane, carry.state, c.inputs, setting.air, c.gust)[1]
    drive = setting.airplane.trim_drive.kind
    return CauseFlight(
        time=carry.time,
        state=carry.state,
        readings=readings,
        applied_force=c.inputs.column_force,
        trim=getattr(c.inputs, drive) if drive != "none" else jnp.zeros_like(carry.trim),
        lever=sum(c.inputs.lever) / max(len(c.inputs.lever), 1) + 0.0 * carry.time,
        strength_left=carry.mind.left,
        recognised=carry.mind.recognised,
        hands=c.crew.hands + 0.0 * carry.time,
        cg_shift=c.inputs.cg_shift + 0.0 * carry.time,
    )


def fly(
    setting: Setting,
    cause: Cause,
    parameters: dict[str, Scalar],
    *,
    duration: float,
    key: Array | None = None,
    step: float = STEP,
    record_every: int = 5,
) -> CauseFlight:
    """Fly a cause from a setting; pure and traceable, so `jit` and `vmap` go outside.

    Args:
        setting: Where the flight starts and who flies.
        cause: What happens. Static.
        parameters: By name, scalars.
        duration: s. Static.
        key: JAX random key, read by causes that stir the air.
        step: s. Static.
        record_every: Steps between records. Static.

    Returns:
        The flight.
    """
    records = round(duration / step) // record_every

    def inner(carry, _):
        return one_step(setting, cause, parameters, carry, step=step, key=key)[0], None

    def outer(carry, _):
        record = record_of(setting, cause, parameters, carry, step=step, key=key)
        return jax.lax.scan(inner, carry, None, length=record_every)[0], record

    carry = start_flight(setting, turbulent=cause.turbulent, key=key)
    return jax.lax.scan(outer, carry, None, length=records)[1]
