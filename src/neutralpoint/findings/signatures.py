"""What every cause would look like from the last trimmed flight on, in numbers."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.part import Fraction, Part
from neutralpoint.vocabulary import CauseName

Shown = Literal["altitude", "calibrated_airspeed", "pitch_angle"]
Trial = Literal["idle", "full", "push"]


class Banded90(Part):
    """A value with its 90% band, SI."""

    low90: float
    median: float
    high90: float


class Parting(Part):
    """Where the flights of a cause and the data have nothing in common in one quantity."""

    quantity: Shown
    time: float | None = Field(description="From when on, s after the epoch; null: never.")
    gap: float = Field(description="Widest gap of the bands, SI; flights above positive.")


class SignatureRow(Part):
    """Flights of one cause beside the data."""

    cause: CauseName
    probability: Fraction = Field(description="Odds of the cause.")
    with_pilot: list[Parting]
    hands_off: list[Parting] = Field(default=[], description="Empty: none could be flown.")

    @property
    def first(self) -> float | None:
        """When the flights with a pilot part from the data in any quantity."""
        times = [one.time for one in self.with_pilot if one.time is not None]
        return min(times, default=None)


class TrimTrial(Part):
    """No failure, hands off, and one thing done: does it return to its trim?"""

    trial: Trial
    speed_before: Banded90 = Field(description="True airspeed in trimmed flight, m/s.")
    path_before: Banded90 = Field(description="Path angle there, rad.")
    fastest: Banded90 = Field(description="Highest true airspeed, m/s.")
    slowest: Banded90 = Field(description="Lowest true airspeed, m/s.")
    steepest: Banded90 = Field(description="Lowest path angle, rad.")
    highest: Banded90 = Field(description="Highest path angle, rad.")
    predicted: Banded90 = Field(description="Speed on the path of the end at the trim's lift, m/s.")
    speed_after: Banded90 = Field(description="Mean over the last phugoid, m/s.")
    path_after: Banded90 = Field(description="Mean path angle over the last phugoid, rad.")
    density_ratio: Banded90 = Field(description="Density before over mean density after.")
    seconds: float = Field(description="Flown for, s.")
    averaged: float = Field(description="Length of the mean at the end, s.")


class SignatureFindings(Part):
    """The signature sheet. Rows are most probable first; times are s after the epoch."""

    file: str
    begin: float
    end: float
    flights: int = Field(description="Of each cause, hands off.")
    rows: list[SignatureRow]
    trials: list[TrimTrial] = Field(default=[])
