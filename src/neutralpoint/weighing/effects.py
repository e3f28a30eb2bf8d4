"""An airplane at a start as a network can use it: what a unit of each control and fault would do.

Not names and not derivatives, but accelerations a degree of trim, a newton of column force, a
centimetre of CG or a notch of power would cause from that steady flight, the forces that would hold
them, and what is left of travel, power and lift.
"""

from __future__ import annotations

import dataclasses

import jax
import jax.numpy as jnp
from jax import Array

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics.air import Air, make_air
from neutralpoint.dynamics.authority import pull_per_g
from neutralpoint.dynamics.equations import evaluate
from neutralpoint.dynamics.equilibrium import Condition, Equilibrium, find_equilibrium
from neutralpoint.dynamics.modes import coordinates, state_at
from neutralpoint.explanations.change import nose_down_sign
from neutralpoint.quantities import DEGREE, GRAVITY

# What is moved, and by how much: small against what flight does, large against rounding.
MOVES = {
    "force": 1.0,  # N
    "trim": 0.1 * DEGREE,  # nose down
    "cg": 0.01,  # m aft
    "power": 0.02,  # share of the output of all engines
    "first engine": 0.02,
    "flap": 0.02,
    "aileron": 0.1 * DEGREE,
    "speed": 0.2,  # m/s
    "alpha": 0.1 * DEGREE,
    "pitch rate": 0.1 * DEGREE,
    "sideslip": 0.1 * DEGREE,
    "roll rate": 0.1 * DEGREE,
    "yaw rate": 0.1 * DEGREE,
}
SEEN = ("along", "across", "pitching", "rolling", "yawing")
ALONG = ("force", "trim", "cg", "power", "flap", "speed", "alpha", "pitch rate")
ASIDE = ("first engine", "aileron", "sideslip", "roll rate", "yaw rate")
ENGINES = ("piston", "turboprop", "turbofan")
TRIMS = ("stabilizer", "tab", "none")
LEAST_FORCE = 1e-6  # rad/s2 a newton: keeps forces finite where the column does nothing


def start_equilibrium(airplane: Airplane, start: dict[str, Array]) -> tuple[Air, Equilibrium]:
    """The steady flight that a case starts from.

    Args:
        airplane: As documented and loaded.
        start: "speed", "path_angle", "height", "temperature_offset", "flap", "gear".

    Returns:
        The air and the steady flight.
    """
    air = make_air(temperature_offset=start["temperature_offset"])
    find = "elevator" if airplane.trim_drive.kind == "none" else "trim"
    condition = Condition(
        find=find,
        speed=start["speed"],
        height=start["height"],
        path_angle=start["path_angle"],
        flap=start["flap"],
        gear=start["gear"],
    )
    return air, find_equilibrium(airplane, air, condition)


def _accelerations(airplane: Airplane, air: Air, steady: Equilibrium, moved: dict) -> Array:
    """What is felt and how the body turns with everything moved by a little, shape (5,)."""
    state, inputs = steady.state, steady.inputs
    at = coordinates(state, air, -state.down)
    slots = ("speed", "alpha", "pitch rate", None, "sideslip", "roll rate", "yaw rate", None)
    at = at + jnp.stack([moved[name] if name else 0.0 * at[0] for name in slots])
    power = tuple(
        p + moved["power"] + (moved["first engine"] if number == 0 else 0.0)
        for number, p in enumerate(state.power)
    )
    kind, trim = airplane.trim_drive.kind, nose_down_sign(airplane) * moved["trim"]
    inputs = dataclasses.replace(
        inputs,
        pitch_by="force",
        column_force=steady.readings.column_force + moved["force"],
        cg_shift=inputs.cg_shift + moved["cg"],
        flap=inputs.flap + moved["flap"],
        aileron=inputs.aileron + moved["aileron"],
        lever=power,
        **({} if kind == "none" else {kind: getattr(inputs, kind) + trim}),
    )
    there = dataclasses.replace(state_at(at, state, air, -state.down), power=power)
    rate, readings = evaluate(airplane, there, inputs, air)
    return jnp.stack(
        [
            readings.forward_load_factor,
            readings.normal_load_factor,
            rate.pitch_rate,
            rate.roll_rate,
            rate.yaw_rate,
        ]
    )


def _slopes(airplane: Airplane, air: Air, steady: Equilibrium) -> dict[str, dict[str, Array]]:
    """Change of what is felt a unit of each move."""
    names = tuple(MOVES)
    sizes = jnp.asarray(tuple(MOVES.values()))

    def moved(row):
        return _accelerations(airplane, air, steady, dict(zip(names, row, strict=True)))

    shifts = jnp.diag(sizes)
    change = (jax.vmap(moved)(shifts) - jax.vmap(moved)(-shifts)) / (2.0 * sizes[:, None])
    return {name: dict(zip(SEEN, change[number], strict=True)) for number, name in enumerate(names)}


