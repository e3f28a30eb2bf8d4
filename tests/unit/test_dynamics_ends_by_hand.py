"""Ends of ranges, tiny and missing quantities, random gusts: what sums by hand leave open."""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from neutralpoint.airplane.model import Engine, TrimDrive
from neutralpoint.dynamics import (
    aerodynamics,
    air,
    column,
    incidence,
    propulsion,
    trim_motor,
    turbulence,
)
from neutralpoint.dynamics import state as state_module
from neutralpoint.dynamics.aerodynamics import compressibility, meet
from neutralpoint.dynamics.once import once
from neutralpoint.dynamics.propulsion import propeller_thrust
from neutralpoint.dynamics.quickly import QUICKLY, quickly
from neutralpoint.dynamics.state import Inputs, State, attitude, make_inputs
from neutralpoint.dynamics.trim_motor import motor_share, stabilizer_moment
from neutralpoint.dynamics.turbulence import Turbulence, second_order

T = Turbulence(
    length_forward=300.0, length_side=200.0, length_vertical=150.0, sigma_forward=2.0,
    sigma_side=1.5, sigma_vertical=0.8,
)  # fmt: skip


@pytest.fixture
def plain_numbers(monkeypatch):
    """NumPy in place of JAX: the same sums, and no compiler."""
    for module in (aerodynamics, air, column, incidence, propulsion, state_module, trim_motor):
        monkeypatch.setattr(module, "jnp", np)


@pytest.mark.parametrize("mach", [0.95, 1.0, 3.0])
def test_the_lift_slope_is_frozen_near_the_speed_of_sound(plain_numbers, commuter, mach):
    """A 8, from Mach 0: (2 + sqrt 68) / (2 + sqrt(4 + 64 (1 - 0.81))) at Mach 0.9 and above."""
    lon = dataclasses.replace(commuter.longitudinal, compressibility_aspect_ratio=8.0, mach=0.0)
    expected = (2.0 + math.sqrt(68.0)) / (2.0 + math.sqrt(16.16))
    assert compressibility(lon, mach) == pytest.approx(expected, rel=1e-12)
    assert compressibility(lon, 0.9) == pytest.approx(expected, rel=1e-12)
    assert compressibility(lon, 0.89) < 0.998 * expected


def test_standing_still_is_defined(plain_numbers):
    flow = meet((0.0, 0.0, 0.0), (0.0, 0.0, 0.0), 1.2, 340.0)
    assert flow.speed == flow.plane_speed == pytest.approx(1e-6)
    assert (flow.alpha, flow.sin_beta) == (0.0, 0.0) and flow.pressure < 1e-11


@pytest.mark.parametrize(
    ("u", "w", "angle"),
    [(0.5, 0.5, 0.25), (-0.5, 0.5, 0.75), (-0.5, -0.5, -0.75), (-60.0, 0.0, 1.0), (0.0, 9.0, 0.5)],
)
def test_incidence_of_slow_and_backward_flow(plain_numbers, u, w, angle):
    assert incidence.angle_of_attack(u, w, math.hypot(u, w)) == pytest.approx(angle * math.pi)


def test_wind_at_its_highest_height(plain_numbers):
    told = air.make_air(wind_height=(0.0, 800.0), wind_north=(2.0, 6.0), wind_east=(1.0, -1.0))
    assert air.wind(told, 800.0) == (6.0, -1.0, 0.0)
    assert air.wind(air.make_air(wind_north=(3.0,)), 0.0)[0] == 3.0


IDLE = Engine(kind="turboprop", rating=6e5, propeller_efficiency=0.8, disc_area=4.0)


