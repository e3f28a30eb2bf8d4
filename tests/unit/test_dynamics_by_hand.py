"""Formulas of the flight model against numbers worked out by hand, one at a time.

Sources are those of the formulas; what is checked here is that they are written down right.
"""

from __future__ import annotations

import dataclasses
import inspect
import math
from types import SimpleNamespace

import numpy as np
import pytest

import neutralpoint.dynamics
from neutralpoint.airplane.model import Engine
from neutralpoint.dynamics.aerodynamics import (
    LinearCoefficients,
    beyond_limits,
    drag,
    lateral,
    lift_and_moment,
    meet,
    separation,
)
from neutralpoint.dynamics.air import gravity_ned, make_air, wind
from neutralpoint.dynamics.column import column_pull, tail_incidence
from neutralpoint.dynamics.equations import angular_acceleration, elevator_and_alphadot
from neutralpoint.dynamics.modes import frequency_and_damping, identify_modes
from neutralpoint.dynamics.propulsion import all_thrust, propeller_thrust, thrust
from neutralpoint.dynamics.state import Inputs, make_inputs, quaternion
from neutralpoint.dynamics.turbulence import (
    Turbulence,
    first_order,
    mil_turbulence,
    roll_filter,
    second_order,
)
from neutralpoint.dynamics.vectors import add, body_to_ned, cross, rotate, rotate_back
from neutralpoint.quantities import FOOT, GRAVITY

CALM = (0.0, 0.0, 0.0)


def flow_at(alpha=0.1, speed=80.0, rates=CALM, density=1.0, sound=400.0):
    velocity = (speed * math.cos(alpha), 0.0, speed * math.sin(alpha))
    return meet(velocity, rates, density, sound)


def test_vectors():
    assert cross((1.0, 2.0, 3.0), (4.0, 6.0, 5.0)) == (-8.0, 7.0, -2.0)
    assert add((1.0, 2.0, 3.0), (4.0, 6.0, 5.0)) == (5.0, 8.0, 8.0)


def test_direction_cosines_are_those_of_three_turns():
    """Yaw, pitch and roll one after the other: Etkin and Reid (1996), sec. 4.4, from memory."""
    bank, pitch, heading = 0.3, -0.2, 2.1

    def turn(angle, first, second):
        matrix = np.eye(3)
        matrix[first, first] = matrix[second, second] = math.cos(angle)
        matrix[first, second], matrix[second, first] = -math.sin(angle), math.sin(angle)
        return matrix

    expected = turn(heading, 0, 1) @ turn(pitch, 2, 0) @ turn(bank, 1, 2)
    matrix = body_to_ned(*quaternion(bank=bank, pitch=pitch, heading=heading))
    np.testing.assert_allclose(np.array(matrix, float), expected, atol=1e-12)
    vector = (1.0, -2.0, 3.0)
    np.testing.assert_allclose(np.array(rotate(matrix, vector)), expected @ vector, atol=1e-12)
    back = np.array(rotate_back(matrix, vector))
    np.testing.assert_allclose(back, expected.T @ vector, atol=1e-12)


def test_the_flow_that_is_met():
    flow = meet((60.0, 20.0, 15.0), (0.1, 0.2, 0.3), 1.1, 340.0)
    assert float(flow.speed) == pytest.approx(math.sqrt(60.0**2 + 20.0**2 + 15.0**2))
    assert float(flow.plane_speed) == pytest.approx(math.hypot(60.0, 15.0))
    assert float(flow.alpha) == pytest.approx(math.atan2(15.0, 60.0))
    assert float(flow.sin_beta) == pytest.approx(20.0 / 65.0)
    assert float(flow.cos_alpha) == pytest.approx(60.0 / math.hypot(60.0, 15.0))
    assert float(flow.mach) == pytest.approx(65.0 / 340.0)
    assert float(flow.pressure) == pytest.approx(0.55 * 4225.0)


