"""Parts of the motion held against numbers worked out by hand.

Sources are those of the formulas; what is checked here is that they are written down right.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

import neutralpoint.motion
from neutralpoint.motion import LiftData
from neutralpoint.motion.age import along_path_force, memory
from neutralpoint.motion.airdata import VERTICAL_WIND_SIGMA, _coarse, _spread, _vertical_wind
from neutralpoint.motion.bounds import _speeds
from neutralpoint.motion.lift import DrawnLift, angle_of_attack, compressible_slope_ratio
from neutralpoint.quantities import DEGREE, EARTH_RADIUS, GRAVITY

LIFT = LiftData(
    mass=4000.0, wing_area=25.0, lift_slope=5.0, zero_lift_angle=-0.03, maximum_lift=1.4
)


def test_force_along_the_path_and_the_drag_of_its_lift():
    """100 m/s through the air, 80 m/s of them level; standard air at sea level, 1.225 kg/m3."""
    weather = SimpleNamespace(at=lambda height: (np.array([10.0]), np.array([-5.0]), 288.15))
    horizontal = np.array([[0.0, 90.0, 1.0, 0.0, -5.0, 0.5]])
    vertical = np.array([[0.0, 60.0, 0.2]])
    along, induced = along_path_force(horizontal, vertical, weather, LIFT)
    up = GRAVITY + 0.2
    expected = (0.8 * 1.0 + 0.6 * up) / GRAVITY
    assert along[0] == pytest.approx(expected)
    normal2 = (1.0 + 0.25 + up**2) / GRAVITY**2 - expected**2
    level = 4000.0 * GRAVITY / (0.5 * 1.225 * 1e4 * 25.0)
    assert induced[0] == pytest.approx(-level * normal2 / (math.pi * 8.0 * 0.8), rel=1e-5)


def test_time_between_independent_values_by_counting():
    # Threes of either sign: of 119 neighbours 80 agree and 39 do not; two apart more disagree.
    values = 0.01 * np.tile([1.0, 1.0, 1.0, -1.0, -1.0, -1.0], 20)
    assert memory(values, 3.0) == pytest.approx(3.0 * (1.0 + 2.0 * 41.0 / 119.0))
    assert memory(values, 0.5) == 2.0 and memory(np.zeros(50), 3.0) == 2.0
    assert memory(np.full(200, 0.01), 1.0) == 30.0
    # What is quicker than thrice the width counts as that much.
    wild = np.where(np.abs(values) > 0.0, 1e3 * values, 0.0)
    assert memory(wild, 3.0) == pytest.approx(memory(values, 3.0))


def test_air_is_drawn_every_two_seconds_and_straight_between():
    nodes = _coarse(0.5, 10)
    assert nodes.tolist() == [0, 4, 8, 9] and _coarse(5.0, 3).tolist() == [0, 1, 2]
    values = np.array([[1.0, 5.0, 3.0, 10.0], [0.0, -4.0, 4.0, 4.5]])
    expected = [np.interp(np.arange(10), nodes, row) for row in values]
    np.testing.assert_allclose(_spread(values, nodes, 10), expected)


def test_vertical_wind_has_its_spread_and_memory():
    wind = _vertical_wind(np.random.default_rng(3), 40_000, 8)
    # Four standard errors: 1.4 % of a spread, 0.02 of a correlation.
    np.testing.assert_allclose(wind.std(axis=0), VERTICAL_WIND_SIGMA, rtol=0.015)
    for apart in (1, 5):
        found = np.corrcoef(wind[:, 2], wind[:, 2 + apart])[0, 1]
        assert found == pytest.approx(math.exp(-2.0 * apart / 30.0), abs=0.02)


def test_growth_of_the_lift_slope_by_hand():
    # (2 + sqrt(4 + 64)) / (2 + sqrt(4 + 64 (1 - .36)))
    expected = (2.0 + math.sqrt(68.0)) / (2.0 + math.sqrt(44.96))
    assert float(compressible_slope_ratio(np.array(0.6), 8.0)) == pytest.approx(expected)


@pytest.mark.parametrize(("share", "lowered"), [(0.2, 0.0), (0.375, 4.0), (0.6, 8.0)])
def test_flaps_lower_the_angle_in_slow_flight(share, lowered):
    """From 0.3 to 0.45 of the largest lift: half-way full flaps are half-way out."""
    one = np.ones((1, 1))
    drawn = DrawnLift(4000.0 * one, 5.0 * one, -0.03 * one, one)
    level = share * 1.4
    pressure = 4000.0 * GRAVITY / (level * 25.0) * one
    coefficient, angle = angle_of_attack(
        LIFT, drawn, load_factor=2.0 * one, dynamic_pressure=pressure, mach=0.2 * one,
        elapsed=np.zeros(1),
    )  # fmt: skip
    assert coefficient[0, 0] == pytest.approx(2.0 * level)
    assert angle[0, 0] == pytest.approx(-0.03 + 2.0 * level / 5.0 - lowered * DEGREE)


def test_speed_between_positions_on_a_sphere():
    # A degree north in 100 s; then at 60 degrees across the date line, two degrees east in 50 s.
    place = np.radians([[59.0, 179.0], [60.0, 179.0], [60.0, -179.0], [60.0, -179.0]])
    time = np.array([0.0, 100.0, 150.0, 150.0])
    degree = EARTH_RADIUS * math.pi / 180.0
    found = _speeds(time, place)
    np.testing.assert_allclose(found, [degree / 100.0, 2.0 * 0.5 * degree / 50.0])


def test_values_are_not_changed_once_they_are_made(changeable):
    assert changeable(neutralpoint.motion) == []
