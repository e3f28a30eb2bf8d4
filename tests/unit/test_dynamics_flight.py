"""The stepping itself: conservation, order, mirror symmetry, records."""

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equations import evaluate
from neutralpoint.dynamics.flight import advance, fly, scheduled
from neutralpoint.dynamics.state import State, attitude, make_inputs, quaternion
from neutralpoint.dynamics.vectors import body_to_ned, rotate

AIR = make_air(latitude=0.8, wind_height=(0.0, 2000.0), wind_north=(3.0, 12.0), wind_east=(0, -6))


def a_state(**changes):
    e = quaternion(bank=0.2, pitch=0.06, heading=0.7)
    state = State(
        north=0.0,
        east=0.0,
        down=-1500.0,
        velocity_north=70.0,
        velocity_east=60.0,
        velocity_down=-2.0,
        e0=e[0],
        e1=e[1],
        e2=e[2],
        e3=e[3],
        roll_rate=0.02,
        pitch_rate=0.03,
        yaw_rate=-0.01,
        power=(0.5, 0.5),
    )
    return dataclasses.replace(state, **changes)


@jax.jit
def fly_for_60_s(airplane, state, inputs, step):
    def stepped(_, at):
        return advance(airplane, at, inputs, AIR, step=step)

    start = jax.tree.map(lambda x: jnp.asarray(x, float), state)
    return jax.lax.fori_loop(0, jnp.round(60.0 / step).astype(int), stepped, start)


def without_air(airplane):
    geometry = dataclasses.replace(airplane.geometry, wing_area=0.0)
    engines = tuple(
        dataclasses.replace(e, rating=1e-9, windmill_drag=0.0) for e in airplane.engines
    )
    return dataclasses.replace(airplane, geometry=geometry, engines=engines)


def test_ballistic_flight_keeps_energy_and_momentum(commuter):
    """No aerodynamics: kinetic + potential energy, and spin in space, stay to rounding."""
    airplane = without_air(commuter)
    inputs = make_inputs(airplane)
    start = a_state(roll_rate=0.3, pitch_rate=0.2, yaw_rate=-0.4)
    end = fly_for_60_s(airplane, start, inputs, 0.05)
    m = airplane.mass

    def height(s):
        return -s.down + (s.north**2 + s.east**2) / (2 * AIR.radius)

    def energy(s):
        h = height(s)
        motion = s.velocity_north**2 + s.velocity_east**2 + s.velocity_down**2
        return 0.5 * motion + AIR.gravity * (h - h * h / AIR.radius)

    def spin(s):
        body = (
            m.roll_inertia * s.roll_rate - m.cross_inertia * s.yaw_rate,
            m.pitch_inertia * s.pitch_rate,
            m.yaw_inertia * s.yaw_rate - m.cross_inertia * s.roll_rate,
        )
        return np.array(rotate(body_to_ned(s.e0, s.e1, s.e2, s.e3), body))

    assert energy(end) == pytest.approx(energy(start), rel=3e-8)  # terms of h^2 / R^2 left out
    assert spin(end) == pytest.approx(spin(start), rel=1e-5)  # RK4 at 0.05 s
    finer = fly_for_60_s(airplane, start, inputs, 0.0125)
    assert np.abs(spin(finer) - spin(start)).max() < 0.01 * np.abs(spin(end) - spin(start)).max()


def test_fourth_order(commuter):
    """Halving the step divides the error by 2^4."""
    inputs = make_inputs(commuter, lever=0.5, elevator=0.01, aileron=0.002)
    ends = [fly_for_60_s(commuter, a_state(), inputs, h) for h in (0.2, 0.1, 0.05, 0.0125)]
    down = np.array([float(e.down) for e in ends])
    errors = np.abs(down[:3] - down[3])
    assert 12.0 < errors[0] / errors[1] < 21.0
    assert 12.0 < errors[1] / errors[2] < 21.0


def mirrored(state):
    flips = ("east", "velocity_east", "e1", "e3", "roll_rate", "yaw_rate")
    return dataclasses.replace(state, **{name: -getattr(state, name) for name in flips})


@given(
    st.tuples(*[st.floats(-1.0, 1.0)] * 9),
)
def test_left_and_right_are_alike(commuter, draw):
    """Reflecting state and lateral inputs reflects the rates of change."""
    a, b, c, d, e, f, g, h, i = draw
    q = quaternion(bank=a, pitch=0.4 * b, heading=3.0 * c)
    state = a_state(
        velocity_east=60.0 * d,
        roll_rate=e,
        yaw_rate=0.3 * f,
        **dict(zip(("e0", "e1", "e2", "e3"), q, strict=True)),
    )
    inputs = make_inputs(commuter, lever=0.4, elevator=0.1 * g, aileron=0.3 * h, rudder=0.3 * i)
    other = dataclasses.replace(inputs, aileron=-inputs.aileron, rudder=-inputs.rudder)
    calm = make_air(latitude=0.8)
    rate, read = _evaluate(commuter, state, inputs, calm)
    image, image_read = _evaluate(commuter, mirrored(state), other, calm)
    for x, y in zip(jax.tree.leaves(mirrored(rate)), jax.tree.leaves(image), strict=True):
        assert float(x) == pytest.approx(float(y), abs=1e-9, rel=1e-9)
    assert float(read.normal_load_factor) == pytest.approx(float(image_read.normal_load_factor))
    assert float(read.sideslip) == pytest.approx(-float(image_read.sideslip), abs=1e-12)


_evaluate = jax.jit(evaluate)


def test_records_and_policy(commuter):
    """Time runs from 0 in steps of the record; the policy sees the middle of each step."""
    inputs = make_inputs(commuter, lever=0.5)

    def policy(count, time, state, readings):
        moved = dataclasses.replace(inputs, stabilizer=0.001 * time)
        return moved, count + 1

    flight = jax.jit(
        lambda: fly(
            commuter,
            a_state(),
            policy,
            jnp.asarray(0),
            AIR,
            steps=40,
            step=0.1,
            record_every=10,
            inputs=inputs,
        )
    )()
    assert flight.time == pytest.approx([0.0, 1.0, 2.0, 3.0])
    assert flight.inputs.stabilizer == pytest.approx(0.001 * (flight.time + 0.05))
    assert int(flight.memory) == 40
    assert flight.state.down[0] == -1500.0


def test_batch_is_the_single_flight(commuter):
    """`vmap` over a parameter gives what each flight gives alone."""

    def end(elevator):
        inputs = make_inputs(commuter, lever=0.5, elevator=elevator)
        record = fly(
            commuter,
            a_state(),
            scheduled(lambda t: inputs),
            None,
            AIR,
            steps=40,
            record_every=20,
            inputs=inputs,
        )
        return record.state.down[-1]

    angles = jnp.array([-0.02, 0.0, 0.03])
    batch = jax.jit(jax.vmap(end))(angles)
    alone = [float(jax.jit(end)(a)) for a in angles]
    assert np.allclose(batch, alone, rtol=1e-12)


def test_attitude_reads_back_the_quaternion():
    state = a_state()
    assert [float(x) for x in attitude(state)] == pytest.approx([0.2, 0.06, 0.7])
