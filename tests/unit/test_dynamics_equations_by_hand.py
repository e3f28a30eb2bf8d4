"""The equations of motion worked out a second time: matrices, tensors and a loop, in plain NumPy.

Newton's and Euler's laws as any text on flight mechanics has them (Etkin and Reid, 1996, section
4.5); forces from `dynamics.aerodynamics` and `dynamics.propulsion`, which other tests hold.
Rotation and its rate come from a library, the rate of incidence from trying until it agrees.
"""

from __future__ import annotations

import dataclasses
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from neutralpoint.dynamics import (
    aerodynamics,
    air,
    column,
    equations,
    incidence,
    propulsion,
    state,
    trim_motor,
)
from neutralpoint.dynamics.state import Gust, Inputs, State
from neutralpoint.quantities import GRAVITY

MODULES = (aerodynamics, air, column, equations, incidence, propulsion, state, trim_motor)
POSITION, VELOCITY = np.array([2400.0, -1800.0, -1500.0]), np.array([62.0, 41.0, 7.0])
RATES = np.array([0.3, -0.12, 0.2])
GUST = Gust(forward=3.0, side=-2.0, downward=1.5, roll=0.05)
INPUTS = {
    "elevator": -0.06, "column_force": 35.0, "aileron": 0.05, "rudder": -0.08, "stabilizer": 0.02,
    "flap": 0.3, "gear": 1.0, "lever": (0.9, 0.2), "feather": (0.0, 0.3), "cg_shift": 0.12,
    "Cm_extra": 0.006, "Cl_extra": -0.004,
}  # fmt: skip


@pytest.fixture(autouse=True)
def plain_numbers(monkeypatch):
    """NumPy in place of JAX: the same sums, and no compiler."""
    for module in MODULES:
        monkeypatch.setattr(module, "jnp", np)


@pytest.fixture
def airplane(commuter):
    """The hand-built one with reference point off the CG, engines high, a loaded stabilizer."""
    changes = {
        "geometry": {"moment_station": 5.6, "moment_depth": -0.2},
        "mass": {"cg_depth": 0.15},
        "trim_drive": {"pivot_arm": 0.3, "elevator_pivot_arm": 0.6},
    }
    made = {n: dataclasses.replace(getattr(commuter, n), **more) for n, more in changes.items()}
    engines = tuple(dataclasses.replace(e, incidence=0.05, lag=4.0) for e in commuter.engines)
    return dataclasses.replace(commuter, engines=engines, **made)


def the_air():
    return air.make_air(
        temperature_offset=6.0, wind_height=(0.0, 3000.0), wind_north=(4.0, -8.0),
        wind_east=(-2.0, 10.0), wind_down=0.7,
    )  # fmt: skip


def turned() -> Rotation:
    return Rotation.from_euler("ZYX", [1.1, 0.25, -0.6])


def a_state(stretch: float = 1.0, spin: np.ndarray = RATES) -> State:
    e1, e2, e3, e0 = stretch * turned().as_quat()
    named = dict(zip(("north", "east", "down"), POSITION, strict=True))
    named |= dict(zip(("velocity_north", "velocity_east", "velocity_down"), VELOCITY, strict=True))
    named |= dict(zip(("roll_rate", "pitch_rate", "yaw_rate"), spin, strict=True))
    return State(e0=e0, e1=e1, e2=e2, e3=e3, power=(0.7, 0.4), **named)


