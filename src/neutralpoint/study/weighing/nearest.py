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
        Variables over cause and time. The flights' height is that of the motion above mean sea
        level; the calibrated airspeed is that of the airspeed flown in the air of the start.
    """
    best = [near.best for near in found.predictive.values()]
    speed, height = (np.stack([b[name] for b in best]) for name in ("true_airspeed", "altitude"))
    values = {
        "altitude": height,
        "calibrated_airspeed": _calibrated(speed, height - found.height_offset, found),
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


def _calibrated(speed: Array, pressure_altitude: Array, found: Weighing) -> Array:
    """Calibrated airspeed, m/s.

    Source: US Standard Atmosphere 1976 with the temperature offset of the start; the definition
    of calibrated airspeed, 14 CFR 1.1.
    """
    air = temperature(pressure_altitude) + found.start.temperature_offset
    return cas_from_mach(mach_from_tas(speed, air), pressure(pressure_altitude))
