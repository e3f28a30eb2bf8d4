"""Steady flight: what is asked for is what comes out, and failure is a code."""

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import OUTCOMES, Condition, find_equilibrium, find_pull_up
from neutralpoint.dynamics.flight import fly, scheduled
from neutralpoint.dynamics.state import attitude

AIR = make_air(wind_height=(0.0, 3000.0), wind_north=(0.0, -15.0), wind_east=(0.0, 8.0))
# Each question is asked once or twice: compiling quickly matters more than running quickly.
find = jax.jit(find_equilibrium, compiler_options={"xla_backend_optimization_level": 0})


def test_level_flight_stays_level(commuter):
    found = find(commuter, AIR, Condition(speed=100.0, height=2000.0))
    assert int(found.outcome) == 0 and float(found.residual) < 1e-9
    assert float(found.readings.normal_load_factor) == pytest.approx(1.0, abs=0.02)
    flight = jax.jit(
        lambda s, i: fly(
            commuter, s, scheduled(lambda t: i), None, AIR, steps=400, record_every=40, inputs=i
        )
    )(found.state, found.inputs)
    assert np.abs(flight.readings.height - 2000.0).max() < 0.5


def test_climbing_turn(commuter):
    """Bank, path and ball as asked; load factor 1 / cos(bank) to the cosine of the path."""
    wanted = Condition(speed=90.0, height=1000.0, bank=0.6, path_angle=0.05, turn="coordinated")
    found = find(commuter, AIR, wanted)
    assert int(found.outcome) == 0
    assert float(found.readings.side_load_factor) == pytest.approx(0.0, abs=1e-9)
    lift = float(found.readings.normal_load_factor)
    assert lift == pytest.approx(1.0 / np.cos(0.6), rel=0.02)
    assert float(attitude(found.state)[0]) == pytest.approx(0.6)
    # The turn rate of a coordinated turn, g tan(bank) / V (check-values 3.4 as a rate).
    rate = np.hypot(float(found.state.pitch_rate), float(found.state.yaw_rate))
    assert rate == pytest.approx(9.81 * np.tan(0.6) / 90.0, rel=0.03)


def test_one_engine_feathered_needs_rudder(commuter):
    wanted = Condition(speed=75.0, height=500.0, turn="straight", running=(0.0, 1.0))
    found = find(commuter, AIR, wanted)
    assert int(found.outcome) == 0
    assert float(found.state.power[0]) == 0.0
    # The right engine pushes the nose left: rudder to the right is trailing edge right, negative.
    assert float(found.inputs.rudder) < -0.02
    assert abs(float(found.state.yaw_rate)) < 1e-9


def test_trim_takes_the_force_away(commuter):
    trimmed = find(commuter, AIR, Condition(find="trim", speed=95.0, height=1500.0))
    assert float(trimmed.readings.column_force) == pytest.approx(0.0, abs=1e-6)
    again = Condition(find="speed", speed=80.0, height=1500.0, stabilizer=trimmed.inputs.stabilizer)
    assert float(find(commuter, AIR, again).readings.true_airspeed) == pytest.approx(95.0)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"speed": 38.0}, 3),
        ({"speed": 185.0}, 4),
        ({"path_angle": -0.6}, 5),
        ({"stabilizer": 0.7}, 2),
    ],
)
def test_limits_are_codes(commuter, change, code):
    found = find(commuter, AIR, Condition(**({"speed": 100.0, "height": 1000.0} | change)))
    assert int(found.outcome) == code
    assert OUTCOMES[code]


def test_trim_travel_is_a_code(commuter):
    heavy = dataclasses.replace(
        commuter, trim_drive=dataclasses.replace(commuter.trim_drive, travel_max=-0.1)
    )
    found = find(heavy, AIR, Condition(find="trim", speed=95.0, height=1500.0))
    assert int(found.outcome) == 6


def test_no_solution_is_a_code_not_an_exception(commuter):
    """Nonsense in, code 1 out, also inside a batch."""
    speeds = jnp.array([100.0, jnp.nan])
    wanted = Condition(speed=speeds, height=jnp.full(2, 1000.0))
    axes = jax.tree.map(lambda x: 0 if jnp.ndim(x) else None, wanted)
    found = jax.jit(jax.vmap(find_equilibrium, in_axes=(None, None, axes)))(commuter, AIR, wanted)
    assert found.outcome.tolist() == [0, 1]


def test_pull_up_is_what_was_asked(commuter):
    level = find(commuter, AIR, Condition(speed=100.0, height=1000.0))
    wanted = Condition(speed=100.0, height=1000.0, lever=level.inputs.lever[0])
    pulled = jax.jit(find_pull_up)(commuter, AIR, wanted, 2.0)
    assert int(pulled.outcome) == 0
    assert float(pulled.readings.normal_load_factor) == pytest.approx(2.0, rel=0.01)
    assert float(pulled.readings.elevator) < float(level.readings.elevator)
    assert float(pulled.readings.column_force) > float(level.readings.column_force)
