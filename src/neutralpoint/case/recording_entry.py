"""`[[recordings]]`: sound that was recorded in the airplane, on the radio or on the ground."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from neutralpoint.documents.fields import (
    Angle,
    FileName,
    Height,
    Kind,
    Section,
    Text,
    TimeError,
    When,
    refused,
)
from neutralpoint.documents.quantity import Uncertain, parse_quantity

# Fastest over slowest rotation looked for: between them every quarter of a percent is followed in
# time, which takes 1.3 GB for two hours of sound. A propeller in flight turns within twofold.
WIDEST = 8.0
Rotation = Annotated[Uncertain, Kind("rotation")]


class CallEntry(Section):
    """A call, and whose it was as the analyst knows it; no voice is recognized."""

    speaker: Text = Field(description="Name for who spoke; calls by one name are compared.")
    begin: When = Field(description="UTC, as the clock of the recording showed it.")
    end: When


class RecordingEntry(Section):
    """One recording, and the propeller that is looked for in it."""

    file: FileName = Field(description="WAV, or FLAC with the extra `sound`.")
    kind: Literal["cockpit", "radio", "ground"] = Field(description="Where the microphone was.")
    start: When = Field(description="Of the first sample, UTC, as its clock showed it.")
    clock: str | None = Field(
        default=None, description="Name of its clock in `clocks`; true UTC where left out."
    )
    error: TimeError = Field(
        default=parse_quantity("1 s", "s"), description="95% half-width of the start."
    )
    blades: Annotated[int, Field(ge=2, le=12)] = Field(description="Of the propeller.")
    propellers: Annotated[int, Field(ge=1, le=4)] = Field(
        default=1,
        description="That may sound in it; of two, a second line and beats are told.",
    )
    slowest: Rotation = Field(description="Slowest rotation looked for, as `1000 rpm`.")
    fastest: Rotation = Field(description="Fastest rotation looked for.")
    latitude: Angle | None = Field(default=None, description="Of a microphone on the ground.")
    longitude: Angle | None = Field(default=None, description="Of a microphone on the ground.")
    height: Height | None = Field(
        default=None, description="Of a microphone on the ground, above the sea."
    )
    calls: tuple[CallEntry, ...] = Field(
        default=(),
        description="Whose pitch is compared: after the onset with earlier ones.",
    )
    source: Text

    @model_validator(mode="after")
    def placed(self) -> RecordingEntry:
        """A microphone on the ground has a place; slowest is below fastest."""
        place = (self.latitude, self.longitude, self.height)
        if self.kind == "ground" and None in place:
            raise refused(
                "case-invalid",
                "a microphone on the ground has no place.",
                "Give latitude, longitude and height.",
            )
        if not 0.0 < self.slowest.value < self.fastest.value:
            raise refused(
                "quantity-range",
                f"rotation from {self.slowest.text!r} to {self.fastest.text!r}.",
                "Give a slowest rotation above zero and below the fastest.",
            )
        if self.fastest.value > WIDEST * self.slowest.value:
            raise refused(
                "quantity-range",
                f"rotation from {self.slowest.text!r} to {self.fastest.text!r}.",
                f"Give a range of which the fastest is at most {WIDEST:g} times the slowest.",
            )
        return self
