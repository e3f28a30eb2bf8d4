"""The flight's air and gravity against the printed atmosphere and the earth package."""

import jax
import numpy as np
import pytest

from neutralpoint.dynamics.air import gas, gravity_ned, height_above, make_air, speed_of_sound
from neutralpoint.earth import atmosphere, geodesy
from neutralpoint.quantities import FOOT


def test_printed_atmosphere():
    """US Standard Atmosphere 1976, boundary of the troposphere at 36 089 ft (geopotential).

    Source: US Standard Atmosphere 1976, table of the layers.
    """
    air = make_air()
    geopotential = 36089.24 * FOOT
    height = geopotential / (1.0 - geopotential / 6356766.0)
    density, pressure, temperature = gas(air, height)
    assert float(temperature) / 288.15 == pytest.approx(0.751865, abs=2e-6)
    # Height is converted to second order: 1e-6 of 11 km is 0.03 m, 4e-6 of pressure.
    assert float(pressure) / 101325.0 == pytest.approx(0.223361, rel=1e-5)
    assert float(density) / 1.225 == pytest.approx(0.297076, rel=1e-5)


def test_same_air_as_the_earth_package():
    """Source: US Standard Atmosphere 1976, as tests/against/test_atmosphere.py holds it."""
    air = make_air()
    height = np.array([-500.0, 0.0, 1500.0, 6000.0, 10900.0, 11500.0, 15000.0])
    density, pressure, temperature = jax.vmap(lambda h: gas(air, h))(height)
    geopotential = height * 6356766.0 / (6356766.0 + height)
    assert np.allclose(pressure, atmosphere.pressure(geopotential), rtol=1.5e-5)
    assert np.allclose(temperature, atmosphere.temperature(geopotential), rtol=1e-6)
    assert np.allclose(density, atmosphere.density(pressure, temperature), rtol=1e-12)
    assert np.allclose(speed_of_sound(temperature), atmosphere.speed_of_sound(temperature))


def test_gravity_of_the_ellipsoid():
    """Somigliana and free air as in the earth package, up to 12 km.

    Source: NIMA TR8350.2 (2000), as test_geodesy.py holds it.
    """
    for latitude in (0.0, 0.7, 1.4):
        air = make_air(latitude=latitude)
        for height in (0.0, 3000.0, 12000.0):
            ours = float(gravity_ned(air, 0.0, 0.0, height)[2])
            # First-order free air with the mean radius: 3 h^2/R^2 and the flattening, 2e-5.
            assert ours == pytest.approx(float(geodesy.gravity(latitude, height)), rel=3e-5)


def test_height_over_the_ellipsoid():
    """The tangent plane's drop, 50 km out in four directions, to 2 m (stated in the docstring).

    Source: WGS 84 ellipsoid, NIMA TR8350.2 (2000), as test_geodesy.py holds it.
    """
    latitude = 0.75
    frame = geodesy.LocalFrame(latitude, 0.1, 0.0)
    air = make_air(latitude=latitude)
    for north, east in ((5e4, 0.0), (0.0, 5e4), (-5e4, 0.0), (3e4, -4e4)):
        height = frame.to_geodetic(np.array([north, east, -2000.0]))[2]
        assert abs(float(height_above(air, north, east, -2000.0)) - float(height)) < 2.0


def test_radius_of_curvature_and_gravity_at_equator_and_pole():
    """Geometric mean of both radii: the polar semi-axis b at the equator, c = a^2 / b at the pole.

    Source: NIMA TR8350.2 (2000), tables 3.1, 3.3 and 3.4: b 6,356,752.3142 m, c 6,399,593.6258 m,
    gravity 9.7803253359 and 9.8321849378 m/s2; from memory.
    """
    equator, pole = make_air(latitude=0.0), make_air(latitude=np.pi / 2.0)
    assert equator.radius == pytest.approx(6356752.3142, rel=1e-9)
    assert pole.radius == pytest.approx(6399593.6258, rel=1e-9)
    assert equator.gravity == pytest.approx(9.7803253359, rel=1e-9)
    assert pole.gravity == pytest.approx(9.8321849378, rel=1e-8)
    half = make_air(latitude=np.pi / 4.0)  # a^2 b / (a^2 cos^2 + b^2 sin^2)
    a, b = 6378137.0, 6356752.3142
    assert half.radius == pytest.approx(2.0 * a * a * b / (a * a + b * b), rel=1e-9)
