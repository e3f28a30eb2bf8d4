"""Stepping, recording and small motions with stand-ins whose answers are known exactly."""

from __future__ import annotations

import warnings
from types import SimpleNamespace
from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from neutralpoint.dynamics import air, flight, modes
from neutralpoint.dynamics import state as state_module
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.state import Gust, Inputs, State
from neutralpoint.errors import NeutralPointError


class Swing(NamedTuple):
    """A swing x'' = -x that a gust pushes, in the place of a state."""

    e0: float
    x: float
    speed: float


class Seen(NamedTuple):
    """What is read of it."""

    true_airspeed: float
    pushed: float


def swinging(airplane, state, inputs, air, gust=flight.CALM):
    push = inputs.elevator + gust.forward
    return Swing(0.0, state.speed, push - state.x), Seen(80.0, state.x + inputs.elevator)


@pytest.fixture(autouse=True)
def stand_in(monkeypatch):
    monkeypatch.setattr(flight, "evaluate", swinging)


def test_a_step_is_the_series_of_the_solution_to_the_fourth_order():
    """For y' = A y Runge and Kutta's classical step is the sum of (h A)^k / k! up to 4 (Hairer)."""
    found = flight.advance(None, Swing(1.0, 0.3, -0.2), Inputs(), None, step=0.4)
    move = 0.4 * np.array([[0.0, 1.0], [-1.0, 0.0]])
    whole = np.eye(2) + move @ (
        np.eye(2) + move / 2 @ (np.eye(2) + move / 3 @ (np.eye(2) + move / 4))
    )
    np.testing.assert_allclose([found.x, found.speed], whole @ [0.3, -0.2], rtol=1e-12)
    gust = flight.advance(
        None, Swing(1.0, 0.0, 0.0), Inputs(), None, step=1e-3, gust=Gust(forward=2.0)
    )
    assert float(gust.speed) == pytest.approx(2e-3, rel=1e-5)


def flown(**more):
    """Ten steps of 0.1 s under an elevator that is the time; the policy keeps what it read."""

    def policy(memory, time, state, readings):
        return Inputs(elevator=time), jnp.stack([memory[0] + 1.0, readings.pushed - state.x, time])

    airplane = SimpleNamespace(geometry=SimpleNamespace(span=15.0))
    return flight.fly(
        airplane, Swing(1.0, 1.0, 0.0), policy, jnp.zeros(3), None, steps=10, step=0.1,
        record_every=5, inputs=Inputs(elevator=-7.0), **more,
    )  # fmt: skip


def pushed(x, speed, push):
    """x'' = push - x over 0.1 s, in closed form."""
    away, c, s = x - push, np.cos(0.1), np.sin(0.1)
    return push + away * c + speed * s, speed * c - away * s


def test_each_step_is_decided_on_what_was_read_under_the_inputs_before():
    made = flown()
    np.testing.assert_allclose(made.time, [0.0, 0.5], atol=1e-12)
    np.testing.assert_allclose(made.inputs.elevator, [0.05, 0.55])  # middle of the step
    # Ten decisions; the last at 0.95 s, on a reading with the elevator of 0.85 s.
    np.testing.assert_allclose(made.memory, [10.0, 0.85, 0.95])
    x, speed = 1.0, 0.0
    for k in range(5):
        x, speed = pushed(x, speed, (k + 0.5) * 0.1)
    np.testing.assert_allclose(made.state.x, [1.0, x], rtol=1e-6)  # (0.1 s)^5 / 5! a step
    np.testing.assert_allclose(made.readings.pushed, made.state.x + made.inputs.elevator)


