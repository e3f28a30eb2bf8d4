"""Flying a cause: each step the cause acts, the crew acts, the trim moves, the airplane flies."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import jax
import jax.numpy as jnp
from jax import Array

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics.air import gravity_ned, height_above
from neutralpoint.dynamics.column import through_friction
from neutralpoint.dynamics.equations import evaluate
from neutralpoint.dynamics.flight import STEP, advance
from neutralpoint.dynamics.state import Gust, Inputs, Readings, State, attitude
from neutralpoint.dynamics.turbulence import (
    HIGH_LENGTH,
    FilterState,
    Turbulence,
    start_filters,
    step_filters,
)
from neutralpoint.dynamics.vectors import Scalar, body_to_ned, rotate_back
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters
from neutralpoint.explanations.change import (
    buffet,
    changed_airplane,
    level_wings,
    limits_passed,
    wind_change,
)
from neutralpoint.explanations.cockpit import (
    Felt,
    Met,
    Servo,
    act_by_clock,
    blown,
    meet_air,
    move_trim,
    notice,
    run_autopilot,
    see,
    set_levers,
    stall_angle,
    take_hold,
)
from neutralpoint.explanations.crew import Crew
from neutralpoint.explanations.hand import think
from neutralpoint.explanations.levers import moved_power
from neutralpoint.explanations.pilot import Mind, Task, first_mind
from neutralpoint.explanations.setting import Setting
from neutralpoint.quantities import GRAVITY

# Share of the column's friction that a hand on it overcomes without thinking, as a hand works by
# position. Analyst's: with none of it drawn pilots limit-cycle by 1 m/s of climb in smooth air.
OVERCOME = 0.8


class Carry(NamedTuple):
    """Everything that a flight remembers from one step to the next.

    Args:
        steps: Taken so far.
        time: s.
        state: Of the airplane.
        trim: Trim surface away from its setting at the start, rad, nose down positive.
        moved: How long the trim has moved, s.
        mind: The pilot.
        servo: Steady part of the autopilot's servo, N.
        felt: What the seat tells.
        passed: Largest so far of speed and load factor over their limits.
        pulled: Column force past friction, N.
        load: Moment of the air on the stabilizer when last recorded, N m.
        filters: Of the turbulence, None in calm air.
    """

    steps: Array
    time: Array
    state: State
    trim: Array
    moved: Array
    mind: Mind
    servo: Array
    felt: Felt
    passed: Array
    pulled: Array
    load: Array
    filters: FilterState | None


class Controls(NamedTuple):
    """What is in force during one step."""

    airplane: Airplane
    inputs: Inputs
    gust: Gust
    effect: Effect
    crew: Crew
    push: Scalar


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


def _felt(setting: Setting, before: State, now: State, step: Scalar) -> Felt:
    """Specific force from the change of velocity over a step."""
    height = height_above(setting.air, now.north, now.east, now.down)
    down = gravity_ned(setting.air, now.north, now.east, height)
    # A body feels its acceleration less gravity.
    change = (
        (now.velocity_north - before.velocity_north) / step - down[0],
        (now.velocity_east - before.velocity_east) / step - down[1],
        (now.velocity_down - before.velocity_down) / step - down[2],
    )
    x, _, z = rotate_back(body_to_ned(now.e0, now.e1, now.e2, now.e3), change)
    # Forward, and against body z: 1 in level flight.
    return Felt(x / GRAVITY, -z / GRAVITY)


def _given(key: Array | None) -> Array:
    if key is None:
        raise NeutralPointError(
            "argument-invalid",
            "Air that is stirred needs a random key.",
            where="key",
            hint="Pass a JAX random key",
        )
    return key


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
    met = meet_air(setting, setting.state)
    warning = stall_angle(setting, Effect())[1]
    seen = see(met, setting.state, attitude(setting.state)[1], felt, warning)
    zero = jnp.asarray(0.0)
    carry = Carry(
        steps=jnp.asarray(0),
        time=zero,
        state=setting.state,
        trim=zero,
        moved=zero,
        mind=first_mind(seen, setting.task),
        servo=zero,
        felt=felt,
        passed=zero,
        pulled=jnp.asarray(setting.inputs.column_force),
        load=jnp.asarray(readings.stabilizer_moment),
        filters=start_filters(_given(key)) if turbulent else None,
    )
    # One precision, that of the state, throughout: a step must hand on the types that it was given.
    kind = jnp.asarray(setting.state.down).dtype
    return jax.tree.map(
        lambda x: jnp.asarray(x, kind if jnp.asarray(x).dtype.kind == "f" else None), carry
    )


def _trim_inputs(setting: Setting, trim: Scalar) -> dict[str, Scalar]:
    kind = setting.airplane.trim_drive.kind
    if kind == "none":
        return {}
    return {kind: getattr(setting.inputs, kind) + setting.nose_down * trim}


def _moment(setting: Setting, state: State, time: Scalar, passed: Scalar) -> Moment:
    return Moment(time, state, setting.inputs, passed, setting.handling.force_per_g)


def _task(setting: Setting, effect: Effect, speed: Scalar) -> Task:
    """What is to be held; small path angles: pitch moves with climb / speed."""
    task = setting.task
    return task._replace(climb=task.climb + effect.climb, pitch=task.pitch + effect.climb / speed)


def _pushed(mind: Mind, servo: Servo, effect: Effect, crew: Crew) -> Scalar:
    """Column force of pilot, servo, body and whoever leans on it, N; 0 where it moves nothing."""
    # A second person holds back whoever leans against the column.
    leaning = effect.body_force * (1.0 - crew.second)
    force = mind.force + leaning + servo.force + servo.on * effect.load
    return force * (1.0 - effect.disconnected)


def _inputs(
    setting: Setting,
    met: Met,
    bank: Scalar,
    effect: Effect,
    crew: Crew,
    *,
    mind: Mind,
    roll_rate: Scalar,
    trim: Scalar,
    pulled: Scalar,
) -> Inputs:
    """Everything that is done to the airplane."""
    aileron, rudder = level_wings(
        setting.airplane,
        bank=bank,
        roll_rate=roll_rate,
        sin_beta=met.v / met.speed,
        speed=met.speed,
    )
    # A cause may take the bank out of anybody's care; a second person, or the attitude instruments,
    # bring it back.
    care = jnp.maximum(effect.bank_care, jnp.maximum(crew.second, crew.attitude))
    lever, feather = set_levers(setting, mind, effect, crew)
    return replace(
        setting.inputs,
        pitch_by="force",
        column_force=pulled,
        aileron=setting.inputs.aileron + aileron * care + effect.aileron,
        rudder=setting.inputs.rudder + rudder,
        lever=lever,
        feather=feather,
        cg_shift=setting.inputs.cg_shift + effect.cg_shift,
        flap=jnp.clip(setting.inputs.flap + effect.flap, 0.0, 1.0),
        **_trim_inputs(setting, trim),
    )


def _stirred(filters, strength: Scalar, gust: Gust, *, span, speed, step, key):
    """Filters of the turbulence moved on, and its gust added."""
    if filters is None:
        return None, gust
    air = Turbulence(
        length_forward=HIGH_LENGTH,
        length_side=HIGH_LENGTH,
        length_vertical=HIGH_LENGTH,
        sigma_forward=strength,
        sigma_side=strength,
        sigma_vertical=strength,
    )
    filters, stirred = step_filters(filters, air, span=span, speed=speed, step=step, key=key)
    return filters, jax.tree.map(lambda a, b: a + b, gust, stirred)


def decide(
    setting: Setting,
    cause: Cause,
    parameters: Parameters,
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
    time, state, pilot = carry.time, carry.state, setting.pilot
    # Crew and cause act for the whole step, so they are asked at its middle: second order in time.
    middle = time + 0.5 * step
    bank, pitch, _ = attitude(state)
    met = meet_air(setting, state)
    now = limits_passed(setting.airplane, met.density, met.speed, carry.felt.normal)
    # The most so far: what a limit has broken stays broken.
    passed = jnp.maximum(carry.passed, now)
    effect = cause.effect(parameters, _moment(setting, state, middle, passed))
    gust = wind_change(effect, pitch)
    met = blown(met, gust)
    stall, warning = stall_angle(setting, effect)
    seen = see(met, state, pitch, carry.felt, warning)
    task = _task(setting, effect, met.speed)

    # In the order of the world: something is noticed, acted on, and only then trimmed away.
    mind = notice(setting, carry.mind, effect, carry.moved, time)
    crew = act_by_clock(setting, mind, effect, middle)
    servo, mind, by_hand = run_autopilot(
        setting, mind, carry.servo, seen, task, effect, time=time, step=step
    )
    grip = take_hold(setting, mind, effect, crew, by_hand=by_hand, time=time)
    how = {"crew": crew, "grip": grip, "time": middle, "step": step}
    mind = think(pilot, mind, seen, task, setting.handling, **how)
    trim, mind = move_trim(
        setting,
        mind,
        seen,
        effect,
        crew,
        grip=grip,
        servo=servo,
        trim=carry.trim,
        load=carry.load,
        step=step,
    )
    power = moved_power(pilot, mind, seen, setting.handling, **how)
    mind = mind._replace(power=power)

    push = _pushed(mind, servo, effect, crew)
    held = jnp.maximum(grip.flying, crew.second)
    friction = setting.airplane.pitch_control.friction * (1.0 - effect.disconnected)
    friction = friction * (1.0 - OVERCOME * held)
    pulled = through_friction(carry.pulled, push, friction)
    inputs = _inputs(
        setting,
        met,
        bank,
        effect,
        crew,
        mind=mind,
        roll_rate=state.roll_rate,
        # The mean over the step, for inputs are held for it: a running motor would else lag by half
        # a step.
        trim=0.5 * (trim + carry.trim) + effect.trim_offset,
        pulled=pulled,
    )
    airplane = changed_airplane(
        setting.airplane,
        effect,
        elevator=setting.inputs.elevator,
        # Spare incidence counts to the warning, which comes before the stall by their difference.
        stalled=(seen.spare_incidence < warning - stall) * 1.0,
    )
    filters, gust = _stirred(
        carry.filters,
        effect.gust + buffet(setting.airplane, met.density, met.speed),
        gust,
        span=airplane.geometry.span,
        speed=met.speed,
        step=step,
        key=None if carry.filters is None else jax.random.fold_in(_given(key), carry.steps),
    )
    carry = carry._replace(
        steps=carry.steps + 1,
        time=time + step,
        trim=trim,
        # For how long the trim has moved in all: what a sound of it would tell.
        moved=carry.moved + step * (jnp.abs(trim - carry.trim) > 0.0),
        mind=mind,
        servo=servo.steady,
        passed=passed,
        pulled=pulled,
        filters=filters,
    )
    return carry, Controls(airplane, inputs, gust, effect, crew, push)


def one_step(
    setting: Setting,
    cause: Cause,
    parameters: Parameters,
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
    parameters: Parameters,
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
        applied_force=jnp.asarray(c.push),
        trim=getattr(c.inputs, drive) if drive != "none" else jnp.zeros_like(carry.trim),
        # Zero times a traced number, here and below: a plain number would have no axis over
        # flights.
        lever=jnp.asarray(sum(c.inputs.lever) / max(len(c.inputs.lever), 1) + 0.0 * carry.time),
        strength_left=jnp.asarray(carry.mind.left),
        recognised=jnp.asarray(carry.mind.recognised),
        hands=jnp.asarray(c.crew.hands + 0.0 * carry.time),
        cg_shift=jnp.asarray(c.inputs.cg_shift + 0.0 * carry.time),
    )


def felt_by_motor(carry: Carry, record: CauseFlight) -> Carry:
    """The memory with the load that the trim motor has as of a record; it changes slowly.

    Args:
        carry: Now.
        record: Now.

    Returns:
        The memory.
    """
    # Once a record, not once a step: the hinge load costs a whole evaluation of the airplane.
    load = jnp.asarray(record.readings.stabilizer_moment, carry.load.dtype)
    return carry._replace(load=load)


def fly(
    setting: Setting,
    cause: Cause,
    parameters: Parameters,
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

    # Recorded before its steps, so that the first record is the start.
    def outer(carry, _):
        record = record_of(setting, cause, parameters, carry, step=step, key=key)
        carry = felt_by_motor(carry, record)
        return jax.lax.scan(inner, carry, None, length=record_every)[0], record

    carry = start_flight(setting, turbulent=cause.turbulent, key=key)
    return jax.lax.scan(outer, carry, None, length=records)[1]
