"""Earlier flights in `case.toml`: where their tracks are, and what is known of them."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, field_validator

from neutralpoint.case.evidence_entries import Doubt
from neutralpoint.case.track_entries import AnyColumn
from neutralpoint.documents.fields import Date, FileName, Section, Text, refused
from neutralpoint.vocabulary import CauseName

Chance = Annotated[float, Field(gt=0.0, lt=1.0)]


class HistoryColumns(Section):
    """Which column of the tables holds what; one that is left out is found by its name."""

    time: AnyColumn | None = None
    address: AnyColumn | None = Field(default=None, description="Which airplane a row is of.")
    kind: AnyColumn | None = Field(default=None, description="Type of the airplane.")
    ground: AnyColumn | None = Field(default=None, description="Whether it is on the ground.")
    latitude: AnyColumn | None = None
    longitude: AnyColumn | None = None
    pressure_altitude: AnyColumn | None = None
    geometric_altitude: AnyColumn | None = None
    ground_speed: AnyColumn | None = None
    track_angle: AnyColumn | None = None
    vertical_rate: AnyColumn | None = None
    temperature: AnyColumn | None = None


class HistoryEntry(Section):
    """Tracks of earlier flights of the airplane, and of others of its type."""

    tracks: FileName = Field(description="Folder of tracks below the case folder.")
    address: Text | None = Field(
        default=None,
        description="Of the airplane, as the tracks call it; that of the track of the case, or "
        "the only one there is, where left out.",
    )
    columns: HistoryColumns = HistoryColumns()
    changed: Date | None = Field(
        default=None, description="Of maintenance or new equipment: flights before and after it."
    )
    events_otherwise: Chance | None = Field(
        default=None,
        description="Chance of departures from level flight like those found without a fault of "
        "the trim; from the other airplanes of the type where left out, 0.05 without any.",
    )
    events_with_fault: dict[str, Chance] = Field(
        default={},
        description="Chance that a fault has shown itself so on earlier flights, by cause; 0.25 "
        "for a runaway and 0.15 for a mistrim by the autopilot where left out, no other. "
        "Analyst's estimates.",
    )
    doubt: Doubt = Field(
        default=0.5,
        description="Probability that such events say nothing of the flight; analyst's estimate.",
    )

    @field_validator("events_with_fault")
    @classmethod
    def known(cls, chances: dict[str, float]) -> dict[str, float]:
        """Causes of the list."""
        wrong = next((name for name in chances if name not in list(CauseName)), None)
        if wrong is not None:
            raise refused(
                "case-invalid",
                f"there is no cause {wrong!r}.",
                f"Give one of: {', '.join(CauseName)}.",
            )
        return chances
