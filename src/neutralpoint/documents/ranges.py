"""The physical range of every quantity that a case or airplane file may hold: one table.

A value outside is refused with the range, and the reference pages print the same numbers. They are
wide: what lies outside is a slip of the unit or of the keyboard, not an unusual airplane.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

DEGREE = math.pi / 180.0


@dataclass(frozen=True)
class Range:
    """What a kind of quantity may be.

    Attributes:
        unit: SI unit it is kept in; empty for a pure number.
        low: Least value, in `shown`.
        high: Greatest value, in `shown`; what follows `+-` may be up to `high - low`.
        shown: Unit that the range is printed in.
        factor: SI units in one of `shown`.
        source: Why there.
        difference: Whether only differences count, as with temperature errors: `2 degC` is 2 K.
    """

    unit: str
    low: float
    high: float
    source: str
    shown: str = ""
    factor: float = 1.0
    difference: bool = False

    def words(self) -> str:
        """The range as it is printed, such as `-500 m to 30000 m`."""
        name = f" {self.shown or self.unit}".rstrip()
        return f"{self.low:.10g}{name} to {self.high:.10g}{name}"

    def holds(self, value: float, sigma: float) -> bool:
        """Whether a value and its standard deviation, SI, lie inside."""
        slack = 1.0 + 1e-9  # of a unit that is converted
        low, high = self.low * self.factor, self.high * self.factor
        within = low - abs(low) * (slack - 1.0) <= value <= high + abs(high) * (slack - 1.0)
        return within and 2.0 * sigma <= (high - low) * slack


_SIZE = "analyst's estimate: the largest airplanes are below 100 m and 700 t"
_FORCE = "analyst's estimate: a hundred times what a hand gives, and any engine"
RANGES: dict[str, Range] = {
    "height": Range(
        "m", -500.0, 30000.0, "the lowest shore lies at -430 m (from memory); analyst's estimate"
    ),
    "station": Range("m", -150.0, 150.0, _SIZE),
    "undulation": Range("m", -150.0, 150.0, "EGM96 geoid: -107 m to 85 m (NIMA TR8350.2)"),
    "altimeter error": Range("m", -1000.0, 1000.0, "analyst's estimate"),
    "place error": Range("m", 0.0, 100000.0, "analyst's estimate"),
    "area": Range("m2", 0.0, 2000.0, _SIZE),
    "mass": Range("kg", 0.0, 1e6, _SIZE),
    "fuel flow": Range(
        "kg/s", 0.0, 50.0, "analyst's estimate: four of the largest engines burn 15 kg/s"
    ),
    "inertia": Range("kg m2", -1e9, 1e9, _SIZE),
    "angle": Range("rad", -360.0, 360.0, "a turn either way", "deg", DEGREE),
    "angle rate": Range("rad/s", -360.0, 360.0, "analyst's estimate", "deg/s", DEGREE),
    "rotation": Range(
        "rad/s",
        0.0,
        100000.0,
        "analyst's estimate: any propeller or turbine",
        "rpm",
        math.pi / 30.0,
    ),
    "frequency": Range("Hz", 20.0, 20000.0, "what is heard"),
    "gearing": Range("rad/m", -100.0, 100.0, "analyst's estimate"),
    "force": Range("N", -1e6, 1e6, _FORCE),
    "force per angle": Range("N/rad", -1e6, 1e6, _FORCE),
    "feel": Range("N/rad/Pa", -1e3, 1e3, _FORCE),
    "moment": Range("N m", -1e7, 1e7, _FORCE),
    "power": Range("W", 0.0, 5e4, "analyst's estimate", "kW", 1000.0),
    "pressure": Range(
        "Pa", 850.0, 1100.0, "WMO extremes at sea level: 870 hPa and 1084 hPa", "hPa", 100.0
    ),
    "speed": Range("m/s", 0.0, 1000.0, "analyst's estimate"),
    "wind": Range("m/s", 0.0, 150.0, "jet streams stay below 130 m/s (from memory)"),
    "wind error": Range("m/s", 0.0, 100.0, "analyst's estimate"),
    "temperature": Range(
        "K",
        150.0,
        345.0,
        "analyst's estimate: the coldest mesosphere and the hottest ground, with room",
    ),
    "temperature error": Range("K", 0.0, 50.0, "analyst's estimate", difference=True),
    "temperature deviation": Range("K", -80.0, 80.0, "analyst's estimate", difference=True),
    "position age": Range("s", -10.0, 60.0, "analyst's estimate: a radar turns in 12 s at most"),
    "zone": Range("s", -24.0, 24.0, "time zones reach 14 h; analyst's estimate", "h", 3600.0),
    "clock offset": Range("s", -3660.0, 3660.0, "ten years; analyst's estimate", "d", 86400.0),
    "time error": Range("s", 0.0, 24.0, "analyst's estimate", "h", 3600.0),
    "reaction": Range("s", 0.0, 600.0, "analyst's estimate"),
    "number": Range("", -1000.0, 1000.0, "analyst's estimate"),
    "lift slope": Range("", 0.5, 12.0, "2 pi is that of thin sections; analyst's estimate"),
    "maximum lift": Range("", 0.1, 6.0, "analyst's estimate"),
    "aspect ratio": Range("", 0.2, 60.0, "analyst's estimate: gliders reach 50"),
}
FIRST_YEAR, LAST_YEAR = 1950, 2100  # of any date: the first radar recordings, and to come