def test_wind_between_and_outside_its_heights():
    air = make_air(
        wind_height=(0.0, 1000.0, 3000.0),
        wind_north=(2.0, 6.0, 16.0),
        wind_east=(1.0, -1.0, -2.0),
        wind_down=0.5,
    )
    for height, expected in ((-10.0, (2.0, 1.0)), (250.0, (3.0, 0.5)), (2000.0, (11.0, -1.5))):
        assert [float(x) for x in wind(air, height)] == pytest.approx([*expected, 0.5])
    assert float(wind(air, 9000.0)[0]) == 16.0


def test_gravity_leans_back_to_the_origin():
    air = dataclasses.replace(make_air(), gravity=10.0, radius=6.4e6)
    north, east, down = gravity_ned(air, 6400.0, -12800.0, 3200.0)
    assert float(down) == pytest.approx(10.0 * 0.999)
    assert float(north) == pytest.approx(-9.99e-3) and float(east) == pytest.approx(19.98e-3)


def test_share_of_the_wing_that_is_stalled(commuter):
    lon = dataclasses.replace(
        commuter.longitudinal, stall_angle=0.25, stall_width=0.05, stall_angle_flap=-0.03
    )
    # Quintic step t^3 (10 - 15 t + 6 t^2): 0.8965 at three quarters.
    for alpha, flap, share in (
        (0.2, 0.0, 0.0), (0.25, 0.0, 0.5), (0.275, 0.0, 0.896484375), (0.31, 0.0, 1.0),
        (0.22, 1.0, 0.5), (-0.24, 0.0, 0.5), (-0.265, 0.0, 0.896484375), (-0.18, 0.0, 0.0),
    ):  # fmt: skip
        assert float(separation(lon, alpha, flap)) == pytest.approx(share), (alpha, flap)


def test_beyond_the_limits_counts_the_worse_of_both(commuter):
    lon = dataclasses.replace(commuter.longitudinal, fast_pressure=2000.0, fast_mach=0.5)
    # 80 m/s in air of 1 kg/m3: 3,200 Pa and Mach 0.2; 40 m/s with sound at 50 m/s: Mach 0.8.
    assert float(beyond_limits(lon, flow_at())) == pytest.approx(0.6)
    assert float(beyond_limits(lon, flow_at(speed=40.0, sound=50.0))) == pytest.approx(1.56)
    assert float(beyond_limits(lon, flow_at(speed=40.0))) == 0.0


def all_of_it(commuter):
    """Every derivative at work; the factor of Mach is 1 without an aspect ratio."""
    lon = dataclasses.replace(
        commuter.longitudinal, compressibility_aspect_ratio=0.0, mach=0.1, CL_tab=0.05, CL_flap=0.7,
        CL_mach=0.3, Cm_tab=-0.4, Cm_flap=-0.06, Cm_gear=-0.02, Cm_mach=-0.05, CD_flap=0.05,
        CD_gear=0.02, CD_mach=0.01, critical_mach=0.15, CL_min_drag=0.2, fast_pressure=2000.0,
        tuck=-0.03, fade=0.5,
    )  # fmt: skip
    return dataclasses.replace(commuter, longitudinal=lon)


INPUTS = Inputs(stabilizer=0.02, tab=-0.1, flap=0.5, gear=1.0, aileron=0.1, rudder=-0.2,
                Cm_extra=0.004, Cl_extra=0.003, lever=(0.0, 0.0), feather=(0.0, 0.0))  # fmt: skip