@pytest.mark.parametrize("speed", [0.0, 70.0])
def test_thrust_of_an_idle_propeller_is_in_proportion_to_power(plain_numbers, speed):
    """Up to a thousandth of the rating; there momentum theory begins: T^3 = 2 rho A P^2 at rest."""
    edge = 600.0 / 0.8  # W, of the shaft: useful power of a thousandth of the rating
    full = propeller_thrust(IDLE, edge, 1.1, speed)
    for share in (0.0, 0.25, 0.5):
        found = propeller_thrust(IDLE, share * edge, 1.1, speed)
        assert found == pytest.approx(share * full, abs=1e-12)
    if speed == 0.0:
        assert full == pytest.approx((8.8 * 600.0**2) ** (1.0 / 3.0), rel=1e-9)
    else:
        assert full == pytest.approx(600.0 / 70.0, rel=0.01)  # nearly all of it moves the airplane
    above = propeller_thrust(IDLE, 8.0 * edge, 1.1, 0.0) / propeller_thrust(IDLE, edge, 1.1, 0.0)
    assert above == pytest.approx(4.0, rel=1e-9)  # P^(2/3)


def test_a_drive_that_states_no_loaded_rate_keeps_it_up_to_the_load_and_then_stalls():
    drive = TrimDrive(kind="stabilizer", rate=0.008, load_moment=1500.0, stall_moment=6000.0)
    for against, share in ((750.0, 1.0), (1500.0, 1.0), (3750.0, 0.5), (7000.0, 0.0)):
        assert float(motor_share(drive, against)) == pytest.approx(share, abs=1e-12)


def test_a_drive_without_a_motor_has_slopes_that_are_numbers():
    """One that divides by its rate of zero has none, and no search can use it."""
    wheel = TrimDrive(kind="tab", manual_rate=0.07, stall_moment=6000.0)
    slopes = jax.grad(lambda rate, loaded: motor_share(
        dataclasses.replace(wheel, rate=rate, loaded_rate=loaded), 0.5
    ), argnums=(0, 1))(0.0, 0.0)  # fmt: skip
    assert np.isfinite(np.array(slopes)).all()


def test_moment_on_the_stabilizer_of_an_incidence_that_grows(plain_numbers, commuter):
    """a_t = a + i - e0 - e_a a + q l / V + e_a (l / V) da/dt: Etkin and Reid (1996), sec. 5.5."""
    control = dataclasses.replace(commuter.pitch_control, downwash_0=0.01, downwash_flap=0.04)
    drive = dataclasses.replace(commuter.trim_drive, pivot_arm=0.25, elevator_pivot_arm=0.5)
    airplane = dataclasses.replace(commuter, pitch_control=control, trim_drive=drive)
    flow = meet((80.0 * math.cos(0.1), 0.0, 80.0 * math.sin(0.1)), (0.0, 0.2, 0.0), 1.0, 400.0)
    found = stabilizer_moment(airplane, flow, Inputs(stabilizer=0.02, flap=0.5), -0.1, 0.3)
    delay = 7.4 / 80.0
    tail = 0.1 + 0.02 - 0.01 - 0.035 - 0.02 + 0.2 * delay + 0.35 * delay * 0.3
    assert found == pytest.approx(-3200.0 * 28.0 * (0.8 * tail * 0.25 - 0.42 * 0.1 * 0.5))


def test_a_pitch_of_ninety_degrees_is_one_though_rounding_stretches_the_rotation(plain_numbers):
    still = dict.fromkeys(("north", "east", "down", "velocity_north", "velocity_east"), 0.0)
    still |= dict.fromkeys(("velocity_down", "roll_rate", "pitch_rate", "yaw_rate"), 0.0)
    for sign in (1.0, -1.0):
        half = 1.0001 * math.sqrt(0.5)
        state = State(e0=half, e1=0.0, e2=sign * half, e3=0.0, power=(), **still)
        assert attitude(state)[1] == pytest.approx(sign * math.pi / 2.0)


def test_inputs_move_all_levers_and_feather_none(commuter):
    made = make_inputs(commuter, lever=0.7, flap=0.4)
    assert (made.lever, made.feather, made.flap) == ((0.7, 0.7), (0.0, 0.0), 0.4)
    assert make_inputs(commuter, feather=(0.0, 1.0)).feather == (0.0, 1.0)


def test_a_value_made_once_is_the_value_and_is_made_behind_a_division():
    """The compiler joins what it may compute again; it leaves a division alone."""
    tree = {"a": jnp.asarray(3.25), "plain": 2.5}
    for alive in (0.0, 1.0, -7.0):
        assert once(tree, jnp.asarray(alive)) == {"a": 3.25, "plain": 2.5}
    program = str(jax.make_jaxpr(lambda x: once((x + 1.0, 2.5), x))(1.0))
    assert program.count(" div ") == int(jax.default_backend() == "cpu")


