"""Angle of attack from the load factor, with its uncertainty."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from neutralpoint.motion import LiftData
from neutralpoint.motion.lift import angle_of_attack, compressible_slope_ratio, draw_lift
from neutralpoint.quantities import DEGREE, GRAVITY

LIFT = LiftData(
    mass=4000.0, wing_area=25.0, lift_slope=5.0, zero_lift_angle=-0.03, maximum_lift=1.4
)


def incidence(lift, load_factor, elapsed=0.0, mach=0.2, samples=1):
    drawn = draw_lift(lift, np.random.default_rng(1), samples)
    return angle_of_attack(
        lift,
        drawn,
        load_factor=np.full((samples, 1), load_factor),
        dynamic_pressure=np.full((samples, 1), 3000.0),
        mach=np.full((samples, 1), mach),
        elapsed=np.array([elapsed]),
    )


def test_lift_equation():
    coefficient, angle = incidence(LIFT, 1.5)
    expected = 1.5 * 4000.0 * GRAVITY / (3000.0 * 25.0)
    assert coefficient[0, 0] == pytest.approx(expected)
    assert angle[0, 0] == pytest.approx(-0.03 + expected / 5.0)


def test_no_lift_is_the_zero_lift_angle():
    assert incidence(LIFT, 0.0)[1][0, 0] == pytest.approx(-0.03)


def test_fuel_burnt_lightens():
    full, _ = incidence(LIFT, 1.0)
    later, _ = incidence(replace(LIFT, mass_flow=0.1), 1.0, elapsed=4000.0)
    assert later[0, 0] == pytest.approx(0.9 * full[0, 0])


def test_slope_grows_with_mach():
    assert compressible_slope_ratio(np.array(0.0), 8.0) == pytest.approx(1.0)
    ratio = compressible_slope_ratio(np.array([0.3, 0.6, 0.8]), 8.0)
    assert (np.diff(ratio) > 0.0).all()
    # Never more than the two-dimensional Prandtl-Glauert growth.
    assert (ratio < 1.0 / np.sqrt(1.0 - np.array([0.3, 0.6, 0.8]) ** 2)).all()
    assert compressible_slope_ratio(np.array(2.0), 8.0) == compressible_slope_ratio(
        np.array(0.9), 8.0
    )
    constant = incidence(LIFT, 1.0, mach=0.8)[1]
    growing = incidence(replace(LIFT, aspect_ratio=8.0), 1.0, mach=0.8)[1]
    assert growing[0, 0] < constant[0, 0]


def test_the_spread_of_the_draws():
    lift = replace(LIFT, mass_sigma=200.0, lift_slope_sigma=0.2, zero_lift_angle_sigma=0.01)
    drawn = draw_lift(lift, np.random.default_rng(2), 20_000)
    assert drawn.mass.std() == pytest.approx(200.0, rel=0.03)
    assert drawn.slope.std() == pytest.approx(0.2, rel=0.03)
    assert drawn.zero.mean() == pytest.approx(-0.03, abs=0.001)
    _, angle = incidence(lift, 1.0, samples=4000)
    by_mass, by_slope = 0.1046 * 200.0 / 4000.0, 0.1046 * 0.2 / 5.0
    assert angle.std() == pytest.approx(np.sqrt(by_mass**2 + by_slope**2 + 0.01**2), rel=0.05)
    assert angle.std() < 1.0 * DEGREE


def test_flaps_that_nobody_speaks_of_lower_pitch_in_slow_flight_only():
    slow = replace(LIFT, maximum_lift=0.6, flaps_open=True)  # 1 g takes 0.87 of it
    plain, (coefficient, angle) = incidence(LIFT, 1.0), incidence(slow, 1.0, samples=20_000)
    assert coefficient == pytest.approx(plain[0][0, 0])
    lowered = plain[1][0, 0] - angle[:, 0]
    assert np.mean(lowered > 0.0) == pytest.approx(0.25, abs=0.01)
    assert lowered.max() == pytest.approx(8.0 * DEGREE, rel=0.01)
    quick = incidence(replace(LIFT, maximum_lift=2.0, flaps_open=True), 1.0, samples=100)[1]
    assert quick == pytest.approx(plain[1][0, 0])
