"""The nearest flight of each cause as a reader knows a flight: altitude, airspeed, pitch."""

from __future__ import annotations

import numpy as np

from neutralpoint.earth.airspeed import cas_from_mach, mach_from_tas
from neutralpoint.earth.atmosphere import pressure, temperature
from neutralpoint.numerics.arrays import Array
from neutralpoint.study.weighing.work_out import Weighing
from neutralpoint.vocabulary import QUANTITIES


def nearest_flights(found: Weighing) -> dict[str, tuple]:
    """What `weighing.nc` holds of the nearest flights.

    Args:
        found: What was found.

    Returns:
        Variables over cause and time. The flights start at a pressure altitude; people are shown
        the height above mean sea level that belongs to it.
    """
    best = [near.best for near in found.predictive.values()]
    speed, height = (np.stack([b[name] for b in best]) for name in ("true_airspeed", "altitude"))
    values = {
        "altitude": height + found.height_offset,
        "calibrated_airspeed": calibrated(speed, height, found),
        "pitch_angle": np.stack([b["pitch"] for b in best]),
    }
    return {
        name: (
            ("cause", "time"),
            value.astype(np.float32),
            {"units": QUANTITIES[name].udunits, "long_name": QUANTITIES[name].title},
        )
        for name, value in values.items()
    }


def air_temperature(pressure_altitude: Array, found: Weighing) -> Array:
    """Temperature of the air that the flights fly in.

    Args:
        pressure_altitude: m, any shape.
        found: Gives the offset from standard at the start.

    Returns:
        K, same shape.
    """
    return temperature(pressure_altitude) + found.start.temperature_offset


def calibrated(speed: Array, pressure_altitude: Array, found: Weighing) -> Array:
    """Calibrated airspeed of a flight.

    Args:
        speed: True airspeed, m/s, any shape.
        pressure_altitude: m, same shape.
        found: Gives the temperature of the air.

    Returns:
        m/s, same shape.

    Source: US Standard Atmosphere 1976 with the temperature offset of the start; the definition
    of calibrated airspeed, 14 CFR 1.1.
    """
    mach = mach_from_tas(speed, air_temperature(pressure_altitude, found))
    return cas_from_mach(mach, pressure(pressure_altitude))
