"""Conversions between true, equivalent and calibrated airspeed and Mach number.

Calibrated airspeed (CAS) is what a perfect pitot-static system shows: an impact pressure in other
words. Above Mach 1 the impact pressure is the one behind a normal shock.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neutralpoint.earth.atmosphere import SEA_LEVEL_SOUND_SPEED, speed_of_sound
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import SEA_LEVEL_DENSITY, SEA_LEVEL_PRESSURE

SONIC_RATIO = 1.2**3.5 - 1.0  # impact over static pressure at Mach 1, exact for gamma = 1.4
_SHOCK = 1.2**3.5 * 6.0**2.5  # 166.92 in the Rayleigh pitot formula
_SUPERSONIC_STEPS = 8  # Newton steps; from the Mach 1 value enough for rounding error to Mach 3


def _subsonic_ratio(mach: Array) -> Array:
    return (1.0 + 0.2 * mach**2) ** 3.5 - 1.0


def _supersonic_ratio(mach: Array) -> Array:
    return _SHOCK * mach**7 / (7.0 * mach**2 - 1.0) ** 2.5 - 1.0


def _supersonic_mach(ratio: Array) -> Array:
    """Newton's method on the logarithm of the Rayleigh pitot formula, started at its large end."""
    mach = np.sqrt((ratio + 1.0) * 7.0**2.5 / _SHOCK)
    for _ in range(_SUPERSONIC_STEPS):
        excess = np.log((_supersonic_ratio(mach) + 1.0) / (ratio + 1.0))
        slope = 7.0 / mach - 35.0 * mach / (7.0 * mach**2 - 1.0)
        mach = np.maximum(mach - excess / slope, 1.0)
    return mach


def pressure_ratio_from_mach(mach: ArrayLike) -> Array:
    """Impact pressure over static pressure.

    Args:
        mach: Mach number, any shape, not negative.

    Returns:
        Ratio, same shape.

    Valid: air with ratio of specific heats 1.4; Mach below 3.
    Source: isentropic flow below Mach 1; Rayleigh pitot formula above, NACA Report 1135 (1953),
    eq. 44 and 100.
    Checked against: tests/against/test_airspeed.py.
    """
    mach = np.asarray(mach, float)
    ratio = _subsonic_ratio(mach)
    fast = mach > 1.0
    if np.any(fast):
        ratio = np.where(fast, _supersonic_ratio(np.maximum(mach, 1.0)), ratio)
    return ratio


def mach_from_pressure_ratio(ratio: ArrayLike) -> Array:
    """Mach number from impact pressure over static pressure.

    Args:
        ratio: Any shape, not negative.

    Returns:
        Mach number, same shape.

    Valid: Mach below 3.
    Source: inverse of `pressure_ratio_from_mach`.
    Checked against: round trip in tests/unit/test_earth.py.
    """
    ratio = np.asarray(ratio, float)
    mach = np.sqrt(5.0 * np.expm1(np.log1p(ratio) / 3.5))
    fast = ratio > SONIC_RATIO
    if np.any(fast):
        mach = np.where(fast, _supersonic_mach(np.maximum(ratio, SONIC_RATIO)), mach)
    return mach


def mach_from_tas(true_airspeed: ArrayLike, temperature: ArrayLike) -> Array:
    """Mach number from true airspeed.

    Args:
        true_airspeed: m/s, any shape.
        temperature: Static air temperature, K, same shape.

    Returns:
        Mach number, same shape.

    Source: definition.
    Checked against: tests/against/test_airspeed.py.
    """
    return np.asarray(true_airspeed, float) / speed_of_sound(temperature)


def tas_from_mach(mach: ArrayLike, temperature: ArrayLike) -> Array:
    """True airspeed from Mach number.

    Args:
        mach: Any shape.
        temperature: Static air temperature, K, same shape.

    Returns:
        m/s, same shape.

    Source: definition.
    Checked against: tests/against/test_airspeed.py.
    """
    return np.asarray(mach, float) * speed_of_sound(temperature)


def cas_from_mach(mach: ArrayLike, pressure: ArrayLike) -> Array:
    """Calibrated airspeed from Mach number.

    Args:
        mach: Any shape.
        pressure: Static pressure, Pa, same shape.

    Returns:
        m/s, same shape.

    Source: definition of calibrated airspeed, 14 CFR 1.1: equal to true airspeed in standard air at
    sea level; the same impact pressure at sea-level static pressure.
    Checked against: tests/against/test_airspeed.py.
    """
    impact = pressure_ratio_from_mach(mach) * np.asarray(pressure, float)
    return SEA_LEVEL_SOUND_SPEED * mach_from_pressure_ratio(impact / SEA_LEVEL_PRESSURE)


def mach_from_cas(calibrated_airspeed: ArrayLike, pressure: ArrayLike) -> Array:
    """Mach number from calibrated airspeed.

    Args:
        calibrated_airspeed: m/s, any shape.
        pressure: Static pressure, Pa, same shape.

    Returns:
        Mach number, same shape.

    Source: inverse of `cas_from_mach`.
    Checked against: tests/against/test_airspeed.py.
    """
    sea_level_mach = np.asarray(calibrated_airspeed, float) / SEA_LEVEL_SOUND_SPEED
    impact = pressure_ratio_from_mach(sea_level_mach) * SEA_LEVEL_PRESSURE
    return mach_from_pressure_ratio(impact / np.asarray(pressure, float))


def tas_from_cas(
    calibrated_airspeed: ArrayLike, pressure: ArrayLike, temperature: ArrayLike
) -> Array:
    """True airspeed from calibrated airspeed.

    Args:
        calibrated_airspeed: m/s, any shape.
        pressure: Static pressure, Pa, same shape.
        temperature: Static air temperature, K, same shape.

    Returns:
        m/s, same shape.

    Source: `mach_from_cas`, then `tas_from_mach`.
    Checked against: tests/against/test_airspeed.py.
    """
    return tas_from_mach(mach_from_cas(calibrated_airspeed, pressure), temperature)


def eas_from_tas(true_airspeed: ArrayLike, density: ArrayLike) -> Array:
    """Equivalent airspeed: the speed with the same dynamic pressure at sea level.

    Args:
        true_airspeed: m/s, any shape.
        density: Air density, kg/m3, same shape.

    Returns:
        m/s, same shape.

    Source: definition, 14 CFR 1.1.
    Checked against: tests/against/test_airspeed.py.
    """
    ratio = np.asarray(density, float) / SEA_LEVEL_DENSITY
    return np.asarray(true_airspeed, float) * np.sqrt(ratio)
