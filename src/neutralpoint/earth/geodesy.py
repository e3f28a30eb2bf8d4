"""The ellipsoid WGS 84: local north-east-down frames, gravity, geometric and geopotential height.

Heights in this module are above the ellipsoid unless said otherwise. Height above mean sea level
differs by the geoid undulation, -107 m to +86 m over the world.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import (
    ECCENTRICITY_SQUARED,
    EQUATOR_GRAVITY,
    EQUATOR_RADIUS,
    FLATTENING,
    GEOPOTENTIAL_RADIUS,
    SOMIGLIANA,
)

# NIMA TR8350.2, 3rd ed., amendment 1 (2000), tables 3.1 and 3.4.
EARTH_RATE = 7.292115e-5  # rad/s
GRAVITY_RATIO = 0.00344978650684  # m = rate^2 a^2 b / GM
SEMI_MINOR_AXIS = EQUATOR_RADIUS * (1.0 - FLATTENING)
SECOND_ECCENTRICITY_SQUARED = ECCENTRICITY_SQUARED / (1.0 - ECCENTRICITY_SQUARED)

# Each of Bowring's steps cuts the error by about 300; three leave rounding error up to 100 km.
_BOWRING_STEPS = 3


def to_earth_fixed(latitude: ArrayLike, longitude: ArrayLike, height: ArrayLike) -> Array:
    """Earth-centred earth-fixed coordinates of a geodetic position.

    Args:
        latitude: Geodetic, rad, any shape.
        longitude: rad, same shape.
        height: Above the ellipsoid, m, same shape.

    Returns:
        x, y, z, m, shape (..., 3).

    Source: NIMA TR8350.2 (2000), eq. 4-14.
    Checked against: tests/against/test_geodesy.py (pyproj).
    """
    latitude, longitude, height = np.broadcast_arrays(
        np.asarray(latitude, float), np.asarray(longitude, float), np.asarray(height, float)
    )
    sine, cosine = np.sin(latitude), np.cos(latitude)
    normal = EQUATOR_RADIUS / np.sqrt(1.0 - ECCENTRICITY_SQUARED * sine**2)
    across = (normal + height) * cosine
    along = (normal * (1.0 - ECCENTRICITY_SQUARED) + height) * sine
    return np.stack([across * np.cos(longitude), across * np.sin(longitude), along], axis=-1)


def from_earth_fixed(position: ArrayLike) -> tuple[Array, Array, Array]:
    """Geodetic position of earth-centred earth-fixed coordinates.

    Args:
        position: x, y, z, m, shape (..., 3).

    Returns:
        Geodetic latitude and longitude, rad, and height above the ellipsoid, m, each shape (...).

    Valid: -100 to 100 km of height.
    Source: B. R. Bowring, Survey Review 23 (1976) 323-327, iterated on the reduced latitude.
    Checked against: tests/against/test_geodesy.py (pyproj).
    """
    x, y, z = np.moveaxis(np.asarray(position, float), -1, 0)
    across = np.hypot(x, y)
    reduced = np.arctan2(EQUATOR_RADIUS * z, SEMI_MINOR_AXIS * across)
    latitude = reduced
    for _ in range(_BOWRING_STEPS):
        latitude = np.arctan2(
            z + SECOND_ECCENTRICITY_SQUARED * SEMI_MINOR_AXIS * np.sin(reduced) ** 3,
            across - ECCENTRICITY_SQUARED * EQUATOR_RADIUS * np.cos(reduced) ** 3,
        )
        reduced = np.arctan2((1.0 - FLATTENING) * np.sin(latitude), np.cos(latitude))
    sine = np.sin(latitude)
    height = (
        across * np.cos(latitude)
        + z * sine
        - EQUATOR_RADIUS * np.sqrt(1.0 - ECCENTRICITY_SQUARED * sine**2)
    )
    return latitude, np.arctan2(y, x), height


@dataclass(frozen=True)
class LocalFrame:
    """A flat north-east-down frame that touches the earth at one point.

    The frame does not turn with the curvature of the earth: 10 km away its horizontal plane is
    8 m above the ellipsoid.

    Args:
        latitude0: Geodetic latitude of the origin, rad.
        longitude0: Longitude of the origin, rad.
        height0: Height of the origin above the ellipsoid, m.
    """

    latitude0: float
    longitude0: float
    height0: float = 0.0

    @cached_property
    def _origin(self) -> Array:
        return to_earth_fixed(self.latitude0, self.longitude0, self.height0)

    @cached_property
    def _rotation(self) -> Array:
        """From earth-fixed to NED: rows are the north, east and down directions."""
        sine, cosine = np.sin(self.latitude0), np.cos(self.latitude0)
        sine_long, cosine_long = np.sin(self.longitude0), np.cos(self.longitude0)
        return np.array(
            [
                [-sine * cosine_long, -sine * sine_long, cosine],
                [-sine_long, cosine_long, 0.0],
                [-cosine * cosine_long, -cosine * sine_long, -sine],
            ]
        )

    def to_ned(self, latitude: ArrayLike, longitude: ArrayLike, height: ArrayLike) -> Array:
        """Position in the frame.

        Args:
            latitude: Geodetic, rad, any shape.
            longitude: rad, same shape.
            height: Above the ellipsoid, m, same shape.

        Returns:
            North, east, down, m, shape (..., 3).

        Source: NIMA TR8350.2 (2000), eq. 4-14, and a rotation.
        Checked against: tests/against/test_geodesy.py (pyproj).
        """
        offset = to_earth_fixed(latitude, longitude, height) - self._origin
        return offset @ self._rotation.T

    def to_geodetic(self, ned: ArrayLike) -> tuple[Array, Array, Array]:
        """Geodetic position of a point of the frame, the inverse of `to_ned`.

        Args:
            ned: North, east, down, m, shape (..., 3).

        Returns:
            Geodetic latitude and longitude, rad, and height above the ellipsoid, m.

        Source: as `from_earth_fixed`.
        Checked against: tests/against/test_geodesy.py (pyproj).
        """
        return from_earth_fixed(np.asarray(ned, float) @ self._rotation + self._origin)


def gravity(latitude: ArrayLike, height: ArrayLike) -> Array:
    """Normal gravity: attraction of the ellipsoid and its rotation together.

    Args:
        latitude: Geodetic, rad, any shape.
        height: Above the ellipsoid, m, same shape.

    Returns:
        m/s2, same shape.

    Valid: 0 to 30 km; real gravity differs by up to about 0.002 m/s2.
    Source: Somigliana's closed formula and the second-order free-air term, NIMA TR8350.2 (2000),
    eq. 4-1 and 4-3.
    Checked against: tests/against/test_geodesy.py.
    """
    sine_squared = np.sin(np.asarray(latitude, float)) ** 2
    height = np.asarray(height, float)
    root = np.sqrt(1.0 - ECCENTRICITY_SQUARED * sine_squared)
    surface = EQUATOR_GRAVITY * (1.0 + SOMIGLIANA * sine_squared) / root
    linear = 1.0 + FLATTENING + GRAVITY_RATIO - 2.0 * FLATTENING * sine_squared
    relative = height / EQUATOR_RADIUS
    return surface * (1.0 - 2.0 * linear * relative + 3.0 * relative**2)


def geopotential_height(geometric_height: ArrayLike) -> Array:
    """Geopotential height of a geometric height above mean sea level.

    Args:
        geometric_height: m, any shape.

    Returns:
        m, same shape.

    Valid: the radius holds at 45.5 deg of latitude; elsewhere good to 0.3% of the height.
    Source: US Standard Atmosphere 1976, eq. 18.
    Checked against: tests/against/test_atmosphere.py.
    """
    height = np.asarray(geometric_height, float)
    return GEOPOTENTIAL_RADIUS * height / (GEOPOTENTIAL_RADIUS + height)


def geometric_height(geopotential_height: ArrayLike) -> Array:
    """Geometric height above mean sea level of a geopotential height.

    Args:
        geopotential_height: m, any shape.

    Returns:
        m, same shape.

    Source: US Standard Atmosphere 1976, eq. 19.
    Checked against: round trip in tests/unit/test_earth.py.
    """
    height = np.asarray(geopotential_height, float)
    return GEOPOTENTIAL_RADIUS * height / (GEOPOTENTIAL_RADIUS - height)