def test_lift_and_moment_below_the_stall(commuter):
    """The sums that `LongitudinalAerodynamics` defines, at Mach 0.2 and 0.6 beyond the limit."""
    airplane = all_of_it(commuter)
    CL, Cm, stalled = lift_and_moment(airplane, flow_at(rates=(0.0, 0.2, 0.0)), INPUTS)
    time = 1.75 / 160.0
    q = 0.2 * time
    lift = 0.28 + 5.6 * 0.1 + 7.5 * q + 0.8 * 0.02 - 0.05 * 0.1 + 0.7 * 0.5 + 0.3 * 0.1
    moment = 0.04 - 1.1 * 0.1 - 24.0 * q - 3.3 * 0.02 + 0.4 * 0.1 - 0.06 * 0.5 - 0.02
    moment += -0.05 * 0.1 - 0.03 * 0.6 + 0.004
    assert float(stalled) == 0.0
    assert float(CL.base) == pytest.approx(lift) and float(Cm.base) == pytest.approx(moment)
    assert float(CL.elevator) == pytest.approx(0.42 / 1.3)
    assert float(Cm.elevator) == pytest.approx(-1.7 / 1.3)
    assert float(CL.alphadot) == pytest.approx(2.0 * time)
    assert float(Cm.alphadot) == pytest.approx(-8.0 * time)
    assert float(CL.at(0.1, 0.2)) == pytest.approx(lift + 0.042 / 1.3 + 0.4 * time)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_stalled_wing_is_a_plate(commuter, side):
    sine = math.sin(0.6) * side
    free = dataclasses.replace(commuter.longitudinal, compressibility_aspect_ratio=0.0)
    airplane = dataclasses.replace(commuter, longitudinal=free)
    CL, Cm, stalled = lift_and_moment(airplane, flow_at(0.6 * side), make_inputs(commuter))
    assert float(stalled) == 1.0
    assert float(CL.base) == pytest.approx(0.9 * math.sin(1.2) * side)
    assert float(Cm.base) == pytest.approx(0.04 - 1.1 * sine - 0.1 * side)


def test_drag_by_hand(commuter):
    lon = all_of_it(commuter).longitudinal
    # Mach 0.2: 0.1 above that of the derivatives, 0.05 above the critical one.
    expected = 0.032 + 0.045 * 0.6**2 + 0.25 * 1.25 * math.sin(0.1) ** 2
    expected += 0.05 * 0.5 + 0.02 + 0.001 + 20.0 * 0.05**4
    assert float(drag(lon, flow_at(), 0.8, 0.25, INPUTS)) == pytest.approx(expected)


def test_side_force_and_moments_by_hand(commuter):
    a = dataclasses.replace(
        commuter.lateral, CY_p=-0.05, CY_aileron=0.02, Cn_aileron=-0.01, Cn_p=-0.06
    )
    airplane = dataclasses.replace(commuter, lateral=a)
    flow = meet((64.0, 16.0, 0.0), (0.3, 0.0, -0.2), 1.0, 340.0)
    half = 16.5 / (2.0 * math.hypot(64.0, 16.0))
    beta, p, r = 16.0 / math.hypot(64.0, 16.0), 0.3 * half, -0.2 * half
    side, roll, yaw = (float(x) for x in lateral(airplane, flow, INPUTS))
    assert side == pytest.approx(-0.7 * beta - 0.05 * p + 0.4 * r + 0.002 - 0.04)
    assert roll == pytest.approx(-0.11 * beta - 0.55 * p + 0.15 * r - 0.017 - 0.003 + 0.003)
    assert yaw == pytest.approx(0.12 * beta - 0.06 * p - 0.17 * r - 0.001 + 0.018)


def control(commuter, **more):
    return dataclasses.replace(
        commuter,
        pitch_control=dataclasses.replace(
            commuter.pitch_control, downwash_0=0.01, downwash_flap=0.04, tail_pressure_ratio=0.9,
            Ch_0=0.02, Ch_tab=-0.3, spring=5.0, spring_rate=-40.0, **more,
        ),
    )  # fmt: skip


def test_incidence_of_the_tail_by_hand(commuter):
    airplane = control(commuter)
    flow = flow_at(rates=(0.0, 0.2, 0.0))
    tail, lag = tail_incidence(airplane, flow, INPUTS)
    delay = 7.4 / 80.0
    assert float(tail) == pytest.approx(0.1 + 0.02 - (0.01 + 0.035 + 0.02) + 0.2 * delay)
    assert float(lag) == pytest.approx(0.35 * delay)