def test_programs_that_run_once_are_compiled_as_asked(monkeypatch):
    """The options reach the compiler of the processor where it knows them."""
    asked = []

    def compile_with(function, **named):
        asked.append(named)
        return function

    quickly(lambda x: x)(1.0)  # asks the compiler what it knows
    monkeypatch.setattr("neutralpoint.dynamics.quickly.jax.jit", compile_with)
    assert quickly(lambda x: 2.0 * x, static_argnames=("kind",))(4.0) == 8.0
    on_processor = QUICKLY if jax.default_backend() == "cpu" else None
    assert asked[-1] == {"compiler_options": on_processor, "static_argnames": ("kind",)}


@pytest.mark.parametrize("ratio", [1e-7, 1e-5, 1e-4, 1e-3])
def test_a_tiny_step_of_a_gust_is_a_number(ratio):
    """Half-way noise of the second stage: ratio^3 / 12, whatever rounding makes of a difference."""
    found = second_order((0.0, 0.0), jnp.asarray(ratio), (0.0, 1.0))[1]
    assert float(found) == pytest.approx(math.sqrt(2.0 * ratio**3 / 12.0), abs=3e-8)


@pytest.fixture
def many_draws(monkeypatch):
    """Six rows of 20,000 normal numbers wherever a key is asked for six."""
    rng = np.random.default_rng(11)

    def normal(key, shape):
        return rng.standard_normal((*shape, 20000))

    monkeypatch.setattr(turbulence, "jnp", np)
    monkeypatch.setattr(turbulence, "jax", SimpleNamespace(random=SimpleNamespace(normal=normal)))


FIVE_ERRORS = 5.0 / np.sqrt(20000)


def test_gusts_are_apart_but_for_each_pair(many_draws):
    """Spreads and covariances of `second_order`, the six numbers apart otherwise."""
    first = turbulence.start_filters(None)
    rows = np.stack([first.forward, *first.side, *first.vertical, first.roll])
    expected = np.eye(6)
    expected[1:3, 1:3] = expected[3:5, 3:5] = np.array([[1.0, 0.5], [0.5, 0.5]])
    np.testing.assert_allclose(np.cov(rows), expected, atol=FIVE_ERRORS)


@pytest.mark.parametrize("step", [0.02, 2.0, 1e3])
def test_gusts_of_a_step_keep_their_size_and_stay_apart(many_draws, step):
    """Stationary whatever the step: spreads of the standard, roll by its own, no covariance."""
    start = turbulence.start_filters(None)
    _, gusts = turbulence.step_filters(start, T, span=15.0, speed=90.0, step=step, key=None)
    rolling = turbulence.roll_filter(T, 15.0)[1]
    rows = np.stack(
        [gusts.forward / 2.0, gusts.side / 1.5, gusts.downward / 0.8, gusts.roll / rolling]
    )
    np.testing.assert_allclose(np.cov(rows), np.eye(4), atol=FIVE_ERRORS)


@pytest.mark.parametrize("way", [120.0, 12.0])
def test_gusts_forget_by_the_way_flown_over_their_scale(many_draws, way):
    """exp(-d / L), for side and vertical (1 - d / 2 L) exp(-d / L): MIL-F-8785C, 3.7.1.2."""
    start = turbulence.start_filters(None)
    still, gone = (
        turbulence.step_filters(start, T, span=15.0, speed=speed, step=2.0, key=None)[1]
        for speed in (1e-3, way / 2.0)
    )
    lengths = {"forward": 300.0, "side": 200.0, "downward": 150.0, "roll": 60.0 / math.pi}
    for name, length in lengths.items():
        share = way / length
        expected = math.exp(-share) * (1.0 - share / 2.0 if name in ("side", "downward") else 1.0)
        found = np.corrcoef(getattr(still, name), getattr(gone, name))[0, 1]
        assert found == pytest.approx(expected, abs=FIVE_ERRORS), name
