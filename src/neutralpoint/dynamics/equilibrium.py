"""Steady flight: level, climbing, turning, with engines out, and the steady pull-up.

Newton's method on the equations of motion themselves, derivatives by autodiff. Failure is a value:
an outcome code and the residual, never an exception, so batches go through `vmap`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

import jax
import jax.numpy as jnp
from jax import Array

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics.air import Air, gas, wind
from neutralpoint.dynamics.equations import evaluate
from neutralpoint.dynamics.state import Inputs, Readings, State, ground_velocity, quaternion
from neutralpoint.dynamics.vectors import Scalar, add, body_to_ned, rotate
from neutralpoint.quantities import GRAVITY

# What each outcome code means, for the user.
OUTCOMES: dict[int, str] = {
    0: "Steady flight found.",
    1: "No steady flight found: the iteration did not settle.",
    2: "The elevator would have to go beyond its stop.",
    3: "The wing would have to work beyond its stall.",
    4: "The engines would have to give more than full power.",
    5: "The engines would have to give less than idle.",
    6: "The pitch trim would have to go beyond its travel.",
}


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Condition:
    """The steady flight asked for.

    Args:
        find: What is unknown in pitch. "elevator": trim and speed are given, elevator and column
            force follow. "trim": the trim setting at which the column force is `column_force`.
            "speed": the speed at which it is, with the trim given. Static.
        turn: "none": wings level and nothing to one side, only the pitch plane is solved (bank and
            running are not read). "coordinated": no side load, turning as the bank says.
            "straight": no turn, sideslip as the bank says. Static.
        power: "path": the path angle is given, the lever follows. "lever": the other way. Static.
        speed: True airspeed, m/s (first guess where it is unknown).
        height: m.
        path_angle: Air-relative, rad, climbing positive (first guess where unknown).
        bank: rad.
        heading: rad.
        lever: 0 to 1 (first guess where unknown).
        stabilizer: rad (first guess where it is the unknown trim).
        tab: rad (first guess where it is the unknown trim).
        column_force: N, pull positive; read with "trim" and "speed".
        flap: 0 to 1.
        gear: 0 to 1.
        cg_shift: m aft.
        running: One per engine, 1 running, 0 feathered or stopped; empty = all running.
    """

    find: Literal["elevator", "trim", "speed"] = field(
        metadata={"static": True}, default="elevator"
    )
    turn: Literal["none", "coordinated", "straight"] = field(
        metadata={"static": True}, default="none"
    )
    power: Literal["path", "lever"] = field(metadata={"static": True}, default="path")
    speed: Scalar
    height: Scalar
    path_angle: Scalar = 0.0
    bank: Scalar = 0.0
    heading: Scalar = 0.0
    lever: Scalar = 0.5
    stabilizer: Scalar = 0.0
    tab: Scalar = 0.0
    column_force: Scalar = 0.0
    flap: Scalar = 0.0
    gear: Scalar = 0.0
    cg_shift: Scalar = 0.0
    running: tuple[Scalar, ...] = ()


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Equilibrium:
    """A steady flight, or the best found.

    Args:
        state: The state at the origin of the local frame.
        inputs: Inputs that hold it (`pitch_by` "elevator").
        readings: Column force, load factor and the rest.
        outcome: Key of `OUTCOMES`; 0 is success. Codes above 1 are solved but out of limits.
        residual: Largest unbalanced acceleration, in g or g per chord.
        iterations: Newton steps taken.
    """

    state: State
    inputs: Inputs
    readings: Readings
    outcome: Array
    residual: Array
    iterations: Array


def solve(
    residual: Callable[[Array], Array], start: Array, *, limit: Array, iterations: int = 40
) -> tuple[Array, Array, Array]:
    """Newton's method with each unknown's step kept within a limit.

    Source: Nocedal and Wright, Numerical Optimization (2006), algorithm 11.1.

    Args:
        residual: From (k,) unknowns to (k,) residuals, scaled to order 1.
        start: (k,) first guess.
        limit: (k,) largest change of each unknown in one iteration.
        iterations: At most. Static.

    Returns:
        (k,) unknowns, largest residual before the last step, iterations taken.
    """

    def with_value(x):
        value = residual(x)
        return value, value

    def unsettled(carry):
        _, error, count = carry
        return (error > 1e-11) & (count < iterations)

    def improve(carry):
        # Value and slope in one evaluation: the step from a settled point is harmless.
        x, _, count = carry
        slope, value = jax.jacfwd(with_value, has_aux=True)(x)
        move = jnp.linalg.solve(slope, value)
        # A singular slope gives no direction: stay, and the residual tells that nothing was found.
        move = jnp.where(jnp.isfinite(move), move, 0.0)
        # All unknowns are cut by one factor, so that the direction of the step stays.
        x = x - move / jnp.maximum(1.0, jnp.max(jnp.abs(move) / limit))
        return x, jnp.max(jnp.abs(value)), count + 1

    return jax.lax.while_loop(unsettled, improve, (start, jnp.asarray(jnp.inf), jnp.asarray(0)))


# Unknowns in order, with the largest change in one Newton step (rad, rad/s, lever share, m/s): a
# safeguard of the iteration, not a physical quantity.
PITCH_PLANE = {"alpha": 0.1, "pitch": 0.2, "elevator": 0.3, "lever": 0.5}
OUT_OF_PLANE = {"beta": 0.2, "turn_rate": 0.1, "aileron": 0.3, "rudder": 0.3}
LAST = {"elevator": {}, "trim": {"trim": 0.1}, "speed": {"speed": 20.0}}


def steady_state(airplane: Airplane, air: Air, condition: Condition, x: dict) -> State:
    """State over the origin with the angles of `x`, turning steadily about the vertical.

    Args:
        airplane: Gives the engines.
        air: Gives the wind.
        condition: Height, bank and heading.
        x: "speed", "alpha", "beta", "pitch", "turn_rate", "power" (tuple), "pitch_rate" (added).

    Returns:
        The state.
    """
    c = condition
    e = quaternion(bank=x["bank"], pitch=x["pitch"], heading=c.heading)
    flat = x["speed"] * jnp.cos(x["beta"])
    through = (
        flat * jnp.cos(x["alpha"]),
        x["speed"] * jnp.sin(x["beta"]),
        flat * jnp.sin(x["alpha"]),
    )
    velocity = add(rotate(body_to_ned(*e), through), wind(air, c.height))
    level = x["turn_rate"] * jnp.cos(x["pitch"])
    return State(
        north=0.0,
        east=0.0,
        down=-c.height,
        velocity_north=velocity[0],
        velocity_east=velocity[1],
        velocity_down=velocity[2],
        e0=e[0],
        e1=e[1],
        e2=e[2],
        e3=e[3],
        roll_rate=-x["turn_rate"] * jnp.sin(x["pitch"]),
        pitch_rate=level * jnp.sin(x["bank"]) + x["pitch_rate"],
        yaw_rate=level * jnp.cos(x["bank"]),
        power=x["power"],
    )


def _complete(airplane: Airplane, c: Condition, x: dict) -> dict:
    """The unknowns with everything that is given."""
    plane = c.turn == "none"
    running = (1.0,) * len(airplane.engines) if plane or not c.running else c.running
    given = {
        "speed": c.speed,
        "bank": 0.0 if plane else c.bank,
        "beta": 0.0,
        "turn_rate": 0.0,
        "pitch_rate": 0.0,
        "aileron": 0.0,
        "rudder": 0.0,
        "power": tuple(x["lever"] * on for on in running),
        "feather": tuple(1.0 - on for on in running),
    }
    return given | x


def _inputs(airplane: Airplane, c: Condition, x: dict) -> Inputs:
    trim = {"stabilizer": c.stabilizer, "tab": c.tab}
    if c.find == "trim":
        trim[airplane.trim_drive.kind] = x["trim"]
    return Inputs(
        elevator=x["elevator"],
        aileron=x["aileron"],
        rudder=x["rudder"],
        flap=c.flap,
        gear=c.gear,
        lever=x["power"],
        feather=x["feather"],
        cg_shift=c.cg_shift,
        stabilizer=trim["stabilizer"],
        tab=trim["tab"],
    )


def _unbalanced(airplane: Airplane, air: Air, c: Condition, x: dict) -> Array:
    """Residuals in the order of the unknowns, in g, g per chord, rad and shares."""
    x = _complete(airplane, c, x)
    state = steady_state(airplane, air, c, x)
    rate, readings = evaluate(airplane, state, _inputs(airplane, c, x), air)
    chord = airplane.geometry.mean_chord / GRAVITY
    north, east, down = (
        a - b for a, b in zip(ground_velocity(state), wind(air, c.height), strict=True)
    )
    # The path is that through the air: in wind the one over the ground is another.
    climb = -down / x["speed"] - jnp.sin(c.path_angle)
    # A velocity that turns steadily changes by rate times itself; only the rest is unbalanced.
    rows = [
        (rate.velocity_north + x["turn_rate"] * east) / GRAVITY,
        rate.velocity_down / GRAVITY,
        rate.pitch_rate * chord,
        climb if c.power == "path" else x["lever"] - c.lever,
    ]
    if c.turn != "none":
        rows += [
            (rate.velocity_east - x["turn_rate"] * north) / GRAVITY,
            readings.side_load_factor if c.turn == "coordinated" else x["turn_rate"],
            rate.roll_rate * chord,
            rate.yaw_rate * chord,
        ]
    # Thousandths of the weight, so that a pound of pull counts like the other rows.
    if c.find != "elevator":
        weight = airplane.mass.mass * GRAVITY
        rows.append(1e3 * (readings.column_force - c.column_force) / weight)
    return jnp.stack(rows)


def _first_guess(airplane: Airplane, air: Air, c: Condition, names: list[str]) -> Array:
    density = gas(air, c.height)[0]
    # Lift carries the weight across the path, and the turn leans it by the bank.
    lift = airplane.mass.mass * GRAVITY * jnp.cos(c.path_angle)
    lift = lift / jnp.cos(0.0 if c.turn == "none" else c.bank)
    CL = lift / (0.5 * density * c.speed**2 * airplane.geometry.wing_area)
    lon = airplane.longitudinal
    # From the near side of the stall: beyond it the slope turns, and Newton's steps run away.
    alpha = jnp.clip(
        (CL - lon.CL_0 - lon.CL_flap * c.flap) / lon.CL_alpha,
        lon.negative_stall_angle,
        lon.stall_angle - lon.stall_width,
    )
    trim = c.tab if airplane.trim_drive.kind == "tab" else c.stabilizer
    first = {
        "alpha": alpha,
        "pitch": alpha + c.path_angle,
        "lever": c.lever,
        "trim": trim,
        "speed": c.speed,
    }
    return jnp.stack([jnp.asarray(first.get(name, 0.0), float) for name in names])


def _outcome(airplane: Airplane, c: Condition, x: dict, error: Array) -> Array:
    control, lon, drive = airplane.pitch_control, airplane.longitudinal, airplane.trim_drive
    top = lon.stall_angle + lon.stall_angle_flap * c.flap
    tests = [
        (~(error <= 1e-8), 1),  # catches NaN too
        ((x["alpha"] > top) | (x["alpha"] < lon.negative_stall_angle), 3),
        ((x["elevator"] < control.elevator_min) | (x["elevator"] > control.elevator_max), 2),
        (x["lever"] > 1.0 + 1e-6, 4),
        (x["lever"] < -1e-6, 5),
    ]
    if c.find == "trim":
        out = (x["trim"] < drive.travel_min) | (x["trim"] > drive.travel_max)
        tests.insert(3, (out, 6))
    return jnp.select([test for test, _ in tests], [jnp.asarray(code) for _, code in tests], 0)


def find_equilibrium(airplane: Airplane, air: Air, condition: Condition) -> Equilibrium:
    """Steady flight in a condition.

    Unknowns: incidence, pitch, elevator, lever; with a turn or sideslip also sideslip, turn rate,
    aileron, rudder; with "trim" or "speed" one more. The velocity through the air turns about the
    vertical at the turn rate, nothing else changes; the change of density with height is left out.

    Source: Etkin and Reid (1996), sections 2.4 and 7.5 (steady states of eq. 4.5). Checked against:
    tests/unit/test_dynamics_equilibrium.py.

    Args:
        airplane: The airplane.
        air: The column of air.
        condition: What is asked for.

    Returns:
        The steady flight with its outcome code.
    """
    c = condition
    limits = PITCH_PLANE | ({} if c.turn == "none" else OUT_OF_PLANE) | LAST[c.find]
    names = list(limits)

    def residual(x):
        return _unbalanced(airplane, air, c, dict(zip(names, x, strict=True)))

    start = _first_guess(airplane, air, c, names)
    limit = jnp.array([limits[name] for name in names])
    x, error, count = solve(residual, start, limit=limit)
    found = _complete(airplane, c, dict(zip(names, x, strict=True)))
    state, inputs = steady_state(airplane, air, c, found), _inputs(airplane, c, found)
    state, inputs = jax.tree.map(lambda leaf: jnp.asarray(leaf, float), (state, inputs))
    return Equilibrium(
        state=state,
        inputs=inputs,
        readings=evaluate(airplane, state, inputs, air)[1],
        outcome=_outcome(airplane, c, found, error),
        residual=error,
        iterations=count,
    )


def find_pull_up(
    airplane: Airplane, air: Air, condition: Condition, load_factor: Scalar
) -> Equilibrium:
    """A steady pull-up: the path turns upward at g (n - cos(path angle)) / V.

    Source: Etkin and Reid (1996), section 3.1 (elevator angle per g). Incidence and elevator are
    found; lever, trim, speed and path angle are as given, so speed is changing.

    Args:
        airplane: The airplane.
        air: The column of air.
        condition: Speed, height, lever, trim; `find`, `turn` and `power` are not read.
        load_factor: Across the path, 1 = level flight.

    Returns:
        The pull-up; the outcome tells stall and elevator stops.
    """
    c = dataclasses.replace(condition, find="elevator", turn="none", power="lever")
    pitch_rate = GRAVITY * (load_factor - jnp.cos(c.path_angle)) / c.speed

    def at(x):
        found = {"alpha": x[0], "pitch": x[0] + c.path_angle, "elevator": x[1], "lever": c.lever}
        return _complete(airplane, c, found) | {"pitch_rate": pitch_rate}

    def residual(x):
        full = at(x)
        state = steady_state(airplane, air, c, full)
        rate = evaluate(airplane, state, _inputs(airplane, c, full), air)[0]
        # Across the path, in its vertical plane.
        up = -rate.velocity_down * jnp.cos(c.path_angle) - rate.velocity_north * jnp.sin(
            c.path_angle
        )
        chord = airplane.geometry.mean_chord
        wanted = c.speed * pitch_rate
        return jnp.stack([up - wanted, rate.pitch_rate * chord]) / GRAVITY

    # Heading north the vertical plane of the path is that of two axes, and `up` above holds.
    c = dataclasses.replace(c, heading=0.0)
    start = jnp.stack([_first_guess(airplane, air, c, ["alpha"])[0], jnp.zeros(())])
    x, error, count = solve(residual, start, limit=jnp.array([0.1, 0.3]))
    full = at(x)
    state, inputs = jax.tree.map(
        lambda leaf: jnp.asarray(leaf, float),
        (steady_state(airplane, air, c, full), _inputs(airplane, c, full)),
    )
    return Equilibrium(
        state=state,
        inputs=inputs,
        readings=evaluate(airplane, state, inputs, air)[1],
        outcome=_outcome(airplane, c, full, error),
        residual=error,
        iterations=count,
    )