def test_pull_of_reversible_controls_by_hand(commuter):
    airplane = control(commuter)
    flow = flow_at(rates=(0.0, 0.2, 0.0))  # 3,200 Pa
    lift = LinearCoefficients(0.6, 0.4, 0.05)
    found = column_pull(airplane, flow, INPUTS, lift)
    tail, lag = (float(x) for x in tail_incidence(airplane, flow, INPUTS))
    per_lift = 30.0 * 3200.0 * 28.0 / (5200.0 * GRAVITY)
    unit = 2.6 * 1.9 * 0.45 * 0.9 * 3200.0
    base = per_lift * 0.6 + unit * (0.02 - 0.1 * tail + 0.03) + 5.0
    assert float(found.base) == pytest.approx(base)
    assert float(found.elevator) == pytest.approx(per_lift * 0.4 - 0.35 * unit - 40.0)
    assert float(found.alphadot) == pytest.approx(per_lift * 0.05 - 0.1 * unit * lag)


def test_pull_of_powered_controls_by_hand(commuter):
    airplane = control(commuter, reversible=False, feel_rate=-0.05)
    found = column_pull(airplane, flow_at(), INPUTS, LinearCoefficients(0.6, 0.4, 0.05))
    per_lift = 30.0 * 3200.0 * 28.0 / (5200.0 * GRAVITY)
    assert float(found.base) == pytest.approx(per_lift * 0.6 + 5.0)
    assert float(found.elevator) == pytest.approx(per_lift * 0.4 - 160.0 - 40.0)
    assert float(found.alphadot) == pytest.approx(per_lift * 0.05)


def test_elevator_and_rate_of_incidence_solve_both_equations(commuter):
    lift, pull = LinearCoefficients(0.5, 0.4, 0.03), LinearCoefficients(60.0, -900.0, 25.0)
    matrix = np.array([[2.0 * 0.4, 1.0 + 2.0 * 0.03], [-900.0, 25.0]])
    for force in (20.0, 150.0):
        expected = np.linalg.solve(matrix, [0.07, force - 60.0])
        inputs = Inputs(pitch_by="force", column_force=force)
        found = elevator_and_alphadot(inputs, commuter, 0.07, 2.0, lift, pull)
        np.testing.assert_allclose([float(x) for x in found], expected)
    # A pull that no travel answers: the elevator at its stop, the rate of incidence with it.
    inputs = Inputs(pitch_by="force", column_force=900.0)
    stopped = elevator_and_alphadot(inputs, commuter, 0.07, 2.0, lift, pull)
    assert float(stopped[0]) == -0.35
    assert float(stopped[1]) == pytest.approx((0.07 + 0.8 * 0.35) / 1.06)
    held = elevator_and_alphadot(Inputs(elevator=0.1), commuter, 0.07, 2.0, lift, pull)
    assert held[0] == 0.1 and held[1] == pytest.approx((0.07 - 0.08) / 1.06)


def test_euler_equations_as_one_tensor(commuter):
    """I w' = M - w x I w with the full tensor: Etkin and Reid (1996), eq. 4.5,9."""
    tensor = np.array([[2.1e4, 0.0, -1.8e3], [0.0, 2.9e4, 0.0], [-1.8e3, 0.0, 4.6e4]])
    rates, moment = np.array([0.3, -0.2, 0.15]), np.array([900.0, -2000.0, 500.0])
    expected = np.linalg.solve(tensor, moment - np.cross(rates, tensor @ rates))
    found = angular_acceleration(commuter, tuple(rates), tuple(moment))
    np.testing.assert_allclose(found, expected, rtol=1e-12)


FAN = Engine(kind="turbofan", rating=20e3, altitude_exponent=1.0, mach_slope=-0.5, mach_curve=0.3,
             disc_area=0.8, windmill_drag=0.4, feather_drag=0.2)  # fmt: skip


