"""What is measured in every flight of a history: one entry each, from the array to the page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from neutralpoint.vocabulary.quantity import (
    FEET,
    FEET_PER_MINUTE,
    GEES,
    KNOTS,
    THOUSANDTHS,
    ReaderUnit,
)

SECONDS = ReaderUnit("s", decimals=1)
PER_HOUR = ReaderUnit("per hour", 1.0 / 3600.0, 2)
FEET_PER_MINUTE_PER_SECOND = ReaderUnit("ft/min per s", FEET_PER_MINUTE.factor, 2)
KNOTS_PER_SECOND = ReaderUnit("kt/s", KNOTS.factor, 2)


@dataclass(frozen=True)
class Measure:
    """One number of a flight.

    Attributes:
        name: In files and on the command line.
        title: As printed.
        unit: SI; `1` for a ratio.
        shown: The unit in which people read it.
        positive: Whether it is compared by its logarithm, for it is positive and skew.
        side: Which values are unusual: 1 high ones, -1 low ones, 0 both. A spectrum without a peak,
            a flight that holds its level better, a lesser extreme speak of nothing.
    """

    name: str
    title: str
    unit: str
    shown: ReaderUnit
    positive: bool = False
    side: Literal[-1, 0, 1] = 0


PHASES = ("climb", "cruise", "descent")


def _oscillation(phase: str) -> tuple[Measure, ...]:
    said = f"vertical-speed oscillation in {phase}"
    return (
        Measure(f"{phase}_excess", f"{said}: peak over the spectrum around it (ln)", "1",
                THOUSANDTHS, side=1),
        Measure(f"{phase}_amplitude", f"{said}: amplitude", "m/s", FEET_PER_MINUTE,
                side=1),
        Measure(f"{phase}_period", f"{said}: period", "s", SECONDS, positive=True),
        Measure(f"{phase}_damping", f"{said}: damping ratio", "1", THOUSANDTHS),
    )  # fmt: skip


_ALL: tuple[Measure, ...] = (
    Measure("trimmed_share", "share of the flight that is trimmed", "1", THOUSANDTHS),
    Measure("trimmed_longest", "longest trimmed stretch", "s", SECONDS, positive=True),
    Measure("trim_speed", "ground speed in trimmed flight", "m/s", KNOTS),
    *(measure for phase in PHASES for measure in _oscillation(phase)),
    Measure("altitude_hunting", "height about the level held", "m", FEET, positive=True,
            side=1),
    Measure("creep", "drift of the vertical speed in level flight", "m/s^2",
            FEET_PER_MINUTE_PER_SECOND, positive=True, side=1),
    Measure("climb_rate", "rate of climb against speed, height and temperature", "m/s",
            FEET_PER_MINUTE),
    Measure("climb_power", "specific excess power in climb", "m/s", FEET_PER_MINUTE),
    Measure("descent_power", "specific excess power in descent", "m/s", FEET_PER_MINUTE),
    Measure("load_high", "highest load factor", "1", GEES, side=1),
    Measure("load_low", "lowest load factor", "1", GEES, side=-1),
    Measure("event_rate", "departures from a level held and returned to", "1/s", PER_HOUR,
            side=1),
    Measure("end_rate", "vertical speed in the last minute", "m/s", FEET_PER_MINUTE),
    Measure("end_speed_change", "rate of change of ground speed in the last minute", "m/s^2",
            KNOTS_PER_SECOND),
    Measure("rate_bias", "vertical rate less the rate of the altitude", "m/s", FEET_PER_MINUTE),
    Measure("rate_lag", "lag of the vertical rate behind the altitude", "s", SECONDS),
)  # fmt: skip
MEASURES: dict[str, Measure] = {measure.name: measure for measure in _ALL}
