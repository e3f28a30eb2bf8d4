"""Newton's iteration on problems with known answers, and what is asked of it for each flight.

Steps of Newton's method on linear and quadratic equations are those of any text (Nocedal and
Wright, 2006, algorithm 11.1). What steady flights and pull-ups hand to it is caught before it is
solved, and checked by hand.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import jax
import jax.numpy as jnp
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

import neutralpoint.dynamics
from neutralpoint.dynamics import authority, equilibrium
from neutralpoint.dynamics.equilibrium import PITCH_PLANE, Condition, solve, steady_state
from neutralpoint.quantities import GRAVITY

MATRIX, RIGHT = np.array([[2.0, 1.0], [-1.0, 3.0]]), np.array([4.0, 5.0])
ANSWER = np.array([1.0, 2.0])  # 2 + 2, -1 + 6


def linear(x):
    return jnp.asarray(MATRIX) @ x - jnp.asarray(RIGHT)


def test_a_linear_problem_takes_one_step_and_one_to_see_it():
    x, error, count = solve(linear, jnp.zeros(2), limit=jnp.full(2, 100.0))
    np.testing.assert_allclose(x, ANSWER, atol=1e-12)
    assert int(count) == 2 and float(error) < 1e-11


def test_a_long_step_is_cut_in_its_own_direction():
    """From (9, 10) to (1, 2), the second by 2 at most: four steps on the line, one to see."""
    limit = jnp.array([100.0, 2.0])
    x, error, count = solve(linear, jnp.array([9.0, 10.0]), limit=limit, iterations=1)
    np.testing.assert_allclose(x, [7.0, 8.0], atol=1e-12)
    assert float(error) == pytest.approx(24.0) and int(count) == 1
    x, _, count = solve(linear, jnp.array([9.0, 10.0]), limit=limit)
    np.testing.assert_allclose(x, ANSWER, atol=1e-12)
    assert int(count) == 5


def test_a_step_of_a_parabola_is_that_of_newton():
    """x^2 = 2 from 1: 3/2, 17/12, 577/408 (Heron)."""
    for steps, expected in ((1, 3.0 / 2.0), (2, 17.0 / 12.0), (3, 577.0 / 408.0)):
        found = solve(lambda x: x * x - 2.0, jnp.ones(1), limit=jnp.ones(1), iterations=steps)
        assert float(found[0][0]) == pytest.approx(expected, rel=1e-12)


def test_what_has_no_answer_ends_where_no_slope_shows_a_way():
    x, error, count = solve(lambda x: 0.0 * x + 3.0, jnp.ones(1), limit=jnp.ones(1), iterations=7)
    assert (float(x[0]), float(error), int(count)) == (1.0, 3.0, 7)


def test_a_steady_state_turns_about_the_vertical():
    """Rates: the turn rate along the vertical, seen in body axes. Velocity: the wind on top."""
    angles = {"bank": 0.5, "pitch": 0.1, "beta": 0.05, "alpha": 0.08, "speed": 90.0}
    x = angles | {"turn_rate": 0.04, "pitch_rate": 0.02, "power": (0.5, 0.6)}
    condition = Condition(speed=90.0, height=1200.0, heading=0.8)
    air = neutralpoint.dynamics.make_air(wind_north=(5.0,), wind_east=(-3.0,), wind_down=1.0)
    state = steady_state(None, air, condition, x)
    turned = Rotation.from_euler("ZYX", [0.8, 0.1, 0.5])
    found = np.array([state.e1, state.e2, state.e3, state.e0])
    np.testing.assert_allclose(found, turned.as_quat(canonical=True), atol=1e-12)
    rates = np.array([state.roll_rate, state.pitch_rate, state.yaw_rate])
    expected = turned.inv().apply([0.0, 0.0, 0.04]) + np.array([0.0, 0.02, 0.0])
    np.testing.assert_allclose(rates, expected, atol=1e-12)
    # The way through the air: turned to the right by the sideslip, then down by the incidence.
    along = Rotation.from_euler("Y", -0.08).apply(Rotation.from_euler("Z", 0.05).apply([90, 0, 0]))
    velocity = np.array([state.velocity_north, state.velocity_east, state.velocity_down])
    np.testing.assert_allclose(velocity - [5.0, -3.0, 1.0], turned.apply(along), atol=1e-12)
    assert (state.north, state.east, state.down, state.power) == (0.0, 0.0, -1200.0, (0.5, 0.6))


def test_nothing_lies_to_one_side_where_none_is_asked():
    airplane = SimpleNamespace(engines=(None, None))
    found = equilibrium._complete(airplane, Condition(speed=80.0, height=0.0), {"lever": 0.6})
    for name in ("bank", "beta", "turn_rate", "pitch_rate", "aileron", "rudder"):
        assert found[name] == 0.0, name


@pytest.mark.parametrize(("lever", "code"), [(0.0, 0), (-1e-7, 0), (1.0 + 1e-7, 0), (1.01, 4)])
def test_an_idle_lever_is_within_its_travel(commuter, lever, code):
    x = {name: jnp.asarray(0.0) for name in ("alpha", "elevator")} | {"lever": jnp.asarray(lever)}
    condition = Condition(speed=80.0, height=0.0)
    assert int(equilibrium._outcome(commuter, condition, x, jnp.asarray(0.0))) == code


class Caught(Exception):
    """The problem that was to be solved."""


def pull_up_problem(monkeypatch, commuter, condition: Condition, load_factor: float):
    """What a pull-up asks the solver for."""

    def catch(residual, start, *, limit):
        raise Caught(residual, start, limit)

    monkeypatch.setattr(equilibrium, "solve", catch)
    with pytest.raises(Caught) as caught:
        equilibrium.find_pull_up(commuter, neutralpoint.dynamics.make_air(), condition, load_factor)
    return caught.value.args


def test_a_pull_up_turns_the_path_upward_at_the_load_asked_for(monkeypatch, commuter):
    """Across a path that climbs: n g = g cos(climb) + V times the rate of the path."""
    climb = 0.3
    condition = Condition(
        speed=100.0, height=1000.0, path_angle=climb, heading=2.0, lever=0.3, flap=0.0
    )
    residual, start, limit = pull_up_problem(monkeypatch, commuter, condition, 1.8)
    np.testing.assert_allclose(limit, [PITCH_PLANE["alpha"], PITCH_PLANE["elevator"]])
    guess = equilibrium._first_guess(
        commuter, neutralpoint.dynamics.make_air(), condition, ["alpha"]
    )
    assert [float(x) for x in start] == [float(guess[0]), 0.0]
    seen = []

    def accelerating(airplane, state, inputs, air):
        seen.append((state, inputs))
        rate = SimpleNamespace(velocity_north=2.0, velocity_down=-7.0, pitch_rate=0.5)
        return rate, None

    monkeypatch.setattr(equilibrium, "evaluate", accelerating)
    rows = np.asarray(residual(jnp.array([0.05, -0.1])))
    asked = GRAVITY * (1.8 - math.cos(climb))
    across = 7.0 * math.cos(climb) - 2.0 * math.sin(climb)
    np.testing.assert_allclose(rows, [(across - asked) / GRAVITY, 0.5 * 1.75 / GRAVITY])
    (state, inputs), *_ = seen
    assert float(state.pitch_rate) == pytest.approx(asked / 100.0)
    assert (float(state.velocity_north), float(state.velocity_east)) == pytest.approx(
        (100.0 * math.cos(climb), 0.0)
    )
    assert float(state.velocity_down) == pytest.approx(-100.0 * math.sin(climb))
    assert float(inputs.elevator) == -0.1 and inputs.lever == (0.3, 0.3)


def test_gradients_of_a_pull_up_are_slopes_about_one_g(monkeypatch):
    """Of 40 n + 3 n^2 the slope at 1 is 46, and a difference to either side has it exactly."""

    def pulled(airplane, air, condition, n):
        readings = SimpleNamespace(
            column_force=40.0 * n + 3.0 * n * n, elevator=-0.05 * n, angle_of_attack=0.1 + 0.08 * n
        )
        return SimpleNamespace(readings=readings)

    monkeypatch.setattr(authority, "find_pull_up", pulled)
    found = authority.pull_per_g(None, None, None)
    assert [float(x) for x in found] == pytest.approx([46.0, -0.05, 0.08])


def test_a_mistrim_counts_from_the_trim_of_no_force(monkeypatch):
    def found(airplane, air, condition):
        trim = 0.02 - 1e-4 * condition.column_force
        assert condition.find == "trim"
        return Solved({"stabilizer": trim, "tab": trim + 0.5}, condition.column_force)

    monkeypatch.setattr(authority, "find_equilibrium", found)
    airplane = SimpleNamespace(trim_drive=SimpleNamespace(kind="tab"))
    wanted = Condition(speed=80.0, height=0.0)
    mistrim, full = authority.holdable_mistrim(airplane, None, wanted, jnp.asarray(150.0))
    assert float(mistrim) == pytest.approx(-0.015)
    assert float(full.force) == 150.0
    assert float(full.inputs.tab) == pytest.approx(0.505)


class Solved:
    """A steady flight that is only its trim and its force."""

    def __init__(self, trims: dict, force):
        self.trims, self.force = trims, force

    @property
    def inputs(self) -> SimpleNamespace:
        return SimpleNamespace(**self.trims)


jax.tree_util.register_pytree_node(
    Solved, lambda s: ((s.trims, s.force), None), lambda _, leaves: Solved(*leaves)
)
