"""Latitude and longitude as metres along the ellipsoid, good for tracks of any length.

A tangent plane tilts against the vertical by 1 degree in 111 km, and bank with it. Distances along
the meridian and the parallel keep the local vertical everywhere; the equations of motion then carry
the transport and Coriolis terms.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.earth.geodesy import EARTH_RATE
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import ECCENTRICITY_SQUARED, EQUATOR_RADIUS


def radii(latitude: Array) -> tuple[Array, Array]:
    """Radii of curvature of the ellipsoid.

    Args:
        latitude: Geodetic latitude, rad.

    Returns:
        Meridian radius and prime-vertical radius, m.

    Source: Torge, Geodesy (2001), eq. 4.13 and 4.15.
    """
    factor = 1.0 - ECCENTRICITY_SQUARED * np.sin(latitude) ** 2
    prime = EQUATOR_RADIUS / np.sqrt(factor)
    return prime * (1.0 - ECCENTRICITY_SQUARED) / factor, prime


@dataclass(frozen=True)
class Curvilinear:
    """Scaled latitude and longitude about an origin.

    Attributes:
        latitude: Origin, rad.
        longitude: Origin, rad.
    """

    latitude: float
    longitude: float

    @property
    def scale(self) -> tuple[float, float]:
        """Metres per radian of latitude and longitude at the origin, at height 0."""
        meridian, prime = radii(np.asarray(self.latitude))
        return float(meridian), float(prime * np.cos(self.latitude))

    def to_plane(self, latitude: Array, longitude: Array) -> tuple[Array, Array]:
        """Scaled coordinates; longitudes are taken the short way round.

        Args:
            latitude: rad, any shape.
            longitude: rad, same shape.

        Returns:
            North and east coordinates, m.
        """
        north, east = self.scale
        turn = np.mod(longitude - self.longitude + np.pi, 2.0 * np.pi) - np.pi
        return (latitude - self.latitude) * north, turn * east

    def to_geographic(self, north: Array, east: Array) -> tuple[Array, Array]:
        """Latitude and longitude of scaled coordinates.

        Args:
            north: m, any shape.
            east: m, same shape.

        Returns:
            Latitude and longitude, rad; longitude within (-pi, pi].
        """
        scale_north, scale_east = self.scale
        longitude = self.longitude + east / scale_east
        wrapped = np.pi - np.mod(np.pi - longitude, 2.0 * np.pi)
        return self.latitude + north / scale_north, wrapped

    def stretch(self, latitude: Array, height: Array) -> tuple[Array, Array]:
        """True metres per scaled metre, north and east, at a place.

        Args:
            latitude: rad.
            height: Height above the ellipsoid, m.

        Returns:
            Factors north and east.
        """
        scale_north, scale_east = self.scale
        meridian, prime = radii(latitude)
        return (meridian + height) / scale_north, ((prime + height) * np.cos(latitude) / scale_east)


def inertial_terms(latitude: Array, height: Array, velocity_ned: Array) -> Array:
    """Coriolis and transport acceleration to add to the rate of change of NED velocity.

    Args:
        latitude: rad, shape (...).
        height: m, shape (...).
        velocity_ned: m/s, shape (..., 3).

    Returns:
        Acceleration, m/s^2, shape (..., 3): specific force = d(velocity)/dt + this - gravity.

    Source: Groves, Principles of GNSS, Inertial and Multisensor Integrated Navigation Systems,
    2nd ed. (2013), eq. 5.53 (`(omega_en + 2 omega_ie) x v`).
    """
    meridian, prime = radii(latitude)
    north, east, down = velocity_ned[..., 0], velocity_ned[..., 1], velocity_ned[..., 2]
    sine, cosine = np.sin(latitude), np.cos(latitude)
    turn_north = east / (prime + height) + 2.0 * EARTH_RATE * cosine
    turn_east = -north / (meridian + height)
    turn_down = -east * sine / (cosine * (prime + height)) - 2.0 * EARTH_RATE * sine
    return np.stack(
        [
            turn_east * down - turn_down * east,
            turn_down * north - turn_north * down,
            turn_north * east - turn_east * north,
        ],
        axis=-1,
    )