@pytest.mark.parametrize(
    ("power", "feather", "expected"),
    [
        # Density 0.98 is 0.8 of sea level; Mach 0.2; 3,136 Pa on 0.8 m2.
        (0.5, 0.0, 8000.0 * (1.0 - 0.1 + 0.012)),
        (0.0, 0.0, -3136.0 * 0.8 * 0.4),
        (0.05, 0.0, 800.0 * 0.912 - 3136.0 * 0.8 * 0.2),  # half of the windmill's drag has gone
        (0.0, 1.0, -3136.0 * 0.8 * 0.2),
        (0.0, 0.25, -3136.0 * 0.8 * (0.75 * 0.4 + 0.25 * 0.2)),
        (0.5, 0.25, 6000.0 * 0.912 - 3136.0 * 0.8 * 0.05),
    ],
)
def test_thrust_of_a_fan_by_hand(power, feather, expected):
    found = float(thrust(FAN, flow_at(density=0.98), power, feather))
    assert found == pytest.approx(expected, rel=1e-6)


def test_static_thrust_of_a_propeller_in_closed_form():
    """Momentum theory at rest: T^3 = 2 rho A P^2. Source: Glauert (1947), ch. 15."""
    engine = Engine(kind="turboprop", rating=6e5, propeller_efficiency=0.8, disc_area=4.0)
    found = float(propeller_thrust(engine, 5e5, 1.1, 0.0))
    assert found == pytest.approx((8.8 * (4e5) ** 2) ** (1.0 / 3.0), rel=1e-3)


def test_force_and_moment_of_engines_by_statics():
    engine = dataclasses.replace(FAN, station=4.0, side=2.0, depth=-0.5, incidence=0.1)
    other = dataclasses.replace(engine, side=-3.0)
    airplane = SimpleNamespace(
        engines=(engine, other), mass=SimpleNamespace(cg_station=5.0, cg_depth=0.2)
    )
    inputs = Inputs(lever=(0.5, 0.5), feather=(0.0, 1.0), cg_shift=0.3)
    flow = flow_at(density=0.98)
    force, moment, total = all_thrust(airplane, flow, (0.5, 0.0), inputs)
    pulls = np.array([7296.0, -501.76])
    lines = pulls[:, None] * np.array([math.cos(0.1), 0.0, -math.sin(0.1)])
    arms = np.array([[1.3, 2.0, -0.7], [1.3, -3.0, -0.7]])
    assert float(total) == pytest.approx(pulls.sum())
    np.testing.assert_allclose([float(x) for x in force], lines.sum(axis=0), atol=1e-6)
    np.testing.assert_allclose([float(x) for x in moment], np.cross(arms, lines).sum(axis=0))


@pytest.mark.parametrize("ratio", [0.05, 0.7])
def test_exact_steps_keep_the_stationary_spread(ratio):
    """P = F P F' + L L' with F = exp(-r) [[1, 0], [r, 1]] and P = [[1, 1/2], [1/2, 1/2]]."""
    decay = math.exp(-ratio)
    move = decay * np.array([[1.0, 0.0], [ratio, 1.0]])
    for start in (0, 1):
        found = second_order(tuple(np.eye(2)[start]), ratio, (0.0, 0.0))
        np.testing.assert_allclose([float(x) for x in found], move[:, start], atol=1e-12)
    root = np.array([second_order((0.0, 0.0), ratio, tuple(n)) for n in np.eye(2)], float).T
    spread = np.array([[1.0, 0.5], [0.5, 0.5]])
    np.testing.assert_allclose(move @ spread @ move.T + root @ root.T, spread, atol=1e-9)
    one = float(first_order(0.6, ratio, 0.0)), float(first_order(0.0, ratio, 1.0))
    assert one == pytest.approx((0.6 * decay, math.sqrt(1.0 - decay**2)))


def test_rolling_gust_by_hand():
    # b = 4 pi m, L_w = 125 m: length 16 m; gain^2 = .8 (1 / 16)^(1/3) / 25.
    gusts = Turbulence(length_forward=1.0, length_side=1.0, length_vertical=125.0,
                       sigma_forward=1.0, sigma_side=1.0, sigma_vertical=2.0)  # fmt: skip
    length, sigma = roll_filter(gusts, 4.0 * math.pi)
    assert float(length) == pytest.approx(16.0)
    gain2 = 0.8 * (1.0 / 16.0) ** (1.0 / 3.0) / 25.0
    assert float(sigma) == pytest.approx(2.0 * math.sqrt(gain2 * math.pi / 32.0))


