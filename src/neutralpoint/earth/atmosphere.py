"""The standard atmosphere against pressure altitude, and the gas law for air that is not standard.

Pressure altitude is a pressure in other words: the geopotential height at which the standard
atmosphere has it. Real temperature is always given separately.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import (
    GAS_CONSTANT,
    GRAVITY,
    HEAT_RATIO,
    SEA_LEVEL_PRESSURE,
    SEA_LEVEL_TEMPERATURE,
)

# US Standard Atmosphere 1976, table 4 (bases, lapse).
LOWEST = -5000.0  # m, where the tables of the same standard begin
HIGHEST = 84852.0  # m, top of the last layer
_BASE = np.array([0.0, 11e3, 20e3, 32e3, 47e3, 51e3, 71e3])  # m
_LAPSE = np.array([-6.5e-3, 0.0, 1e-3, 2.8e-3, 0.0, -2.8e-3, -2e-3])  # K/m
_BASE_TEMPERATURE = SEA_LEVEL_TEMPERATURE + np.concatenate(
    [[0.0], np.cumsum(_LAPSE[:-1] * np.diff(_BASE))]
)
_HEIGHTS = np.concatenate([[LOWEST], _BASE, [HIGHEST]])
_TEMPERATURES = np.concatenate(
    [
        [SEA_LEVEL_TEMPERATURE + _LAPSE[0] * LOWEST],
        _BASE_TEMPERATURE,
        [_BASE_TEMPERATURE[-1] + _LAPSE[-1] * (HIGHEST - _BASE[-1])],
    ]
)
_SLOPED = _LAPSE != 0.0
_SAFE_LAPSE = np.where(_SLOPED, _LAPSE, 1.0)
_EXPONENT = np.where(_SLOPED, -GRAVITY / (GAS_CONSTANT * _SAFE_LAPSE), 0.0)
_DECAY = np.where(_SLOPED, 0.0, GRAVITY / (GAS_CONSTANT * _BASE_TEMPERATURE))  # 1/m


def _base_pressures() -> Array:
    """Pressure at the base of each layer, Pa, by the law of the layer below."""
    pressures = [SEA_LEVEL_PRESSURE]
    for i in range(_BASE.size - 1):
        ratio = (_BASE_TEMPERATURE[i + 1] / _BASE_TEMPERATURE[i]) ** _EXPONENT[i]
        fall = np.exp(-_DECAY[i] * (_BASE[i + 1] - _BASE[i]))
        pressures.append(pressures[-1] * float(ratio * fall))
    return np.array(pressures)


_BASE_PRESSURE = _base_pressures()


def temperature(pressure_altitude: ArrayLike) -> Array:
    """Standard temperature.

    Args:
        pressure_altitude: m, any shape.

    Returns:
        K, same shape.

    Valid: -5 to 84.852 km; outside, the end value is held.
    Source: US Standard Atmosphere 1976, eq. 23 and table 4.
    Checked against: tests/against/test_atmosphere.py (tables; a reference library).
    """
    return np.interp(np.asarray(pressure_altitude, float), _HEIGHTS, _TEMPERATURES)


def pressure(pressure_altitude: ArrayLike) -> Array:
    """Pressure at a pressure altitude.

    Args:
        pressure_altitude: m, any shape.

    Returns:
        Pa, same shape.

    Valid: -5 to 84.852 km; outside, the end value is held.
    Source: US Standard Atmosphere 1976, eq. 33a (sloped layers) and 33b (isothermal layers).
    Checked against: tests/against/test_atmosphere.py (tables; a reference library).
    """
    height = np.clip(np.asarray(pressure_altitude, float), LOWEST, HIGHEST)
    layer = np.searchsorted(_BASE[1:], height, side="right")
    ratio = temperature(height) / _BASE_TEMPERATURE[layer]
    fall = np.exp(-_DECAY[layer] * (height - _BASE[layer]))
    return _BASE_PRESSURE[layer] * ratio ** _EXPONENT[layer] * fall


_LOWEST_PRESSURE = float(pressure(HIGHEST))
_HIGHEST_PRESSURE = float(pressure(LOWEST))


def pressure_altitude(pressure: ArrayLike) -> Array:
    """Pressure altitude of a pressure, the inverse of `pressure`.

    Args:
        pressure: Pa, any shape.

    Returns:
        m, same shape.

    Valid: -5 to 84.852 km; outside, the end value is held.
    Source: US Standard Atmosphere 1976, eq. 33a and 33b solved for height.
    Checked against: tests/against/test_atmosphere.py; round trip in tests/unit/test_earth.py.
    """
    value = np.clip(np.asarray(pressure, float), _LOWEST_PRESSURE, _HIGHEST_PRESSURE)
    layer = np.searchsorted(-_BASE_PRESSURE[1:], -value, side="right")
    logarithm = np.log(value / _BASE_PRESSURE[layer])
    lapse, base = _SAFE_LAPSE[layer], _BASE_TEMPERATURE[layer]
    sloped = base / lapse * np.expm1(-GAS_CONSTANT * lapse / GRAVITY * logarithm)
    level = -GAS_CONSTANT * base / GRAVITY * logarithm
    return _BASE[layer] + np.where(_SLOPED[layer], sloped, level)


def density(pressure: ArrayLike, temperature: ArrayLike) -> Array:
    """Density of dry air.

    Args:
        pressure: Pa, any shape.
        temperature: K, same shape.

    Returns:
        kg/m3, same shape.

    Valid: dry air; saturated air at 30 C is 1.6% lighter.
    Source: perfect gas law, US Standard Atmosphere 1976, eq. 42.
    Checked against: tests/against/test_atmosphere.py.
    """
    return np.asarray(pressure, float) / (GAS_CONSTANT * np.asarray(temperature, float))


def speed_of_sound(temperature: ArrayLike) -> Array:
    """Speed of sound in dry air.

    Args:
        temperature: K, any shape.

    Returns:
        m/s, same shape.

    Source: US Standard Atmosphere 1976, eq. 50.
    Checked against: tests/against/test_atmosphere.py.
    """
    return np.sqrt(HEAT_RATIO * GAS_CONSTANT * np.asarray(temperature, float))


SEA_LEVEL_SOUND_SPEED = float(speed_of_sound(SEA_LEVEL_TEMPERATURE))  # m/s