def second_working(airplane, column_of_air, inputs: Inputs, gust: Gust) -> SimpleNamespace:
    """What acts and what follows from it."""
    matrix, m = turned().as_matrix(), airplane.mass
    height = -POSITION[2] + (2400.0**2 + 1800.0**2) / (2.0 * column_of_air.radius)
    density, _, temperature = air.gas(column_of_air, height)
    blow = np.array(air.wind(column_of_air, height))
    through = matrix.T @ (VELOCITY - blow) - [gust.forward, gust.side, gust.downward]
    gravity = np.array(air.gravity_ned(column_of_air, POSITION[0], POSITION[1], height))
    met = RATES - [gust.roll, 0.0, 0.0]
    sound = air.speed_of_sound(temperature)
    flow = aerodynamics.meet(tuple(through), tuple(met), density, sound)
    CL, Cm, stalled = aerodynamics.lift_and_moment(airplane, flow, inputs)
    side = aerodynamics.lateral(airplane, flow, inputs)
    pull = column.column_pull(airplane, flow, inputs, CL)
    push, twist, total = propulsion.all_thrust(airplane, flow, (0.7, 0.4), inputs)
    u, _, w = through
    elevator, alphadot = inputs.elevator, 0.0
    for _ in range(60):
        if inputs.pitch_by == "force":
            rest = inputs.column_force - pull.base - pull.alphadot * alphadot
            elevator = np.clip(rest / pull.elevator, -0.35, 0.26)
        lift = CL.base + CL.elevator * elevator + CL.alphadot * alphadot
        CD = aerodynamics.drag(airplane.longitudinal, flow, lift, stalled, inputs)
        # Lift across the flow and drag along it, turned into body axes by the incidence.
        turn = np.array([[np.cos(flow.alpha), 0.0, -np.sin(flow.alpha)], [0.0, 1.0, 0.0],
                         [np.sin(flow.alpha), 0.0, np.cos(flow.alpha)]])  # fmt: skip
        size = flow.pressure * airplane.geometry.wing_area
        force = size * (turn @ [-CD, side[0], -lift])
        # tan a = w / u differentiated, with what the air at rest in space makes of u and w.
        change = (force + push) / m.mass + matrix.T @ gravity - np.cross(met, through)
        alphadot = (u * change[2] - w * change[0]) / (u * u + w * w)
    b, c = airplane.geometry.span, airplane.geometry.mean_chord
    pitching = Cm.base + Cm.elevator * elevator + Cm.alphadot * alphadot
    own = size * np.array([b * side[1], c * pitching, b * side[2]])
    # The reference point lies aft of the CG by (5.6 - 5.9 - 0.12) m and 0.35 m above it.
    moment = own + np.cross([0.42, 0.0, -0.35], force) + twist
    tensor = np.array([[m.roll_inertia, 0.0, -m.cross_inertia], [0.0, m.pitch_inertia, 0.0],
                       [-m.cross_inertia, 0.0, m.yaw_inertia]])  # fmt: skip
    specific = (force + push) / m.mass
    return SimpleNamespace(
        flow=flow, lift=lift, elevator=elevator, thrust=total, height=height, through=through,
        pull=pull.base + pull.elevator * elevator + pull.alphadot * alphadot,
        specific=specific, acceleration=matrix @ specific + gravity,
        spin=np.linalg.solve(tensor, moment - np.cross(RATES, tensor @ RATES)),
        pivot=trim_motor.stabilizer_moment(airplane, flow, inputs, elevator, alphadot),
    )  # fmt: skip


@pytest.mark.parametrize("by", ["elevator", "force"])
def test_rates_and_readings_by_a_second_working(airplane, by):
    inputs, column_of_air = Inputs(pitch_by=by, **INPUTS), the_air()
    rate, readings = equations.evaluate(airplane, a_state(), inputs, column_of_air, GUST)
    expected = second_working(airplane, column_of_air, inputs, GUST)
    assert (rate.north, rate.east, rate.down) == tuple(VELOCITY)
    moved = [rate.velocity_north, rate.velocity_east, rate.velocity_down]
    np.testing.assert_allclose(moved, expected.acceleration, rtol=1e-9)
    found = [rate.roll_rate, rate.pitch_rate, rate.yaw_rate]
    np.testing.assert_allclose(found, expected.spin, rtol=1e-9)
    np.testing.assert_allclose(rate.power, [(0.9 - 0.7) / 4.0, (0.2 - 0.4) / 4.0])
    factors = [
        readings.forward_load_factor,
        readings.side_load_factor,
        -readings.normal_load_factor,
    ]
    np.testing.assert_allclose(factors, expected.specific / GRAVITY, rtol=1e-9)
    assert readings.elevator == pytest.approx(expected.elevator, rel=1e-9)
    assert -0.3 < readings.elevator < 0.2  # at no stop
    assert readings.column_force == pytest.approx(expected.pull if by == "elevator" else 35.0)
    assert readings.lift_coefficient == pytest.approx(expected.lift, rel=1e-9)
    assert readings.thrust == pytest.approx(expected.thrust)
    assert readings.stabilizer_moment == pytest.approx(expected.pivot)
    speed = np.linalg.norm(expected.through)
    assert readings.height == pytest.approx(expected.height)
    assert readings.true_airspeed == pytest.approx(speed)
    assert readings.sideslip == pytest.approx(np.arcsin(expected.through[1] / speed))
    u, _, w = expected.through
    assert readings.angle_of_attack == pytest.approx(np.arctan2(w, u))
    assert readings.mach == expected.flow.mach
    assert readings.dynamic_pressure == expected.flow.pressure


def test_a_rotation_grows_by_the_rates_of_the_body(airplane):
    """q(t + h) = q(t) times the turn by rates times h, taken both ways from t."""
    rate, _ = equations.evaluate(airplane, a_state(), Inputs(**INPUTS), the_air())
    step = 1e-5
    ahead, behind = (
        (turned() * Rotation.from_rotvec(sign * step * RATES)).as_quat() for sign in (1.0, -1.0)
    )
    found = [rate.e1, rate.e2, rate.e3, rate.e0]
    np.testing.assert_allclose(found, (ahead - behind) / (2.0 * step), atol=1e-9)


@pytest.mark.parametrize("stretch", [1.01, 0.99])
def test_a_stretched_rotation_comes_back_to_its_length_in_half_a_second(airplane, stretch):
    """Of a length of 1 + d the rate is about -2 d along the rotation, where none turns."""
    still = a_state(stretch, spin=np.zeros(3))
    rate, _ = equations.evaluate(airplane, still, Inputs(**INPUTS), the_air())
    own = np.array([still.e0, still.e1, still.e2, still.e3])
    expected = (1.0 - stretch**2) * own
    np.testing.assert_allclose([rate.e0, rate.e1, rate.e2, rate.e3], expected, atol=1e-12)
