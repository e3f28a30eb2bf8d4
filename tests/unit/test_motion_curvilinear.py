"""Scaled latitude and longitude against geodesics, and the terms of a moving frame."""

from __future__ import annotations

import numpy as np
import pytest
from pyproj import Geod

from neutralpoint.motion.curvilinear import EARTH_RATE, Curvilinear, inertial_terms, radii
from neutralpoint.quantities import DEGREE

GEOD = Geod(ellps="WGS84")


@pytest.mark.parametrize("latitude_deg", [-67.0, 0.0, 31.0, 82.0])
@pytest.mark.parametrize("course_deg", [0.0, 57.0, 180.0, 271.0])
def test_steps_have_their_true_length(latitude_deg, course_deg):
    """The stretch turns a small scaled step into the geodesic's length and azimuth."""
    origin = Curvilinear((latitude_deg - 2.0) * DEGREE, 10.0 * DEGREE)
    length = 200.0
    longitude, latitude, _ = GEOD.fwd(13.0, latitude_deg, course_deg, length)
    ends = np.array([latitude_deg, latitude]) * DEGREE, np.array([13.0, longitude]) * DEGREE
    north, east = origin.to_plane(*ends)
    stretch_north, stretch_east = origin.stretch(ends[0].mean(), np.zeros(()))
    step = np.diff(north)[0] * stretch_north, np.diff(east)[0] * stretch_east
    assert np.hypot(*step) == pytest.approx(length, abs=1e-4)
    # Azimuths at the two ends differ by the convergence of the meridians; the middle is compared.
    convergence = np.diff(ends[1])[0] * np.sin(ends[0].mean())
    course = np.mod(np.arctan2(step[1], step[0]), 2.0 * np.pi)
    expected = np.mod(course_deg * DEGREE + 0.5 * convergence, 2.0 * np.pi)
    assert np.cos(course - expected) == pytest.approx(1.0, abs=1e-10)


def test_there_and_back_across_the_antimeridian():
    frame = Curvilinear(0.5, 179.5 * DEGREE)
    longitude = np.array([179.0, -179.0, 180.0]) * DEGREE
    latitude = np.full(3, 0.51)
    north, east = frame.to_plane(latitude, longitude)
    assert np.ptp(east) < 300e3
    back = frame.to_geographic(north, east)
    np.testing.assert_allclose(back[0], latitude, atol=1e-14)
    np.testing.assert_allclose(np.exp(1j * back[1]), np.exp(1j * longitude), atol=1e-12)
    assert (np.abs(back[1]) <= np.pi).all()


def test_height_stretches():
    frame = Curvilinear(0.7, 0.1)
    meridian, prime = radii(np.asarray(0.7))
    low = np.array(frame.stretch(0.7, 0.0))
    high = np.array(frame.stretch(0.7, 10e3))
    np.testing.assert_allclose(low, 1.0, rtol=1e-14)
    np.testing.assert_allclose(high - low, [10e3 / meridian, 10e3 / prime], rtol=1e-9)


def _rotation(latitude, longitude):
    """From NED to earth-fixed axes."""
    sine, cosine = np.sin(latitude), np.cos(latitude)
    east_sine, east_cosine = np.sin(longitude), np.cos(longitude)
    return np.array(
        [
            [-sine * east_cosine, -east_sine, -cosine * east_cosine],
            [-sine * east_sine, east_cosine, -cosine * east_sine],
            [cosine, 0.0, -sine],
        ]
    )


@pytest.mark.parametrize("velocity", [(120.0, 0.0, 0.0), (0.0, 250.0, 0.0), (80.0, -150.0, -30.0)])
def test_inertial_terms(velocity):
    """Against the second derivative of the position in axes that do not turn.

    With constant NED velocity the absolute acceleration is the inertial term plus the centripetal
    part that gravity already holds.
    """
    latitude, longitude, height = 0.8, 0.4, 5000.0
    velocity = np.array(velocity)
    step = 0.5

    def absolute(time):
        """Position in axes that do not turn with the earth."""
        substeps = 200
        at = [latitude, longitude, height]
        for _ in range(substeps):
            share = time / substeps
            height_middle = at[2] - 0.5 * share * velocity[2]
            meridian, _ = radii(np.asarray(at[0]))
            middle = at[0] + 0.5 * share * velocity[0] / (meridian + height_middle)
            meridian, prime = radii(np.asarray(middle))
            at[0] += share * velocity[0] / (meridian + height_middle)
            at[1] += share * velocity[1] / ((prime + height_middle) * np.cos(middle))
            at[2] -= share * velocity[2]
        _, prime = radii(np.asarray(at[0]))
        flattened = prime * (1.0 - 6.69437999014e-3)
        angle = at[1] + EARTH_RATE * time
        ring = (prime + at[2]) * np.cos(at[0])
        return np.array(
            [ring * np.cos(angle), ring * np.sin(angle), (flattened + at[2]) * np.sin(at[0])]
        )

    acceleration = (absolute(step) - 2.0 * absolute(0.0) + absolute(-step)) / step**2
    ring = absolute(0.0) * np.array([1.0, 1.0, 0.0])
    relative = _rotation(latitude, longitude).T @ (acceleration + EARTH_RATE**2 * ring)
    found = inertial_terms(np.asarray(latitude), np.asarray(height), velocity)
    # Second differences of positions of 6e6 m carry 1e-8 m of rounding: 1e-7 m/s^2 and less.
    np.testing.assert_allclose(found, relative, atol=2e-7)


def test_coriolis_of_a_flight_along_the_equator():
    """Eotvos: 2 omega V + V^2/R less weight for flight to the east."""
    found = inertial_terms(np.zeros(()), np.zeros(()), np.array([0.0, 250.0, 0.0]))
    assert found[2] == pytest.approx(2.0 * EARTH_RATE * 250.0 + 250.0**2 / 6378137.0)
    np.testing.assert_allclose(found[:2], 0.0, atol=1e-12)
