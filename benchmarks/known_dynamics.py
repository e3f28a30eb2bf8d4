"""What the flight model makes of a few states of three airplanes."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.dynamics import (
    Condition,
    evaluate,
    find_equilibrium,
    fly,
    identify_modes,
    linearize,
    make_air,
    make_inputs,
    mil_turbulence,
    scheduled,
)
from neutralpoint.dynamics.state import Gust, State, attitude, ground_velocity, quaternion
from neutralpoint.dynamics.trim_motor import motor_share
from neutralpoint.quantities import FOOT

AIRPLANES = ("velmar-c7", "haldrey-d6", "ostrel-7")
STATES = 8


def known() -> dict[str, Any]:
    """Slopes, readings, modes and short flights."""
    found: dict[str, Any] = {name: _of(name) for name in AIRPLANES}
    found["turbulence"] = [
        mil_turbulence(h * FOOT, 12.0, 3.0) for h in (100.0, 600.0, 1500.0, 9000.0)
    ]
    return found


def _air() -> Any:
    return make_air(
        temperature_offset=8.0,
        wind_height=(0.0, 1500.0, 4000.0),
        wind_north=(2.0, -6.0, 9.0),
        wind_east=(1.0, 5.0, -7.0),
        wind_down=0.4,
    )


def _states(engines: int, rng: np.random.Generator) -> State:
    """Steep, stalled, skidding and inverted ones too."""
    bank, pitch, heading = (rng.uniform(-w, w, STATES) for w in (2.5, 0.7, 3.0))
    speed = rng.uniform(45.0, 150.0, STATES)
    turned = quaternion(bank=bank, pitch=pitch, heading=heading)
    e0, e1, e2, e3 = (1.001 * np.asarray(e) for e in turned)
    way = np.stack([np.cos(heading), np.sin(heading), -np.sin(pitch)])
    north, east, down = speed * way + rng.normal(0.0, 9.0, (3, STATES))
    return State(
        north=rng.uniform(-3e3, 3e3, STATES), east=rng.uniform(-3e3, 3e3, STATES),
        down=-rng.uniform(300.0, 5000.0, STATES), velocity_north=north, velocity_east=east,
        velocity_down=down, e0=e0, e1=e1, e2=e2, e3=e3,
        roll_rate=rng.normal(0.0, 0.3, STATES), pitch_rate=rng.normal(0.0, 0.2, STATES),
        yaw_rate=rng.normal(0.0, 0.1, STATES),
        power=tuple(rng.uniform(0.0, 1.0, STATES) for _ in range(engines)),
    )  # fmt: skip


def _inputs(airplane: Any, rng: np.random.Generator, by: str) -> Any:
    made = make_inputs(airplane)
    draws = {
        "elevator": 0.15, "column_force": 150.0, "aileron": 0.2, "rudder": 0.2, "stabilizer": 0.05,
        "tab": 0.1, "cg_shift": 0.1, "Cm_extra": 0.02, "Cl_extra": 0.01,
    }  # fmt: skip
    values = {name: rng.normal(0.0, wide, STATES) for name, wide in draws.items()}
    shares = {name: rng.uniform(0.0, 1.0, STATES) for name in ("flap", "gear")}
    each = {
        name: tuple(rng.uniform(0.0, 1.0, STATES) for _ in airplane.engines)
        for name in ("lever", "feather")
    }
    return replace(made, pitch_by=by, **values, **shares, **each)


def _of(name: str) -> dict[str, Any]:
    rng, airplane, air = np.random.default_rng(707), load_airplane(name).airplane, _air()
    states = _states(len(airplane.engines), rng)
    gusts = Gust(**{f.name: rng.normal(0.0, 2.0, STATES) for f in fields(Gust)})
    found: dict[str, Any] = {}
    for by in ("elevator", "force"):
        inputs = _inputs(airplane, rng, by)

        def met(state: State, inputs: Any, gust: Gust) -> Any:
            return evaluate(airplane, state, inputs, air, gust)

        found[by] = jax.jit(jax.vmap(met))(states, inputs, gusts)
    found["attitude"] = [np.asarray(x) for x in attitude(states)]
    found["ground"] = ground_velocity(states)
    if name == AIRPLANES[0]:
        found |= _flown(airplane, air)
    return found


def _flown(airplane: Any, air: Any) -> dict[str, Any]:
    condition = Condition(
        find="trim", turn="coordinated", speed=95.0, height=1200.0, path_angle=-0.03, bank=0.3,
        heading=1.0, flap=0.2, cg_shift=0.05,
    )  # fmt: skip
    steady = find_equilibrium(airplane, air, condition)
    matrix, by_inputs = linearize(airplane, steady.state, steady.inputs, air)

    def pulled(time: Any) -> Any:
        return replace(steady.inputs, elevator=steady.inputs.elevator - 0.02 * jnp.tanh(time))

    flight = fly(
        airplane, steady.state, scheduled(pulled), None, air, steps=40, record_every=8,
        inputs=steady.inputs, turbulence=mil_turbulence(1200.0, 10.0, 2.0), key=jax.random.key(5),
    )  # fmt: skip
    drive = airplane.trim_drive
    modes = identify_modes(np.asarray(matrix))
    pairs = (modes.short_period, modes.phugoid, modes.dutch_roll, (modes.roll, modes.spiral))
    return {
        "steady": steady,
        "matrix": matrix,
        "inputs": by_inputs,
        "modes": [[root.real, root.imag] for pair in pairs for root in pair],
        "flight": (flight.time, flight.state, flight.readings),
        "share": [motor_share(drive, x) for x in (-1e5, -3e3, 0.0, 3e3, 1e5)],
    }
