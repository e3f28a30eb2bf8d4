"""What could be seen and felt in the pilot's seat, in numbers; never what anyone did feel."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.part import Fraction, Part
from neutralpoint.findings.signatures import Banded90
from neutralpoint.vocabulary.light import HorizonReason, HorizonSeen, Light

# Why nothing is told of what could be perceived.
FeltSilence = Literal["", "attitude", "fixes", "short"]


class FeltMoment(Part):
    """One moment, flown and as two models of the vestibular organs perceive it; rad and rad/s."""

    time: float = Field(description="s after the epoch.")
    pitch: Banded90
    perceived_pitch: Banded90 = Field(description="Of both models together.")
    bank: Banded90 = Field(description="Of the wings about the body.")
    perceived_bank: Banded90
    turn: Banded90 = Field(description="About the vertical.")
    perceived_turn: Banded90 = Field(description="About what is perceived as the vertical.")
    load: Banded90 = Field(description="Specific force at the seat over standard gravity.")
    tilt: Banded90 = Field(description="Pitch at which a seat at rest is pressed the same way.")


class Misperceived(Part):
    """Where perceived and flown angle lie furthest apart on the median; rad."""

    time: float = Field(description="s after the epoch.")
    apart: Banded90 = Field(description="Perceived less flown.")
    probability: Fraction = Field(description="That it is more than 10 deg then.")
    models: float = Field(description="Between the medians of the two models then.")


class FeltSeat(Part):
    """Where the head is, from the center of gravity."""

    ahead: float = Field(description="m")
    half_width: float = Field(description="95%, m.")
    source: str = Field(description="Of the airplane file; empty for the default.")


class FeltPerception(Part):
    """What the models of the vestibular organs make of the flight."""

    seat: FeltSeat
    window: float = Field(description="s over which the ride is averaged.")
    lowest: Banded90 = Field(description="Least specific force of each path, over gravity.")
    highest: Banded90
    moments: list[FeltMoment]
    pitch: Misperceived
    bank: Misperceived


class TerrainAhead(Part):
    """The line where ground meets sky ahead; rad and m."""

    highest: float = Field(description="Above the horizontal through the eye.")
    bearing: float = Field(description="Of that off the way ahead, right positive.")
    distance: float
    slope: float = Field(description="Of the line from left to right, right side up positive.")
    dip: float = Field(description="Of the horizon at sea, down positive.")
    known: Fraction = Field(description="Share of the fan ahead over which heights are known.")


class FeltLight(Part):
    """Light and horizon at one moment; rad."""

    time: float = Field(description="s after the epoch.")
    light: Light
    sun_elevation: float = Field(description="Without refraction.")
    sun_azimuth: float
    moon_elevation: float
    moon_azimuth: float
    moon_lit: Fraction
    seen: HorizonSeen
    reasons: list[HorizonReason]
    station: str = Field(description="Of the surface report; empty without one.")
    age: float | None = Field(description="Between report and moment, s.")
    above: float | None = Field(description="Height above the station, m.")
    ceiling: float | None = Field(
        description="Base of the lowest layer of more than half of the sky above it, m; null: "
        "none reported."
    )
    visibility: float | None = Field(description="m")
    contradicts: bool = Field(description="Whether the light that the case states is another.")
    terrain: TerrainAhead | None = None


class FeltFindings(Part):
    """What could be seen and felt; times in s after the epoch."""

    file: str
    begin: float
    end: float
    onset: float | None
    silent: FeltSilence
    perception: FeltPerception | None = Field(description="Null where nothing can be told.")
    light: FeltLight