def effects(airplane: Airplane, start: dict[str, Array]) -> dict[str, Array]:
    """What a network is told of the airplane and the start.

    Args:
        airplane: As documented and loaded.
        start: See `start_equilibrium`.

    Returns:
        Numbers by name; signed ones of wide range as inverse hyperbolic sines, so that none of an
        odd airplane is far out of scale.

    Source: definitions; the force that holds a moment is the quotient of two accelerations.
    Checked against: tests/unit/test_weighing_effects.py.
    """
    air, steady = start_equilibrium(airplane, start)
    slope = _slopes(airplane, air, steady)
    r, s, drive, lon = steady.readings, steady.state, airplane.trim_drive, airplane.longitudinal
    per_g = pull_per_g(airplane, air, _condition(start, steady)).force_per_g
    hold = slope["force"]["pitching"]
    hold = jnp.where(jnp.abs(hold) < LEAST_FORCE, LEAST_FORCE, hold)
    trim_force = -slope["trim"]["pitching"] / hold
    sign = nose_down_sign(airplane)
    place = 0.0 if drive.kind == "none" else getattr(steady.inputs, drive.kind)
    ends = (sign * (drive.travel_max - place), sign * (drive.travel_min - place))
    down, up = jnp.maximum(*ends), jnp.maximum(*(-end for end in ends))
    lever = sum(s.power) / max(len(s.power), 1)
    stall = lon.stall_angle + lon.stall_angle_flap * start["flap"]
    lift = slope["alpha"]["across"]
    weight = airplane.mass.mass * GRAVITY
    control = airplane.pitch_control

    def wide(value, unit):
        return jnp.arcsinh(value / unit)

    felt = {
        f"{seen} of {name}": wide(slope[name][seen] * 10.0 * MOVES[name], unit)
        for name in ALONG
        for seen, unit in (("along", 0.003), ("across", 0.02), ("pitching", 0.003))
    }
    aside = {
        f"{seen} of {name}": wide(slope[name][seen] * 10.0 * MOVES[name], 0.003)
        for name in ASIDE
        for seen in ("rolling", "yawing")
    }
    forces = {
        "force per g": wide(per_g, 100.0),
        "force of trim": wide(trim_force * DEGREE, 30.0),
        "force of motor": wide(trim_force * drive.rate, 10.0),
        "force of loaded motor": wide(trim_force * drive.loaded_rate, 10.0),
        "force of autopilot trim": wide(trim_force * drive.autopilot_rate, 3.0),
        "force of trim wheel": wide(trim_force * drive.manual_rate, 10.0),
        "force of all nose-down trim": wide(trim_force * down, 200.0),
        "force of all nose-up trim": wide(trim_force * up, 200.0),
        "force of cg": wide(-slope["cg"]["pitching"] / hold * 0.01, 5.0),
        "force of full power": wide(-slope["power"]["pitching"] / hold * (1.0 - lever), 30.0),
        "force of no power": wide(slope["power"]["pitching"] / hold * lever, 30.0),
    }
    left = {
        "nose-down trim left": down / (10.0 * DEGREE),
        "nose-up trim left": up / (10.0 * DEGREE),
        "lever": lever,
        "thrust left": wide(slope["power"]["along"] * (1.0 - lever), 0.05),
        "thrust to lose": wide(slope["power"]["along"] * lever, 0.05),
        "load factor at the stall": wide(lift * (stall - r.angle_of_attack), 1.0),
        "load factor at the negative stall": wide(
            lift * (lon.negative_stall_angle - r.angle_of_attack), 1.0
        ),
        "elevator up left": (r.elevator - control.elevator_min) / (20.0 * DEGREE),
        "elevator down left": (control.elevator_max - r.elevator) / (20.0 * DEGREE),
    }
    flight = {
        "speed": jnp.log(start["speed"] / 80.0),
        "path angle": 10.0 * start["path_angle"],
        "height": start["height"] / 4000.0,
        "warmth": start["temperature_offset"] / 20.0,
        "flap": start["flap"],
        "gear": start["gear"],
        "mach": r.mach,
        "pressure": jnp.log(r.dynamic_pressure / 4000.0),
        "over the limit": r.dynamic_pressure
        / (0.6125 * airplane.limits.never_exceed_speed**2),  # half of rho0
        "incidence": 10.0 * r.angle_of_attack,
        "wing loading": jnp.log(weight / airplane.geometry.wing_area / 2000.0),
        "mass": jnp.log(airplane.mass.mass / 4000.0),
        "span": jnp.log(airplane.geometry.span / 15.0),
    }
    kind = airplane.engines[0].kind if airplane.engines else ""
    kinds = (
        {f"engine {name}": float(kind == name) for name in ENGINES}
        | {f"trim {name}": float(drive.kind == name) for name in TRIMS}
        | {"engines": float(len(airplane.engines)), "reversible": float(control.reversible)}
    )
    return {
        name: jnp.asarray(value, float)
        for name, value in (felt | aside | forces | left | flight | kinds).items()
    }


def _condition(start: dict[str, Array], steady: Equilibrium) -> Condition:
    """The start with everything found, for one g more."""
    return Condition(
        speed=start["speed"],
        height=start["height"],
        path_angle=start["path_angle"],
        lever=steady.inputs.lever[0] if steady.inputs.lever else 0.0,
        stabilizer=steady.inputs.stabilizer,
        tab=steady.inputs.tab,
        flap=start["flap"],
        gear=start["gear"],
    )
