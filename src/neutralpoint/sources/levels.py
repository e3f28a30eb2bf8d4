"""The air as readers find it: wind and temperature at levels of pressure altitude."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from neutralpoint.numerics.arrays import Floats


@dataclass(frozen=True)
class AirLevels:
    """Wind and temperature at levels, NaN where a level holds none.

    Attributes:
        altitude: Pressure altitude, m, shape (k,).
        wind_north: Component blowing towards north, m/s, shape (k,).
        wind_east: Component blowing towards east, m/s, shape (k,).
        temperature: Static temperature, K, shape (k,).
        valid: UTC time of the observation or forecast; None where unknown.
    """

    altitude: Floats
    wind_north: Floats
    wind_east: Floats
    temperature: Floats
    valid: datetime | None = None
