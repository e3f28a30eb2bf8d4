"""Height above mean sea level from pressure altitude, temperature and altimeter setting."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from neutralpoint.earth import atmosphere
from neutralpoint.earth.weather import Weather
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import EARTH_RADIUS
from neutralpoint.track import Track

SPACING = 25.0  # m, of the integral
PER_PASCAL = 1.0 / (1.225 * 9.80665)  # m of height, ISO 2533 at sea level


def mean_sea_level_height(
    pressure_altitude: Array, weather: Weather, altimeter_setting: float
) -> Array:
    """Geometric height above mean sea level.

    Args:
        pressure_altitude: m, any shape.
        weather: Temperature profile against pressure altitude.
        altimeter_setting: Pressure reduced to mean sea level (QNH), Pa.

    Returns:
        Height, m, same shape.

    Source: hypsometric equation, dZ = (T/T_standard) dH in pressure altitude; geopotential to
    geometric height by Z = H R/(R - H), ISO 2533 eq. 8.
    Valid: the altimeter setting rests on a station near sea level, or the height is used for
    differences only.
    """
    low = float(atmosphere.pressure_altitude(np.asarray(altimeter_setting)))
    top = max(float(np.nanmax(pressure_altitude)), low + SPACING) + SPACING
    bottom = min(float(np.nanmin(pressure_altitude)), low) - SPACING
    grid = np.arange(bottom, top + SPACING, SPACING)
    standard = atmosphere.temperature(grid)
    deviation = np.interp(
        grid, weather.altitude, weather.temperature - atmosphere.temperature(weather.altitude)
    )
    ratio = 1.0 + deviation / standard
    steps = 0.5 * (ratio[1:] + ratio[:-1]) * np.diff(grid)
    height = np.concatenate([[0.0], np.cumsum(steps)])
    height -= np.interp(low, grid, height)
    geopotential = np.interp(pressure_altitude, grid, height)
    return geopotential * EARTH_RADIUS / (EARTH_RADIUS - geopotential)


def height_error(
    rng: np.random.Generator, samples: int, height: Array, weather: Weather, setting_sigma: float
) -> Array:
    """What heights above the sea are off by: the setting, and warmth below that nobody measured.

    Args:
        rng: Source of random numbers.
        samples: Number of paths, S.
        height: Above mean sea level, m, shape (S, m).
        weather: Temperature profile with its error.
        setting_sigma: Standard deviation of the altimeter setting, Pa.

    Returns:
        m, shape (S, m): one error of the setting a path, and one of the mean temperature of the
        column, which counts with its height.

    Source: hypsometric equation; the mean over a column H of an error with correlation
    exp(-distance/L) has 2 (x - 1 + exp(-x))/x^2 of its variance, x = H/L.
    """
    setting, warmth = rng.standard_normal((2, samples, 1))
    column = np.maximum(height, 0.0)
    x = np.maximum(column / weather.height_scale, 1e-3)
    share = np.sqrt(2.0 * (x - 1.0 + np.exp(-x)) / x**2)
    warmth_sigma = float(np.asarray(weather.sigma_temperature).mean())
    sigma = warmth_sigma * share / atmosphere.temperature(0.5 * column)
    return PER_PASCAL * setting_sigma * setting + column * sigma * warmth


def static_shift(velocity: Array, error: Array) -> Array:
    """Altitude that the static source adds.

    Args:
        velocity: Speed of each path, m/s, shape (S, m).
        error: Reading less true pressure altitude at the usual speed, m, shape (S,).

    Returns:
        m, shape (S, m).

    Source: a position error is a share of the dynamic pressure, which grows with the square of
    the speed; the usual speed is the median of the record.
    """
    return error[:, None] * (velocity / np.median(velocity)) ** 2


def height_ratio(pressure_altitude: Array, *, weather: Weather) -> Array:
    """Rate of geometric height per rate of pressure altitude.

    Args:
        pressure_altitude: m, any shape.
        weather: Temperature profile.

    Returns:
        Ratio, same shape.

    Source: as `mean_sea_level_height`.
    """
    _, _, temperature = weather.at(pressure_altitude)
    standard = atmosphere.temperature(pressure_altitude)
    return temperature / standard * (1.0 + pressure_altitude / EARTH_RADIUS) ** 2


def in_pressure_altitude(
    track: Track, weather: Weather, altimeter_setting: float, geoid_height: float
) -> Track:
    """A track that has pressure altitudes, made from the geometric ones where it has none.

    Args:
        track: The record, with one kind of altitude.
        weather: Temperature profile.
        altimeter_setting: Pressure reduced to mean sea level, Pa.
        geoid_height: Of the geoid above the ellipsoid, m.

    Returns:
        The record.

    Source: height above mean sea level is ellipsoidal height less geoid height (NIMA TR8350.2,
    chapter 6).
    """
    if track.pressure_altitude is not None or track.geometric_altitude is None:
        return track
    seen = track.geometric_altitude
    above_sea = seen.value - geoid_height
    reach = 0.2 * np.ptp(above_sea) + 3000.0
    grid = np.arange(above_sea.min() - reach, above_sea.max() + reach, SPACING)
    height = mean_sea_level_height(grid, weather, altimeter_setting)
    value = np.interp(above_sea, height, grid)
    ratio = float(np.median(height_ratio(value, weather=weather)))
    steps = None if seen.steps is None else seen.steps / ratio
    moved = replace(seen, value=value, step=seen.step / ratio, steps=steps)
    return replace(track, pressure_altitude=moved)
