"""Which limits of the airplane the flight passed, in numbers."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.part import Fraction, Part
from neutralpoint.findings.signatures import Banded90
from neutralpoint.vocabulary.limit import LimitName

LimitQuantity = Literal[
    "calibrated_airspeed", "equivalent_airspeed", "mach", "normal_load_factor", "stall_margin"
]
# Why a limit was not looked at.
NotLookedAt = Literal["not-stated", "configuration-unknown", "up"]


class LimitRow(Part):
    """One limit against the sample paths; SI and rad."""

    limit: LimitName
    quantity: LimitQuantity
    value: float
    above: bool = Field(description="Whether values above it pass it.")
    source: str = Field(description="Of the airplane file, or of the rule.")
    probability: Fraction = Field(description="Of having passed it at any time.")
    by10: float | None = Field(description="When the chance of having passed it reaches 10%, s.")
    by50: float | None = Field(description="The same for 50%.")
    by90: float | None = Field(description="The same for 90%.")
    duration: Banded90 | None = Field(description="Time beyond it where it was passed, s.")
    extreme: Banded90 = Field(description="Furthest value on its side.")


class PassedTogether(Part):
    """Two limits beyond which the same path was at the same moment."""

    first: LimitName
    second: LimitName
    probability: Fraction


class LimitLeftOut(Part):
    """A limit that was not looked at."""

    limit: LimitName
    reason: NotLookedAt


class LoadDiagram(Part):
    """The diagram of speed and load factor at one weight; speeds m/s equivalent."""

    mass: float = Field(description="kg")
    altitude: float = Field(description="Of the gusts, m.")
    cruise_speed: float
    dive_speed: float
    maneuver_speed: float
    defaults: bool = Field(description="Whether a design speed is the bound of the rule.")
    speed: list[float]
    stall: list[float]
    stall_inverted: list[float]
    upper: list[float]
    lower: list[float]
    gust_upper: list[float]
    gust_lower: list[float]


class ExcessPower(Part):
    """Energy height and its rate against what the engines could have given."""

    change: Banded90 = Field(description="Of the energy height from begin to end, m.")
    lowest: Banded90 = Field(description="Least rate of it on each path, m/s.")
    lowest_at: float = Field(description="Median time of that, s after the epoch.")
    full_there: Banded90 = Field(description="Rate at full lever there, m/s.")
    above_full: Fraction = Field(description="Share of the time with more than full lever gives.")
    below_idle: Fraction = Field(description="Share of the time with less than idle gives.")


class LimitsFindings(Part):
    """Limits passed; times in s after the epoch."""

    file: str
    begin: float
    end: float
    window: float = Field(description="s over which load factors are averaged.")
    rows: list[LimitRow]
    together: list[PassedTogether] = Field(default=[])
    passed_any: Fraction
    left_out: list[LimitLeftOut] = Field(default=[])
    trusted_until: float | None = Field(
        description="When the chance of having passed ultimate load is `distrust`; null: never."
    )
    distrust: Fraction
    diagram: LoadDiagram
    excess: ExcessPower
