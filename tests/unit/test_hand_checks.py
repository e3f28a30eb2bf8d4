"""The closed forms of the boxes against handbooks and against each other; an oscillation found."""

import numpy as np
import pytest
from scipy.optimize import brentq

from neutralpoint.moments.hand_checks import (
    crossover_speed,
    elevator_crossover,
    force_at_speed,
    lanchester_period,
    needed_shift,
    trim_speed_after_shift,
    trim_speed_on_slope,
)
from neutralpoint.moments.oscillation import oscillation
from neutralpoint.quantities import FOOT, GRAVITY, INCH, POUND_FORCE

TIME = np.arange(0.0, 100.0, 0.5)


def test_shift_of_a_moved_weight(authority):
    # Moving 100 lb by 50 in makes 5,000 lb in; printed to a hundredth of an inch.
    items = authority("weight_and_balance")["items"]
    case = next(item for item in items if item["name"] == "light airplane")
    moment = case["moved_lb"] * POUND_FORCE * case["distance_in"] * INCH
    found = needed_shift(moment, case["weight_lb"] * POUND_FORCE, 1.0)
    assert found / INCH == pytest.approx(case["shift_in"], abs=0.005)


def test_shift_has_less_of_a_moment_when_the_lift_is_less():
    assert needed_shift(1000.0, 5e4, 0.5) == pytest.approx(2.0 * needed_shift(1000.0, 5e4, 1.0))


def test_trim_speed_falls_with_an_aft_shift_until_the_margin_is_gone():
    # Cm0 = K CL and CL V^2 is the weight: half the margin gives twice the lift coefficient.
    assert trim_speed_after_shift(100.0, 0.2, 0.1) == pytest.approx(100.0 / np.sqrt(2.0))
    assert trim_speed_after_shift(100.0, 0.2, -0.2) == pytest.approx(100.0 * np.sqrt(2.0))
    assert np.isnan(trim_speed_after_shift(100.0, 0.2, 0.2))


def test_trim_speed_on_a_slope():
    # On 60 deg the lift carries half the weight.
    assert trim_speed_on_slope(80.0, 0.0, -np.pi / 3.0) == pytest.approx(80.0 / np.sqrt(2.0))
    # The same equivalent airspeed in air of half the density.
    assert trim_speed_on_slope(80.0, 0.1, 0.1, 2.0) == pytest.approx(80.0 * np.sqrt(2.0))


def test_twice_the_speed_four_times_the_force():
    assert force_at_speed(50.0, 120.0, 240.0) == pytest.approx(200.0)
    speed = crossover_speed(50.0, 120.0, 75.0)
    assert force_at_speed(50.0, 120.0, speed) == pytest.approx(75.0)


@pytest.mark.parametrize(("needed", "stop"), [(0.10, 0.12), (-0.30, -0.25), (0.2, 0.21)])
def test_elevator_crossover_solves_the_balance(needed, stop):
    per_speed = -0.08

    def off(speed: float) -> float:
        return needed + per_speed * ((100.0 / speed) ** 2 - 1.0) - stop

    assert elevator_crossover(100.0, needed, stop, per_speed) == pytest.approx(
        brentq(off, 20.0, 2000.0), rel=1e-9
    )


def test_no_speed_takes_a_small_mistrim_to_the_stop():
    assert np.isnan(elevator_crossover(100.0, 0.1, 0.26, -0.02))


def test_lanchester_period_as_printed():
    # Etkin and Reid (1996), section 6.3, from memory: 0.138 s per ft/s, 0.453 s per m/s; at the
    # 774 ft/s of their jet transport 107 s, where its exact phugoid has 93 s.
    assert lanchester_period(1.0) == pytest.approx(0.453, abs=0.0005)
    assert lanchester_period(FOOT) == pytest.approx(0.138, abs=0.0005)
    assert lanchester_period(774.0 * FOOT) == pytest.approx(107.0, abs=0.5)


def phugoid(period: float, amplitude: float, count: int = 4):
    """Height, speed and path angle that keep their energy."""
    height = 1000.0 + amplitude * np.sin(2.0 * np.pi * TIME / period)
    speed = np.sqrt(2.0 * GRAVITY * (1000.0 + 300.0 - height))
    path = np.gradient(height, TIME) / speed
    return (np.tile(row, (count, 1)) for row in (path, height, speed))


def test_a_phugoid_is_found():
    path, height, speed = phugoid(35.0, 20.0)
    seen = oscillation(TIME, path, height, speed, shortest=6.0)
    assert seen.found
    # The grid of periods has steps of 3 %.
    np.testing.assert_allclose(seen.period, 35.0, rtol=0.03)
    # The speed's square goes with the height exactly; what the parabola takes of it is left over.
    np.testing.assert_allclose(seen.exchange, 1.0, atol=0.02)
    assert seen.cycles == pytest.approx(99.5 / 35.0, rel=0.03)


def test_height_without_speed_is_no_exchange():
    path, height, speed = phugoid(35.0, 20.0)
    seen = oscillation(TIME, path, height, np.full_like(speed, 80.0), shortest=6.0)
    assert seen.found
    np.testing.assert_allclose(seen.exchange, 0.0, atol=1e-9)


def test_rough_air_is_no_oscillation():
    rng = np.random.default_rng(5)
    path = 0.02 * rng.standard_normal((20, TIME.size))
    height, speed = np.full_like(path, 900.0), np.full_like(path, 80.0)
    assert not oscillation(TIME, path, height, speed, shortest=6.0).found


def test_one_swing_is_too_few():
    # A period as long as the record: the longest that is tried leaves room for one and a half.
    path, height, speed = phugoid(98.0, 20.0)
    seen = oscillation(TIME, path, height, speed, shortest=6.0)
    assert not seen.found or float(np.median(seen.period)) < 70.0
