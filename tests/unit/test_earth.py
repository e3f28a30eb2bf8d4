"""Round trips, edges and shapes of the earth package."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from neutralpoint.earth import airspeed, atmosphere, geodesy


def test_pressure_altitude_is_the_inverse_of_pressure():
    height = np.linspace(-4900.0, 84000.0, 4001)
    found = atmosphere.pressure_altitude(atmosphere.pressure(height))
    # 1e-8 m: rounding at 1e-16 of a pressure, times the scale height, with room.
    np.testing.assert_allclose(found, height, atol=1e-8)


def test_pressure_is_continuous_and_falls():
    bases = np.array([11e3, 20e3, 32e3, 47e3, 51e3, 71e3])
    below, above = atmosphere.pressure(bases - 1e-6), atmosphere.pressure(bases + 1e-6)
    np.testing.assert_allclose(above, below, rtol=1e-9)
    assert np.all(np.diff(atmosphere.pressure(np.linspace(-5000.0, 84852.0, 999))) < 0.0)


def test_ends_are_held():
    for function in (atmosphere.temperature, atmosphere.pressure):
        np.testing.assert_array_equal(function([-9e3, 9e4]), function([-5e3, 84852.0]))
    np.testing.assert_allclose(atmosphere.pressure_altitude([1e9, 0.0]), [-5e3, 84852.0])


def test_hydrostatic_balance():
    """dp/dH = -rho g0 in every layer, which no formula of the module states."""
    height = np.array([-2e3, 3e3, 9e3, 15e3, 25e3, 40e3, 49e3, 60e3, 75e3])
    gradient = (atmosphere.pressure(height + 1.0) - atmosphere.pressure(height - 1.0)) / 2.0
    density = atmosphere.density(atmosphere.pressure(height), atmosphere.temperature(height))
    # Central difference over 2 m: error (1 m / scale height)^2, below 1e-7.
    np.testing.assert_allclose(gradient, -density * 9.80665, rtol=1e-6)


def test_mach_is_the_inverse_of_the_pressure_ratio():
    mach = np.linspace(0.0, 3.0, 601)
    found = airspeed.mach_from_pressure_ratio(airspeed.pressure_ratio_from_mach(mach))
    np.testing.assert_allclose(found, mach, atol=1e-12)


@given(st.floats(1.0, 500.0), st.floats(-500.0, 15e3), st.floats(-40.0, 40.0))
def test_calibrated_and_true_airspeed_round_trip(speed, height, deviation):
    pressure = atmosphere.pressure(height)
    temperature = atmosphere.temperature(height) + deviation
    cas = airspeed.cas_from_mach(airspeed.mach_from_tas(speed, temperature), pressure)
    # 1e-8: at 1 m/s the impact pressure is 1e-5 of the static one, and so loses 5 digits of 16.
    assert airspeed.tas_from_cas(cas, pressure, temperature) == pytest.approx(speed, rel=1e-8)


def test_equal_speeds_at_sea_level():
    tas = np.linspace(0.0, 600.0, 61)
    pressure, temperature = atmosphere.pressure(0.0), atmosphere.temperature(0.0)
    cas = airspeed.cas_from_mach(airspeed.mach_from_tas(tas, temperature), pressure)
    np.testing.assert_allclose(cas, tas, rtol=1e-10)
    density = atmosphere.density(pressure, temperature)
    np.testing.assert_allclose(airspeed.eas_from_tas(tas, density), tas, rtol=1e-12)


def test_geopotential_round_trip():
    height = np.linspace(-500.0, 80e3, 101)
    found = geodesy.geometric_height(geodesy.geopotential_height(height))
    np.testing.assert_allclose(found, height, atol=1e-9)


@given(st.floats(-np.pi / 2, np.pi / 2), st.floats(-np.pi, np.pi), st.floats(-500.0, 30e3))
def test_earth_fixed_round_trip(latitude, longitude, height):
    position = geodesy.to_earth_fixed(latitude, longitude, height)
    back = geodesy.to_earth_fixed(*geodesy.from_earth_fixed(position))
    # Compared in space, where a longitude at a pole does no harm.
    np.testing.assert_allclose(back, position, atol=2e-8)


def test_frame_axes():
    """North, east and up of the origin come out with the right signs."""
    frame = geodesy.LocalFrame(0.8, -1.4, 100.0)
    north = frame.to_ned(0.8 + 1e-5, -1.4, 100.0)
    east = frame.to_ned(0.8, -1.4 + 1e-5, 100.0)
    up = frame.to_ned(0.8, -1.4, 150.0)
    assert north[0] == pytest.approx(63.7, abs=0.2) and abs(north[1]) < 1e-6
    assert east[1] == pytest.approx(63.8 * np.cos(0.8), abs=0.2) and abs(east[0]) < 1e-3
    np.testing.assert_allclose(up, [0.0, 0.0, -50.0], atol=1e-8)


def test_gravity_falls_with_height_and_rises_to_the_pole():
    latitude, height = np.meshgrid(np.linspace(0.0, np.pi / 2, 10), np.linspace(0.0, 2e4, 11))
    value = geodesy.gravity(latitude, height)
    assert np.all(np.diff(value, axis=0) < 0.0) and np.all(np.diff(value, axis=1) > 0.0)
