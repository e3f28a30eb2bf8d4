"""Sun and moon against a general astronomy library and printed examples."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from neutralpoint.earth.sky import ASTRONOMICAL_UNIT, light_of, moon_vector, sky_of, sun_vector
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary.light import Light


def _way(elevation, azimuth):
    return np.array(
        [
            np.cos(elevation) * np.cos(azimuth),
            np.cos(elevation) * np.sin(azimuth),
            np.sin(elevation),
        ]
    )


def test_heights_and_azimuths_are_those_of_the_library(authority):
    """Source: authorities/sun_and_moon.toml, a general astronomy library."""
    table = authority("sun_and_moon")
    for when, latitude, longitude, height, *there in table["rows"]:
        sky = sky_of(
            datetime.fromisoformat(when), latitude * DEGREE, longitude * DEGREE, float(height)
        )
        sun, moon = _way(*np.radians(there[:2])), _way(*np.radians(there[2:]))
        off = [
            np.linalg.norm(_way(sky.sun_elevation, sky.sun_azimuth) - sun),
            np.linalg.norm(_way(sky.moon_elevation, sky.moon_azimuth) - moon),
        ]
        assert max(off) < table["tolerance"] * DEGREE, when


def _equatorial(vector):
    x, y, z = vector / np.linalg.norm(vector)
    return np.degrees([np.mod(np.arctan2(y, x), 2 * np.pi), np.arcsin(z)])


def test_printed_examples():
    """Source: Meeus, Astronomical Algorithms (1998), examples 25.a and 47.a, from memory."""
    sun = sun_vector((2448908.5 - 2451545.0) / 36525.0)
    assert np.allclose(_equatorial(sun), (198.38083, -7.78507), atol=0.002)
    assert np.linalg.norm(sun) / ASTRONOMICAL_UNIT == pytest.approx(0.99766, abs=2e-5)
    moon = moon_vector((2448724.5 - 2451545.0) / 36525.0)
    assert np.allclose(_equatorial(moon), (134.688470, 13.768368), atol=0.03)
    assert np.linalg.norm(moon) == pytest.approx(368_409_700.0, rel=1e-3)


def test_an_eclipse_covers_the_sun():
    """Greatest eclipse of 2024-04-08, 18:17:20 UTC at 25.3 N 104.1 W: sun 70 deg high.

    Source: the catalog of solar eclipses of the Goddard Space Flight Center, from memory.
    """
    sky = sky_of(datetime(2024, 4, 8, 18, 17, 20, tzinfo=UTC), 25.3 * DEGREE, -104.1 * DEGREE)
    assert sky.sun_elevation / DEGREE == pytest.approx(69.8, abs=0.2)
    apart = _way(sky.sun_elevation, sky.sun_azimuth) - _way(sky.moon_elevation, sky.moon_azimuth)
    assert np.linalg.norm(apart) < 0.05 * DEGREE
    assert sky.moon_lit < 1e-4


def test_light_ends_at_the_depths_of_the_almanac():
    """Source: explanation of The Nautical Almanac: 0.833, 6, 12 and 18 deg, from memory."""
    depths = [0.9, -0.8, -0.9, -5.9, -6.1, -12.1, -18.1]
    assert [light_of(depth * DEGREE) for depth in depths] == [
        *(Light.DAY, Light.DAY, Light.CIVIL, Light.CIVIL),
        *(Light.NAUTICAL, Light.ASTRONOMICAL, Light.NIGHT),
    ]


def test_a_full_moon_stands_against_the_sun():
    """Source: full moon of 2026-12-24, 01:28 UTC, almanacs, from memory."""
    sky = sky_of(datetime(2026, 12, 24, 1, 28, tzinfo=UTC), 45.0 * DEGREE, 0.0)
    assert sky.moon_lit > 0.995
