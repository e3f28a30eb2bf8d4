"""The rows, guesses and codes of steady flight by hand; nothing is compiled and nothing solved.

The equations of a velocity that turns about the vertical are those of any text on flight mechanics
(Etkin and Reid, 1996, section 2.4); the sums are done here another way. What the solver makes of
them is in test_dynamics_equilibrium.py.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.dynamics import equilibrium
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.quantities import GRAVITY


@pytest.fixture(autouse=True)
def plain_numbers(monkeypatch):
    """NumPy in place of JAX: the same sums, and no compiler."""
    monkeypatch.setattr(equilibrium, "jnp", np)


AIRPLANE = SimpleNamespace(
    geometry=SimpleNamespace(mean_chord=2.0, wing_area=25.0),
    mass=SimpleNamespace(mass=5000.0),
    engines=(None, None),
    trim_drive=SimpleNamespace(kind="tab", travel_min=-0.2, travel_max=0.1),
    pitch_control=SimpleNamespace(elevator_min=-0.4, elevator_max=0.3),
    longitudinal=SimpleNamespace(
        CL_0=0.3, CL_alpha=5.0, CL_flap=0.6, stall_angle=0.25, stall_angle_flap=0.05,
        stall_width=0.04, negative_stall_angle=-0.2,
    ),
)  # fmt: skip


def unbalanced(monkeypatch, condition: Condition, x: dict) -> np.ndarray:
    """Rows where the airplane speeds up by 1, 2, 3 m/s2 and 0.1, 0.2, 0.3 rad/s2."""
    rate = SimpleNamespace(
        velocity_north=1.0, velocity_east=2.0, velocity_down=3.0, roll_rate=0.1, pitch_rate=0.2,
        yaw_rate=0.3,
    )  # fmt: skip
    readings = SimpleNamespace(side_load_factor=0.07, column_force=120.0)
    for name, made in (
        ("evaluate", lambda *given: (rate, readings)), ("steady_state", lambda *given: None),
        ("ground_velocity", lambda state: (70.0, 40.0, -9.0)),
        ("wind", lambda air, height: (10.0, -5.0, 1.0)),
    ):  # fmt: skip
        monkeypatch.setattr(equilibrium, name, made)
    return equilibrium._unbalanced(AIRPLANE, None, condition, x)


X = {"alpha": 0.1, "pitch": 0.2, "elevator": -0.05, "lever": 0.7}
TURN = X | {"beta": 0.02, "turn_rate": 0.04, "aileron": 0.03, "rudder": 0.01}


def test_what_is_left_unbalanced_in_a_turn(monkeypatch):
    """Through the air 60 north, 45 east, 10 up; turning right, north grows by -r E, east by r N."""
    found = unbalanced(
        monkeypatch, Condition(turn="coordinated", speed=80.0, height=0.0, path_angle=0.03), TURN
    )
    chord = 2.0 / GRAVITY
    expected = [
        (1.0 - -0.04 * 45.0) / GRAVITY, 3.0 / GRAVITY, 0.2 * chord, 10.0 / 80.0 - math.sin(0.03),
        (2.0 - 0.04 * 60.0) / GRAVITY, 0.07, 0.1 * chord, 0.3 * chord,
    ]  # fmt: skip
    np.testing.assert_allclose(found, expected)


def test_what_is_left_unbalanced_straight_on_and_with_a_force(monkeypatch):
    """With the lever given; a pull of 20 N too much in thousandths of the weight."""
    condition = Condition(
        find="trim", power="lever", speed=80.0, height=0.0, lever=0.4, column_force=100.0
    )
    found = unbalanced(monkeypatch, condition, X | {"trim": 0.0})
    np.testing.assert_allclose(found[3], 0.3)
    np.testing.assert_allclose(found[4], 1e3 * 20.0 / (5000.0 * GRAVITY))
    straight = Condition(turn="straight", speed=80.0, height=0.0)
    assert unbalanced(monkeypatch, straight, TURN)[5] == 0.04  # no turn


def test_what_is_given_completes_what_is_unknown():
    plane = Condition(speed=80.0, height=0.0, bank=0.3, running=(1.0, 0.0))
    found = equilibrium._complete(AIRPLANE, plane, X)
    assert (found["speed"], found["bank"], found["turn_rate"]) == (80.0, 0.0, 0.0)
    assert found["power"] == (0.7, 0.7) and found["feather"] == (0.0, 0.0)
    turning = Condition(turn="straight", speed=80.0, height=0.0, bank=0.3, running=(1.0, 0.0))
    found = equilibrium._complete(AIRPLANE, turning, TURN)
    assert found["power"] == (0.7, 0.0) and found["feather"] == (0.0, 1.0)
    assert (found["bank"], found["beta"], found["pitch_rate"]) == (0.3, 0.02, 0.0)
    both = Condition(turn="straight", speed=80.0, height=0.0)
    assert equilibrium._complete(AIRPLANE, both, TURN)["feather"] == (0.0, 0.0)


def test_a_trim_is_found_for_its_own_drive_alone():
    told = Condition(speed=80.0, height=0.0, stabilizer=0.02, tab=0.05, flap=0.5, cg_shift=0.1)
    x = equilibrium._complete(AIRPLANE, told, X | {"trim": -0.03})
    inputs = equilibrium._inputs(AIRPLANE, told, x)
    assert (inputs.stabilizer, inputs.tab, inputs.elevator) == (0.02, 0.05, -0.05)
    assert (inputs.flap, inputs.cg_shift, inputs.lever) == (0.5, 0.1, (0.7, 0.7))
    asked = Condition(find="trim", speed=80.0, height=0.0, stabilizer=0.02, tab=0.05)
    inputs = equilibrium._inputs(AIRPLANE, asked, x)
    assert (inputs.stabilizer, inputs.tab) == (0.02, -0.03)


def test_the_first_guess_carries_the_weight(monkeypatch):
    monkeypatch.setattr(equilibrium, "gas", lambda air, height: (1.0, None))
    names = ["alpha", "pitch", "lever", "trim", "speed", "beta"]
    level = Condition(
        speed=100.0, height=0.0, path_angle=0.1, bank=0.9, lever=0.6, tab=0.03, flap=0.5
    )
    lift = 5000.0 * GRAVITY * math.cos(0.1) / (0.5 * 1e4 * 25.0)
    alpha = (lift - 0.3 - 0.3) / 5.0
    found = equilibrium._first_guess(AIRPLANE, None, level, names)
    np.testing.assert_allclose(found, [alpha, alpha + 0.1, 0.6, 0.03, 100.0, 0.0])
    turning = Condition(turn="coordinated", speed=100.0, height=0.0, bank=math.pi / 3.0)
    found = equilibrium._first_guess(AIRPLANE, None, turning, ["alpha"])
    np.testing.assert_allclose(found, (2.0 * lift / math.cos(0.1) - 0.3) / 5.0)
    slow = Condition(speed=40.0, height=0.0)
    assert equilibrium._first_guess(AIRPLANE, None, slow, ["alpha"])[0] == pytest.approx(0.21)


@pytest.mark.parametrize(
    ("change", "error", "code"),
    [
        ({}, 1e-9, 0), ({}, 1e-7, 1), ({}, math.nan, 1),
        ({"alpha": 0.274}, 0.0, 0), ({"alpha": 0.276}, 0.0, 3), ({"alpha": -0.21}, 0.0, 3),
        ({"elevator": -0.41}, 0.0, 2), ({"elevator": 0.31}, 0.0, 2), ({"elevator": 0.29}, 0.0, 0),
        ({"lever": 1.01}, 0.0, 4), ({"lever": -0.01}, 0.0, 5), ({"lever": 1.0}, 0.0, 0),
        ({"trim": 0.11}, 0.0, 6), ({"trim": -0.21}, 0.0, 6), ({"trim": 0.11, "lever": 2.0}, 0.0, 6),
        ({"alpha": 0.3, "elevator": 9.0, "lever": 9.0}, 0.0, 3),
        ({"elevator": 9.0, "trim": 9.0}, 0.0, 2), ({"alpha": 0.3}, 1.0, 1),
    ],
)  # fmt: skip
def test_the_worst_limit_is_the_code(change, error, code):
    condition = Condition(find="trim", speed=80.0, height=0.0, flap=0.5)
    x = X | {"trim": 0.0} | change
    found = equilibrium._outcome(AIRPLANE, condition, {k: np.float64(v) for k, v in x.items()},
                                 np.float64(error))  # fmt: skip
    assert int(found) == code
