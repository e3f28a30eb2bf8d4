"""Where sun and moon stand, to about a tenth of a degree."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import DEGREE, ECCENTRICITY_SQUARED, EQUATOR_RADIUS
from neutralpoint.vocabulary.light import Light

ASTRONOMICAL_UNIT = 149_597_870_700.0  # m, exact by IAU 2012 resolution B2
J2000 = datetime(2000, 1, 1, 12, tzinfo=UTC)
CENTURY = 36525.0  # days
# Terrestrial less universal time, s: 69.2 s in 2024 by the Earth Orientation Centre, from memory;
# half a minute more or less moves the moon by 15 seconds of arc.
DELTA_T = 69.2
# Depth of the middle of the sun below the horizontal at which each light ends: refraction and half
# a diameter, 0.833 deg; 6, 12 and 18 deg. Source: The Nautical Almanac, explanation, from memory.
DEPTHS = (
    (0.833 * DEGREE, Light.DAY),
    (6.0 * DEGREE, Light.CIVIL),
    (12.0 * DEGREE, Light.NAUTICAL),
    (18.0 * DEGREE, Light.ASTRONOMICAL),
)
# Meeus, Astronomical Algorithms, 2nd ed. (1998), tables 47.A and 47.B, the largest terms, from
# memory: multiples of D, M, M' and F; longitude in 1e-6 deg with distance in m, then latitude.
MOON_LONGITUDE = np.array(
    [
        (0, 0, 1, 0, 6288774, -20905355), (2, 0, -1, 0, 1274027, -3699111),
        (2, 0, 0, 0, 658314, -2955968), (0, 0, 2, 0, 213618, -569925),
        (0, 1, 0, 0, -185116, 48888), (0, 0, 0, 2, -114332, -3149),
        (2, 0, -2, 0, 58793, 246158), (2, -1, -1, 0, 57066, -152138),
        (2, 0, 1, 0, 53322, -170733), (2, -1, 0, 0, 45758, -204586),
        (0, 1, -1, 0, -40923, -129620), (1, 0, 0, 0, -34720, 108743),
        (0, 1, 1, 0, -30383, 104755), (2, 0, 0, -2, 15327, 10321),
        (0, 0, 1, 2, -12528, 0), (0, 0, 1, -2, 10980, 79661),
        (4, 0, -1, 0, 10675, -34782), (0, 0, 3, 0, 10034, -23210),
        (4, 0, -2, 0, 8548, -21636),
    ],
    float,
)  # fmt: skip
MOON_LATITUDE = np.array(
    [
        (0, 0, 0, 1, 5128122), (0, 0, 1, 1, 280602), (0, 0, 1, -1, 277693), (2, 0, 0, -1, 173237),
        (2, 0, -1, 1, 55413), (2, 0, -1, -1, 46271), (2, 0, 0, 1, 32573), (0, 0, 2, 1, 17198),
        (2, 0, 1, -1, 9266), (0, 0, 2, -1, 8822),
    ],
    float,
)  # fmt: skip
MOON_DISTANCE = 385_000_560.0  # m, mean, same source


@dataclass(frozen=True)
class Sky:
    """Sun and moon as seen from a place, without refraction.

    Attributes:
        sun_elevation: Of the middle of the sun above the horizontal, rad.
        sun_azimuth: From true north by east, rad.
        moon_elevation: rad.
        moon_azimuth: rad.
        moon_lit: Lit share of the disc of the moon.
    """

    sun_elevation: float
    sun_azimuth: float
    moon_elevation: float
    moon_azimuth: float
    moon_lit: float

    @property
    def light(self) -> Light:
        """Class of light."""
        return light_of(self.sun_elevation)


def light_of(elevation: float) -> Light:
    """Class of light at a height of the sun.

    Args:
        elevation: Of its middle, without refraction, rad.

    Returns:
        The class.

    Source: as `DEPTHS`.
    """
    return next((light for depth, light in DEPTHS if elevation > -depth), Light.NIGHT)


def _turn(degrees: float) -> float:
    return float(np.mod(degrees, 360.0)) * DEGREE


def _ecliptic(longitude: float, latitude: float, distance: float, tilt: float) -> Array:
    """From ecliptic angles to a vector towards equinox, 90 deg and pole of the equator."""
    flat = np.cos(latitude)
    x, y, z = flat * np.cos(longitude), flat * np.sin(longitude), np.sin(latitude)
    ct, st = np.cos(tilt), np.sin(tilt)
    return distance * np.array([x, y * ct - z * st, y * st + z * ct])


def sun_vector(centuries: float) -> Array:
    """The sun from the middle of the earth, apparent.

    Args:
        centuries: Since J2000, terrestrial time.

    Returns:
        m, equator and equinox of date, shape (3,).

    Source: Meeus (1998), chapter 25, low accuracy, 0.01 deg, from memory.
    Checked against: tests/against/test_sky.py.
    """
    t = centuries
    mean = _turn(280.46646 + 36000.76983 * t)
    anomaly = _turn(357.52911 + 35999.05029 * t)
    node = _turn(125.04 - 1934.136 * t)
    centre = (1.914602 - 0.004817 * t) * np.sin(anomaly)
    centre += (0.019993 - 0.000101 * t) * np.sin(2 * anomaly) + 0.000289 * np.sin(3 * anomaly)
    eccentricity = 0.016708634 - 0.000042037 * t
    distance = 1.000001018 * (1 - eccentricity**2)
    distance /= 1 + eccentricity * np.cos(anomaly + centre * DEGREE)
    longitude = mean + (centre - 0.00569 - 0.00478 * np.sin(node)) * DEGREE
    return _ecliptic(longitude, 0.0, distance * ASTRONOMICAL_UNIT, _tilt(t))


def _tilt(t: float) -> float:
    """Obliquity of date, rad, Meeus (1998), chapters 22 and 25."""
    return (23.439291 - 0.0130042 * t + 0.00256 * np.cos(_turn(125.04 - 1934.136 * t))) * DEGREE


def moon_vector(centuries: float) -> Array:
    """The moon from the middle of the earth, apparent.

    Args:
        centuries: Since J2000, terrestrial time.

    Returns:
        m, equator and equinox of date, shape (3,).

    Source: Meeus (1998), chapter 47, the largest terms, from memory.
    Checked against: tests/against/test_sky.py.
    """
    t = centuries
    mean = 218.3164477 + 481267.88123421 * t
    angles = np.array(
        [
            _turn(297.8501921 + 445267.1114034 * t),
            _turn(357.5291092 + 35999.0502909 * t),
            _turn(134.9633964 + 477198.8675055 * t),
            _turn(93.2720950 + 483202.0175233 * t),
        ]
    )
    flatter = 1.0 - 0.002516 * t  # of the terms with the anomaly of the sun

    def sums(table: Array) -> tuple[Array, Array]:
        return table[:, :4] @ angles, flatter ** np.abs(table[:, 1])

    argument, weight = sums(MOON_LONGITUDE)
    east = np.sum(weight * MOON_LONGITUDE[:, 4] * np.sin(argument))
    east += 3958 * np.sin(_turn(119.75 + 131.849 * t))
    east += 1962 * np.sin(_turn(mean) - angles[3]) + 318 * np.sin(_turn(53.09 + 479264.290 * t))
    distance = MOON_DISTANCE + np.sum(weight * MOON_LONGITUDE[:, 5] * np.cos(argument))
    argument, weight = sums(MOON_LATITUDE)
    north = np.sum(weight * MOON_LATITUDE[:, 4] * np.sin(argument))
    north -= 2235 * np.sin(_turn(mean))
    node = _turn(125.04 - 1934.136 * t)
    longitude = _turn(mean) + (1e-6 * east - 0.00478 * np.sin(node)) * DEGREE
    return _ecliptic(longitude, 1e-6 * north * DEGREE, float(distance), _tilt(t))


def _observer(latitude: float, sidereal: float, height: float) -> tuple[Array, Array]:
    """Place of the observer, m, and its axes north, east, up in rows."""
    bulge = EQUATOR_RADIUS / np.sqrt(1.0 - ECCENTRICITY_SQUARED * np.sin(latitude) ** 2)
    out = (bulge + height) * np.cos(latitude)
    place = np.array(
        [
            out * np.cos(sidereal),
            out * np.sin(sidereal),
            (bulge * (1.0 - ECCENTRICITY_SQUARED) + height) * np.sin(latitude),
        ]
    )
    cl, sl, cs, ss = np.cos(latitude), np.sin(latitude), np.cos(sidereal), np.sin(sidereal)
    return place, np.array([[-sl * cs, -sl * ss, cl], [-ss, cs, 0.0], [cl * cs, cl * ss, sl]])


def _seen(vector: Array, place: Array, axes: Array) -> tuple[float, float]:
    north, east, up = axes @ (vector - place)
    azimuth = float(np.mod(np.arctan2(east, north), 2.0 * np.pi))
    return float(np.arctan2(up, np.hypot(north, east))), azimuth


def sky_of(when: datetime, latitude: float, longitude: float, height: float = 0.0) -> Sky:
    """Sun and moon at a time and place.

    Args:
        when: With its time zone.
        latitude: Geodetic, rad.
        longitude: rad, east positive.
        height: Above the ellipsoid, m.

    Returns:
        Where they stand.

    Valid: 1950 to 2050; 0.02 deg for the sun, 0.1 deg for the moon.
    Source: sidereal time: Meeus (1998), eq. 12.4, from memory; lit share: eq. 48.1 and 48.3.
    Checked against: tests/against/test_sky.py.
    """
    days = (when - J2000).total_seconds() / 86400.0
    t = (days + DELTA_T / 86400.0) / CENTURY
    node = _turn(125.04 - 1934.136 * t)
    sidereal = _turn(280.46061837 + 360.98564736629 * days - 0.00438 * np.sin(node)) + longitude
    sun, moon = sun_vector(t), moon_vector(t)
    place, axes = _observer(latitude, sidereal, height)
    between = (sun - moon) @ (place - moon)
    cosine = between / np.linalg.norm(sun - moon) / np.linalg.norm(place - moon)
    return Sky(*_seen(sun, place, axes), *_seen(moon, place, axes), 0.5 * (1.0 + float(cosine)))
