"""Local frames and gravity against pyproj and the constants of WGS 84."""

from __future__ import annotations

import numpy as np
import pyproj
import pytest
from ambiance import Atmosphere

from neutralpoint.earth import geodesy
from neutralpoint.earth.geodesy import LocalFrame

ORIGINS = [(51.5, -0.1, 80.0), (-33.9, 151.2, 6.0), (0.0, 179.95, 0.0), (78.2, 15.5, 450.0)]


def _scatter(latitude, longitude, count=2000):
    """Positions within about 200 km of an origin, up to 15 km high, in degrees and metres."""
    rng = np.random.default_rng(1)
    north, east = rng.uniform(-1.8, 1.8, (2, count))
    stretch = np.cos(np.radians(latitude))
    return latitude + north, longitude + east / stretch, rng.uniform(-100.0, 15e3, count)


@pytest.mark.parametrize(("latitude", "longitude", "height"), ORIGINS)
def test_topocentric_pipeline(latitude, longitude, height):
    """pyproj, operation `topocentric` after `cart` on WGS 84 (EPSG method 9837).

    Source: pyproj, EPSG method 9837.
    """
    pipeline = pyproj.Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        "+step +proj=cart +ellps=WGS84 +step +proj=topocentric +ellps=WGS84 "
        f"+lon_0={longitude} +lat_0={latitude} +h_0={height}"
    )
    at_latitude, at_longitude, at_height = _scatter(latitude, longitude)
    east, north, up = pipeline.transform(at_longitude, at_latitude, at_height)
    frame = LocalFrame(np.radians(latitude), np.radians(longitude), height)
    ned = frame.to_ned(np.radians(at_latitude), np.radians(at_longitude), at_height)
    # 1e-7 m: rounding of earth-fixed coordinates of 6e6 m at 1e-16, a few operations deep.
    np.testing.assert_allclose(ned, np.stack([north, east, -up], axis=-1), atol=1e-7)


@pytest.mark.parametrize(("latitude", "longitude", "height"), ORIGINS)
def test_inverse_of_the_frame(latitude, longitude, height):
    """Back to geodetic: the positions that pyproj was given above.

    Source: pyproj, as in the test above.
    """
    at_latitude, at_longitude, at_height = _scatter(latitude, longitude)
    frame = LocalFrame(np.radians(latitude), np.radians(longitude), height)
    back = frame.to_geodetic(
        frame.to_ned(np.radians(at_latitude), np.radians(at_longitude), at_height)
    )
    # 1e-14 rad is 6e-8 m on the ground, as above.
    np.testing.assert_allclose(back[0], np.radians(at_latitude), atol=2e-14)
    turn = np.mod(back[1] - np.radians(at_longitude) + np.pi, 2.0 * np.pi) - np.pi
    np.testing.assert_allclose(turn, 0.0, atol=1e-13)
    np.testing.assert_allclose(back[2], at_height, atol=1e-7)


@pytest.mark.parametrize(("latitude", "longitude", "height"), ORIGINS)
def test_geodesic_distance_and_azimuth(latitude, longitude, height):
    """pyproj.Geod (Karney's geodesic) for 1 km in all directions at height 0.

    Source: Karney, J. Geodesy 87 (2013) 43-55, as `pyproj.Geod` has it.
    """
    del height
    azimuth = np.arange(0.0, 360.0, 7.5)
    distance = 1000.0
    start = np.full(azimuth.shape, longitude), np.full(azimuth.shape, latitude)
    geod = pyproj.Geod(ellps="WGS84")
    at_longitude, at_latitude, _ = geod.fwd(*start, azimuth, np.full(azimuth.shape, distance))
    frame = LocalFrame(np.radians(latitude), np.radians(longitude))
    ned = frame.to_ned(np.radians(at_latitude), np.radians(at_longitude), 0.0)
    # A tangent plane is short by s^3/(6 R^2) = 4.1e-6 m and drops s^2/(2 R), R 6335 to 6400 km.
    np.testing.assert_allclose(np.hypot(ned[:, 0], ned[:, 1]), distance, atol=6e-6)
    bearing = np.degrees(np.arctan2(ned[:, 1], ned[:, 0]))
    turn = np.mod(bearing - azimuth + 180.0, 360.0) - 180.0
    # Normal section against geodesic: e^2 s^2/(12 R^2) rad = 8e-10 deg.
    np.testing.assert_allclose(turn, 0.0, atol=2e-9)
    assert np.all((ned[:, 2] > 1e6 / 2 / 6.400e6) & (ned[:, 2] < 1e6 / 2 / 6.335e6))


def test_normal_gravity():
    """NIMA TR8350.2 (2000), table 3.4: equator and pole; 45 deg from memory of the formula.

    Source: NIMA TR8350.2 (2000), table 3.4.
    """
    latitude = np.radians([0.0, 90.0, 45.0])
    printed = [9.7803253359, 9.8321849378, 9.8061977]
    np.testing.assert_allclose(geodesy.gravity(latitude, 0.0)[:2], printed[:2], atol=1e-9)
    assert geodesy.gravity(latitude, 0.0)[2] == pytest.approx(printed[2], abs=5e-7)


def test_gravity_aloft():
    """`ambiance`: gravity of the standard atmosphere, made for 45.5 deg of latitude.

    Source: ICAO Doc 7488 as the registry library `ambiance` has it.
    """
    height = np.linspace(0.0, 30e3, 31)
    found = geodesy.gravity(np.radians(45.5), height)
    # The standard's sphere against the ellipsoid: 1e-4 m/s2 over 30 km, plus the rounding of its
    # surface value, 9.80665, against 9.80665 at 45.5 deg on the ellipsoid.
    np.testing.assert_allclose(found, Atmosphere(height).grav_accel, atol=2e-4)