def test_turbulence_half_way_between_low_and_high():
    # At 1,000 ft the low forms give 1,000 ft and a tenth of the wind; at 2,000 ft 1,750 ft.
    t = mil_turbulence(1500.0 * FOOT, 20.0, 5.0)
    assert float(t.length_vertical) / FOOT == pytest.approx(1375.0)
    assert float(t.length_side) / FOOT == pytest.approx(1375.0, rel=1e-3)
    assert float(t.sigma_vertical) == pytest.approx(3.5)
    assert float(t.sigma_forward) == pytest.approx(3.5, rel=1e-3)


def test_modes_are_named_by_their_roots():
    def pair(real, imaginary):
        return np.array([[real, imaginary], [-imaginary, real]])

    A = np.zeros((8, 8))
    A[:2, :2], A[2:4, 2:4] = pair(-0.01, 0.2), pair(-1.2, 1.6)
    A[4, 4], A[5, 5], A[6:, 6:] = 0.005, -3.0, pair(-0.3, 1.4)
    modes = identify_modes(A)
    np.testing.assert_allclose(np.sort_complex(modes.short_period), [-1.2 - 1.6j, -1.2 + 1.6j])
    np.testing.assert_allclose(np.sort_complex(modes.phugoid), [-0.01 - 0.2j, -0.01 + 0.2j])
    np.testing.assert_allclose(np.sort_complex(modes.dutch_roll), [-0.3 - 1.4j, -0.3 + 1.4j])
    assert modes.roll == pytest.approx(-3.0) and modes.spiral == pytest.approx(0.005)
    assert frequency_and_damping(modes.short_period) == pytest.approx((2.0, 0.6))
    assert frequency_and_damping(np.array([-1.0, -4.0])) == pytest.approx((2.0, 1.25))
    assert np.isnan(frequency_and_damping(np.array([-1.0, 4.0]))).all()


def test_where_no_lateral_root_swings_the_fastest_is_roll_and_the_slowest_spiral():
    A = np.zeros((8, 8))
    A[:4, :4] = np.diag([-3.0, -2.0, -0.2, -0.1])
    A[4:, 4:] = np.diag([-0.4, 0.005, -1.5, -4.0])
    modes = identify_modes(A)
    assert (modes.roll, modes.spiral) == (pytest.approx(-4.0), pytest.approx(0.005))
    np.testing.assert_allclose(modes.dutch_roll, [-1.5, -0.4])


def test_turbulence_of_the_lowest_ten_feet_is_that_at_ten_feet():
    """MIL-F-8785C, 3.7.3.4: L_w = h, L_u = h/(.177 + .000823 h)^1.2, sigma_u = .1 W/(...)^.4."""
    found = mil_turbulence(1.0, 10.0, 3.0)  # m
    shape = 0.177 + 0.00823
    assert float(found.length_vertical) == pytest.approx(10.0 * FOOT)
    assert float(found.length_forward) == pytest.approx(10.0 / shape**1.2 * FOOT)
    assert float(found.sigma_forward) == pytest.approx(1.0 / shape**0.4)
    assert float(found.sigma_vertical) == pytest.approx(1.0)


def test_values_are_not_changed_once_they_are_made(changeable):
    assert changeable(neutralpoint.dynamics) == []


def test_records_are_made_by_name():
    """Fourteen numbers in a row invite a swap: all but the named modes refuse places."""
    modules = [m for m in vars(neutralpoint.dynamics).values() if inspect.ismodule(m)]
    records = {
        held
        for module in modules
        for held in vars(module).values()
        if isinstance(held, type)
        and dataclasses.is_dataclass(held)
        and held.__module__.startswith("neutralpoint.dynamics")
    }
    assert len(records) > 7
    by_place = {r.__name__ for r in records if not all(f.kw_only for f in dataclasses.fields(r))}
    assert by_place == {"Modes"}
