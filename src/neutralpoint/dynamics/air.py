"""The air a flight goes through: gravity, pressure and temperature against height, wind.

A JAX twin of `earth.atmosphere` and `earth.weather`, reduced to what one flight of minutes needs:
one lapse rate up to a tropopause, and wind linear between a few heights.
"""

from __future__ import annotations

from dataclasses import dataclass

import jax
import jax.numpy as jnp
import numpy as np
from jax import Array

from neutralpoint.dynamics.vectors import Scalar, Vector
from neutralpoint.quantities import (
    ECCENTRICITY_SQUARED,
    EQUATOR_GRAVITY,
    EQUATOR_RADIUS,
    GAS_CONSTANT,
    GEOPOTENTIAL_RADIUS,
    GRAVITY,
    HEAT_RATIO,
    LAPSE_RATE,
    SEA_LEVEL_PRESSURE,
    SEA_LEVEL_TEMPERATURE,
    SOMIGLIANA,
    TROPOPAUSE,
)


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Air:
    """One column of air over the origin of the local frame (height 0 at down = 0).

    Args:
        gravity: At height 0, m/s2.
        radius: Mean radius of curvature of the earth at the origin, m.
        temperature: At height 0, K.
        pressure: At height 0, Pa.
        lapse: Fall of temperature with geopotential height below the tropopause, K/m.
        tropopause: Geopotential height where the lapse ends, m.
        wind_height: (k,) heights of the wind values, m, rising.
        wind_north: (k,) velocity of the air towards north, m/s; constant outside the heights.
        wind_east: (k,) towards east, m/s.
        wind_down: Downdraught, m/s.
    """

    gravity: Scalar
    radius: Scalar
    temperature: Scalar
    pressure: Scalar
    lapse: Scalar
    tropopause: Scalar
    wind_height: Array
    wind_north: Array
    wind_east: Array
    wind_down: Scalar


def make_air(
    *,
    latitude: float = np.pi / 4,
    temperature_offset: Scalar = 0.0,
    pressure: float = SEA_LEVEL_PRESSURE,
    wind_height: np.ndarray | tuple = (0.0,),
    wind_north: np.ndarray | tuple = (0.0,),
    wind_east: np.ndarray | tuple = (0.0,),
    wind_down: float = 0.0,
) -> Air:
    """Standard air with an offset of temperature, over a place, with a wind profile.

    Source: gravity, Somigliana's formula on WGS 84, NIMA TR8350.2 (2000), eq. 4-1; radius, the
    geometric mean of the principal radii of curvature, same document section 7.

    Args:
        latitude: Geodetic, rad.
        temperature_offset: From standard, K, the same at all heights.
        pressure: At height 0, Pa.
        wind_height: (k,) m.
        wind_north: (k,) m/s.
        wind_east: (k,) m/s.
        wind_down: m/s.

    Returns:
        The column.
    """
    s2 = np.sin(latitude) ** 2
    # One factor serves both: the denominator of Somigliana's formula, and the curvature of the
    # ellipsoid there.
    root = np.sqrt(1.0 - ECCENTRICITY_SQUARED * s2)
    return Air(
        gravity=EQUATOR_GRAVITY * (1.0 + SOMIGLIANA * s2) / root,
        radius=EQUATOR_RADIUS * np.sqrt(1.0 - ECCENTRICITY_SQUARED) / root**2,
        # The same offset at all heights: lapse rate and tropopause stay those of the standard.
        temperature=SEA_LEVEL_TEMPERATURE + temperature_offset,
        pressure=pressure,
        lapse=LAPSE_RATE,
        tropopause=TROPOPAUSE,
        wind_height=jnp.asarray(wind_height, float),
        wind_north=jnp.asarray(wind_north, float),
        wind_east=jnp.asarray(wind_east, float),
        wind_down=wind_down,
    )


def gas(air: Air, height: Scalar) -> tuple[Scalar, Scalar, Scalar]:
    """Density, pressure and temperature at a height.

    Source: US Standard Atmosphere 1976, eq. 33a, 33b and 18, with the geopotential height to second
    order. Valid: -2 to 20 km. Checked against: tests/against/test_dynamics_air.py.

    Args:
        air: The column.
        height: Above the surface of reference, m.

    Returns:
        kg/m3, Pa, K.
    """
    # To second order: at 20 km the next term is 0.2 m.
    geopotential = height * (1.0 - height / GEOPOTENTIAL_RADIUS)
    below = jnp.minimum(geopotential, air.tropopause)
    temperature = air.temperature - air.lapse * below
    exponent = GRAVITY / GAS_CONSTANT
    # Both laws in one expression: above the tropopause `below` stands still and the second term
    # takes over.
    pressure = air.pressure * jnp.exp(
        exponent / air.lapse * jnp.log(temperature / air.temperature)
        - exponent * (geopotential - below) / temperature
    )
    return pressure / (GAS_CONSTANT * temperature), pressure, temperature


def speed_of_sound(temperature: Scalar) -> Scalar:
    """Speed of sound in dry air. Source: US Standard Atmosphere 1976, eq. 50.

    Args:
        temperature: K.

    Returns:
        m/s.
    """
    return jnp.sqrt(HEAT_RATIO * GAS_CONSTANT * temperature)


def wind(air: Air, height: Scalar) -> Vector:
    """Velocity of the air: linear between the heights of the profile, constant outside.

    Args:
        air: The column.
        height: m.

    Returns:
        North, east, down, m/s.
    """
    north, east = air.wind_north[0], air.wind_east[0]
    # Written out when compiling: a profile has a handful of heights, and a search would gather.
    for i in range(len(air.wind_height) - 1):
        layer = air.wind_height[i + 1] - air.wind_height[i]
        share = jnp.clip((height - air.wind_height[i]) / layer, 0.0, 1.0)
        north = north + share * (air.wind_north[i + 1] - air.wind_north[i])
        east = east + share * (air.wind_east[i + 1] - air.wind_east[i])
    return north, east, air.wind_down


def height_above(air: Air, north: Scalar, east: Scalar, down: Scalar) -> Scalar:
    """Height above the curved surface of a point of the flat local frame.

    Source: drop of the tangent plane to second order, distance^2 / 2R. Valid: within 50 km of the
    origin, to 2 m (ellipsoid against mean radius: 0.34% of the 196 m drop, times two).
    Checked against: tests/against/test_dynamics_air.py.

    Args:
        air: Gives the radius.
        north: m.
        east: m.
        down: m.

    Returns:
        m.
    """
    return -down + (north * north + east * east) / (2.0 * air.radius)


def gravity_ned(air: Air, north: Scalar, east: Scalar, height: Scalar) -> Vector:
    """Gravity in the flat local frame, m/s2: falls with height, leans with distance.

    Source: free air, g (1 - 2h/R), and the plumb line's turn of distance / R, both to first order.
    The earth's rotation enters gravity only; Coriolis acceleration (below 1.5e-4 of the speed per
    second) is left out.

    Args:
        air: Gives gravity at height 0 and the radius.
        north: m.
        east: m.
        height: m.

    Returns:
        North, east, down, m/s2.
    """
    # Twice the height, because weight falls with the square of the distance from the center.
    g = air.gravity * (1.0 - 2.0 * height / air.radius)
    lean = -g / air.radius
    return lean * north, lean * east, g