def test_gusts_shake_a_flight_where_they_are_asked_for_with_a_key(monkeypatch):
    """A stand-in that blows as hard as it is told by span, speed, step and what it was before."""

    def blow(before, turbulence, *, span, speed, step, key):
        assert (span, step) == (15.0, 0.1)
        return before + 1.0, Gust(forward=turbulence * before + 0.0 * speed)

    monkeypatch.setattr(flight, "start_filters", lambda key: jnp.asarray(3.0))
    monkeypatch.setattr(flight, "step_filters", blow)
    key = jax.random.key(3)
    alone, shaken = flown(key=key), flown(key=key, turbulence=0.5)  # a key alone is no gust
    for made, first, more in ((alone, 0.0, 0.0), (shaken, 1.5, 0.5)):
        x, speed = 1.0, 0.0
        for k in range(5):
            x, speed = pushed(x, speed, (k + 0.5) * 0.1 + first + k * more)
        np.testing.assert_allclose(made.state.x, [1.0, x], rtol=1e-6)
    with pytest.raises(NeutralPointError) as refused:
        flown(turbulence=0.5)
    assert refused.value.code == "argument-invalid"


X = np.array([90.0, 0.1, 0.02, 0.25, 0.3, -0.1, 0.05, 0.7])
AIR = make_air(
    wind_height=(-2000.0, 2000.0), wind_north=(-30.0, 30.0), wind_east=(8.0, -8.0), wind_down=1.0
)


def state_of(x, heading=0.8) -> State:
    """By a library: attitude, and the way through the air turned by sideslip, then incidence."""
    speed, alpha, q, pitch, beta, p, r, bank = x
    turned = Rotation.from_euler("ZYX", [heading, pitch, bank])
    through = Rotation.from_euler("Y", -alpha).apply(
        Rotation.from_euler("Z", beta).apply([speed, 0.0, 0.0])
    )
    # At 1,000 m half of the wind at 2,000 m.
    north, east, down = turned.apply(through) + np.array([15.0, -4.0, 1.0])
    e1, e2, e3, e0 = turned.as_quat(canonical=True)
    return State(
        north=0.0, east=0.0, down=-1000.0, velocity_north=north, velocity_east=east,
        velocity_down=down, e0=e0, e1=e1, e2=e2, e3=e3, roll_rate=p, pitch_rate=q, yaw_rate=r,
        power=(),
    )  # fmt: skip


def test_coordinates_of_small_motions_and_the_state_that_has_them(monkeypatch):
    for module in (air, modes, state_module):
        monkeypatch.setattr(module, "jnp", np)
    state = state_of(X)
    np.testing.assert_allclose(modes.coordinates(state, AIR, 1000.0), X, atol=1e-12)
    made = modes.state_at(X, state_of(0.5 * X), AIR, 1000.0)
    np.testing.assert_allclose(jax.tree.leaves(made), jax.tree.leaves(state), atol=1e-12)


def slope_along(function, at, along, step=1e-4):
    """Differences in the place of automatic differentiation: quick, and another working."""
    (x,), (dx,) = at, along
    ahead, behind = (
        function(jax.tree.map(lambda a, b, h=h: a + h * b, x, dx)) for h in (step, -step)
    )
    return function(x), (ahead - behind) / (2.0 * step)


def slopes(function, argnums):
    """The same for each number of two arguments."""
    assert argnums == (0, 1)

    def at(x, u):
        both = np.concatenate([x, u])

        def whole(y):
            return np.asarray(function(y[: len(x)], y[len(x) :]))

        columns = [slope_along(whole, (both,), (row,), 1e-3)[1] for row in np.eye(len(both))]
        return np.stack(columns[: len(x)], axis=1), np.stack(columns[len(x) :], axis=1)

    return at


