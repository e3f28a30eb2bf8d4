"""`case.toml`: what an analyst may write. Every key is named here; no other key is taken."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from neutralpoint.case.debris_entry import DebrisEntry
from neutralpoint.case.evidence_entries import AnyEvidenceEntry, PriorEntry
from neutralpoint.case.facts_entry import FactsEntry
from neutralpoint.case.history_entry import HistoryEntry
from neutralpoint.case.outside_entry import OutsideEntry
from neutralpoint.case.recording_entry import RecordingEntry
from neutralpoint.case.response_entry import ResponseEntry
from neutralpoint.case.track_entries import AnyTrackEntry
from neutralpoint.case.weather_entries import WeatherEntry
from neutralpoint.documents.fields import (
    INCOMPLETE,
    AltimeterError,
    Angle,
    Area,
    AspectRatio,
    ClockOffset,
    Date,
    FileName,
    LiftSlope,
    Mass,
    MassFlow,
    MaximumLift,
    PositionAge,
    Pressure,
    Section,
    Station,
    Text,
    TimeError,
    Undulation,
    When,
    refused,
)
from neutralpoint.documents.quantity import Uncertain, parse_quantity

SCHEMA = 1
LIFT_KEYS = ("mass", "wing_area", "lift_slope", "zero_lift_angle", "maximum_lift")
DEFAULT_SEED = 20300101
# Uncompensated latency of positions lies within -0.2 to 0.4 s (George et al., arXiv 2008.06352).
POSITION_AGE = "0.1 s +- 0.3 s"


class AirplaneEntry(Section):
    """The airplane: who it is, and the lift line that the angle of attack needs.

    With a `file`, mass and lift line come from it unless they are given here too.
    """

    name: Text
    registration: str = ""
    file: FileName | None = Field(
        default=None, description="Airplane file below the case folder, or a catalogue name."
    )
    mass: Mass | None = Field(default=None, description="At the start of the track.")
    cg_station: Station | None = Field(
        default=None,
        description="Center of gravity aft of the datum of the airplane file; from its loading "
        "where left out.",
    )
    wing_area: Area | None = None
    lift_slope: LiftSlope | None = Field(
        default=None, description="Per radian, at low Mach number."
    )
    zero_lift_angle: Angle | None = Field(
        default=None,
        description="Angle of attack at zero lift, against the axis that pitch is measured from.",
    )
    maximum_lift: MaximumLift | None = Field(default=None, description="Largest lift coefficient.")
    aspect_ratio: AspectRatio | None = Field(
        default=None, description="For the growth of the lift slope with Mach number."
    )
    fuel_flow: MassFlow = Uncertain(0.0)

    @model_validator(mode="after")
    def known(self) -> AirplaneEntry:
        """Without a file, mass and lift line are needed."""
        missing = [key for key in LIFT_KEYS if getattr(self, key) is None]
        if self.file is None and missing:
            raise refused(
                INCOMPLETE,
                f"the key(s) {', '.join(missing)} are missing.",
                "Give them, or name an airplane `file` that holds them.",
            )
        if self.file is None and self.cg_station is not None:
            raise refused(
                "case-invalid",
                "`cg_station` is counted from the datum of an airplane file, and no "
                "`file` is named.",
                "Name the file, or leave `cg_station` out.",
            )
        return self


class AnalysisEntry(Section):
    """What the analyst settles about the study; every key may be left out."""

    start: When | None = Field(
        default=None, description="First moment studied, UTC; the first reading otherwise."
    )
    end: When | None = Field(
        default=None, description="Last moment studied; the last reading otherwise."
    )
    onset: When | None = Field(
        default=None,
        description="When the motion left ordinary flight, UTC; found from the motion otherwise. "
        "Odds count that its cause may have begun before, hidden by an autopilot or by hands; "
        "state `reference_start` and `reference_end` where the last flight before it is known.",
    )
    reference_start: When | None = Field(
        default=None, description="First moment of the last trimmed flight; found otherwise."
    )
    reference_end: When | None = Field(default=None, description="Its last moment.")
    flap: Annotated[float, Field(ge=0.0, le=1.0)] | None = Field(
        default=None,
        description="0 (up) to 1 (full); left out, it is up, but open for pitch in slow flight.",
    )
    gear: Annotated[float, Field(ge=0.0, le=1.0)] = Field(
        default=0.0, description="0 (up) to 1 (down)."
    )

    @model_validator(mode="after")
    def pair(self) -> AnalysisEntry:
        """The reference has two ends."""
        if (self.reference_start is None) != (self.reference_end is None):
            raise refused(
                INCOMPLETE,
                "one end of the reference is missing.",
                "Give both `reference_start` and `reference_end`, or neither.",
            )
        return self


class ClockEntry(Section):
    """A clock that events or track files share, and how far it was off."""

    name: Text = Field(description="What events and track files call it.")
    offset: ClockOffset = Field(
        description="The clock less true UTC: positive where it was ahead; taken off."
    )
    basis: Text = Field(description="What the offset rests on.")


class EventEntry(Section):
    """Something that happened at a time known with an error."""

    time: When = Field(
        description="As its clock showed it, UTC; a time alone is on the date of the track."
    )
    clock: str | None = Field(
        default=None, description="Name of its clock in `clocks`; true UTC where left out."
    )
    error: TimeError = Field(
        default=Uncertain(0.0), description="95% half-width of the reading, as `2 s`."
    )
    kind: Literal["voice", "warning", "radar", "witness", "record"]
    text: Text
    source: str = ""


class TerrainEntry(Section):
    """A grid of heights of the ground."""

    file: FileName = Field(
        description="An HGT tile, named like `N46W037.hgt`, or a GeoTIFF in latitude and longitude."
    )


class CaseDocument(Section):
    """A whole case file."""

    schema_version: Literal[1] = Field(alias="schema")
    title: Text
    question: Text
    place: str = ""
    invented: bool = Field(default=False, description="True for a made-up case.")
    cut_off: Date = Field(description="No data that came in later are used.")
    seed: Annotated[int, Field(ge=0, lt=2**63)] = Field(
        default=DEFAULT_SEED, description="Of the random numbers; the same seed, the same paths."
    )
    altimeter_setting: Pressure | None = Field(
        default=None, description="QNH; taken from a METAR report where left out."
    )
    static_source_error: AltimeterError = Field(
        default=Uncertain(0.0),
        description="Altitude read less true pressure altitude, from the static source, at the "
        "usual speed of the record, as `-40 ft +- 30 ft`; it grows with the square of the speed.",
    )
    geoid_height: Undulation | None = Field(
        default=None,
        description="Of the geoid above the WGS-84 ellipsoid at the flight: from heights above the "
        "ellipsoid to heights above the sea.",
    )
    position_age: PositionAge = Field(
        default=parse_quantity(POSITION_AGE, "s"),
        description="Age of a position at its time stamp; no reading shows it.",
    )
    turbulence: Literal["smooth", "light", "moderate", "severe"] | None = Field(
        default=None,
        description="Of the air, as reported from the airplane or near it; counts where altitudes "
        "come seconds apart, which do not tell it.",
    )
    airplane: AirplaneEntry
    analysis: AnalysisEntry = AnalysisEntry()
    facts: FactsEntry = Field(
        default=FactsEntry(), description="Of the flight; they exclude causes."
    )
    response: ResponseEntry = ResponseEntry()
    history: HistoryEntry | None = Field(
        default=None, description="Earlier flights; left out, there is no comparison with any."
    )
    tracks: tuple[AnyTrackEntry, ...] = Field(min_length=1)
    weather: tuple[WeatherEntry, ...] = Field(min_length=1)
    terrain: tuple[TerrainEntry, ...] = Field(
        default=(), description="For the height above ground that `check` prints."
    )
    clocks: tuple[ClockEntry, ...] = Field(
        default=(), description="Clocks that were off, for the events and tracks that name them."
    )
    events: tuple[EventEntry, ...] = ()
    something_failed: Annotated[float, Field(gt=0.0, lt=1.0)] | None = Field(
        default=None,
        description="Chance that something failed, from what is known beside the track: near 1 "
        "for an accident; 0.01 where left out, a flight of which nothing is known.",
    )
    prior: tuple[PriorEntry, ...] = Field(
        default=(),
        description="Weights of causes among what can fail; equal where left out.",
    )
    recordings: tuple[RecordingEntry, ...] = Field(
        default=(), description="Sound that was recorded in flight or on the ground."
    )
    debris: tuple[DebrisEntry, ...] = Field(
        default=(), description="Parts found away from the airplane, or missing."
    )
    evidence: tuple[AnyEvidenceEntry, ...] = Field(
        default=(), description="Other than the track; joined to it in the odds."
    )

    outside: OutsideEntry | None = Field(
        default=None, description="Causes and examinations of other packages."
    )

    @model_validator(mode="after")
    def named_clocks(self) -> CaseDocument:
        """Every clock has one entry, and every clock named has an entry."""
        names = [entry.name for entry in self.clocks]
        double = next((name for name in names if names.count(name) > 1), None)
        if double is not None:
            raise refused(
                "case-invalid", f"the clock {double!r} has two entries.", "Keep one of them."
            )
        for entry in (*self.events, *self.tracks, *self.recordings):
            if entry.clock is not None and entry.clock not in names:
                known = ", ".join(names) or "none"
                raise refused(
                    INCOMPLETE,
                    f"the clock {entry.clock!r} has no entry.",
                    f"Add it under `[[clocks]]`; there are: {known}.",
                )
        return self

    @model_validator(mode="after")
    def one_voice(self) -> CaseDocument:
        """Whether anything failed is said once."""
        weighed = any(entry.cause == "no-failure" for entry in self.prior)
        if weighed and self.something_failed is not None:
            raise refused(
                "case-invalid",
                "both `something_failed` and a prior weight of no-failure say "
                "whether anything failed.",
                "Keep one of them.",
            )
        return self

    @field_validator("prior")
    @classmethod
    def once(cls, entries: tuple[PriorEntry, ...]) -> tuple[PriorEntry, ...]:
        """One weight a cause."""
        names = [entry.cause for entry in entries]
        double = next((name for name in names if names.count(name) > 1), None)
        if double is not None:
            raise refused(
                "case-invalid", f"the cause {double!r} has two prior weights.", "Keep one of them."
            )
        return entries