def test_a_body_that_falls_freely_has_the_linear_model_of_kinematics(monkeypatch):
    """Etkin and Reid (1996), eq. 4.9,18 and 4.9,19 without forces, wings level, climbing."""
    g = 9.8

    def falling(airplane, s, inputs, air):
        p, q, r = s.roll_rate, s.pitch_rate, s.yaw_rate
        turn = [[0.0, -p, -q, -r], [p, 0.0, r, -q], [q, -r, 0.0, p], [r, q, -p, 0.0]]
        e = [
            0.5 * sum(c * x for c, x in zip(row, (s.e0, s.e1, s.e2, s.e3), strict=True))
            for row in turn
        ]
        spin = (2.0 * inputs.aileron, 0.5 * inputs.stabilizer - 3.0 * inputs.elevator)
        rate = State(
            north=s.velocity_north, east=s.velocity_east, down=s.velocity_down,
            velocity_north=0.0 * p, velocity_east=0.0 * p, velocity_down=g + 0.0 * p,
            e0=e[0], e1=e[1], e2=e[2], e3=e[3], roll_rate=spin[0], pitch_rate=spin[1],
            yaw_rate=1.5 * inputs.rudder, power=(),
        )  # fmt: skip
        return rate, None

    for module in (air, modes, state_module):
        monkeypatch.setattr(module, "jnp", np)
    monkeypatch.setattr(modes, "jax", SimpleNamespace(jvp=slope_along, jacfwd=slopes))
    monkeypatch.setattr(modes, "evaluate", falling)
    V, alpha, pitch = 90.0, 0.1, 0.25
    climb = pitch - alpha
    state = state_of([V, alpha, 0.0, pitch, 0.0, 0.0, 0.0, 0.0])
    A, B = modes.linearize(None, state, Inputs(), AIR)
    c, s = g * np.cos(climb), g * np.sin(climb)
    expected = np.zeros((8, 8))
    expected[0, [1, 3]] = c, -c
    expected[1, :4] = -c / V**2, s / V, 1.0, -s / V
    expected[3, 2] = expected[7, 5] = 1.0
    expected[4, 4:] = s / V, np.sin(alpha), -np.cos(alpha), g * np.cos(pitch) / V
    expected[7, 6] = np.tan(pitch)
    np.testing.assert_allclose(A, expected, atol=1e-5)  # of differences
    by_controls = np.zeros((8, 6))
    by_controls[2, [0, 2]], by_controls[5, 4], by_controls[6, 5] = (-3.0, 0.5), 2.0, 1.5
    np.testing.assert_allclose(B, by_controls, atol=1e-5)


def lateral(*blocks) -> np.ndarray:
    """A linear model whose side has these 2 x 2 blocks."""
    A = np.zeros((8, 8))
    A[:4, :4] = np.diag([-3.0, -2.0, -0.2, -0.1])
    A[4:6, 4:6], A[6:, 6:] = blocks
    return A


def pair(real: float, imaginary: float) -> list[list[float]]:
    return [[real, imaginary], [-imaginary, real]]


def test_roll_and_spiral_that_have_joined_are_the_slower_pair():
    found = modes.identify_modes(lateral(pair(-0.1, 0.2), pair(-0.3, 1.4)))
    np.testing.assert_allclose(np.sort_complex(found.dutch_roll), [-0.3 - 1.4j, -0.3 + 1.4j])
    joined = np.sort_complex([found.roll, found.spiral])
    np.testing.assert_allclose(joined, [-0.1 - 0.2j, -0.1 + 0.2j])


def test_two_real_roots_that_rounding_has_joined_are_no_swing():
    """Roots -100 +- 1e-8 i: of an imaginary part a ten-thousand-millionth of them."""
    found = modes.identify_modes(lateral([[-100.0, 1.0], [-1e-16, -100.0]], pair(-0.3, 1.4)))
    np.testing.assert_allclose(np.sort_complex(found.dutch_roll), [-0.3 - 1.4j, -0.3 + 1.4j])
    assert found.roll.real == pytest.approx(-100.0) and found.spiral.real == pytest.approx(-100.0)


def test_frequency_of_slow_pairs_and_of_none():
    found = modes.frequency_and_damping(np.array([-0.06 + 0.08j, -0.06 - 0.08j]))
    assert found == pytest.approx((0.1, 0.6))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert np.isnan(modes.frequency_and_damping(np.array([-0.5, 0.5]))).all()
        assert np.isnan(modes.frequency_and_damping(np.array([0.0, -0.5]))).all()
