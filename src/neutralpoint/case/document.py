"""`case.toml`: what an analyst may write. Every key is named here; no other key is taken."""

from __future__ import annotations

from datetime import date as Day
from datetime import datetime as Moment
from datetime import time as Clock
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema, model_validator

from neutralpoint.case.quantity import Uncertain, parse_quantity
from neutralpoint.errors import NeutralPointError

SCHEMA = 1
LIFT_KEYS = ("mass", "wing_area", "lift_slope", "zero_lift_angle", "maximum_lift")
DEFAULT_SEED = 20300101
WIND_ERROR = "10 kt"
TEMPERATURE_ERROR = "3 K"
# Uncompensated latency of positions lies within -0.2 to 0.4 s (George et al., arXiv 2008.06352).
POSITION_AGE = "0.1 s +- 0.3 s"


def quantity(unit: str) -> Any:
    """Field type of a quantity in an SI unit, given as text with unit and optional +-."""

    def parse(value: object) -> Uncertain:
        if isinstance(value, Uncertain):
            return value
        try:
            return parse_quantity(value, unit)
        except NeutralPointError as error:
            raise ValueError(f"{error.code}|{error.message}|{error.hint}") from error

    shown = WithJsonSchema({"type": "string", "unit": unit})
    return Annotated[Uncertain, BeforeValidator(parse), shown]


Text = Annotated[str, Field(min_length=1, max_length=2000)]
FileName = Annotated[str, Field(min_length=1, max_length=255)]


class Section(BaseModel):
    """A table of the case file: no key that is not named."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class ColumnEntry(Section):
    """A column with its unit: `{ column = "alt", unit = "ft" }`."""

    column: str | int = Field(description="Name in the header, or number counted from 1.")
    unit: str | None = Field(default=None, description="Found by physics where left out.")


AnyColumn = str | int | ColumnEntry


class TrackColumns(Section):
    """Which column of a track file holds what."""

    time: AnyColumn
    position_time: AnyColumn | None = Field(
        default=None, description="Time of the position, where it differs from the row's."
    )
    address: AnyColumn | None = Field(
        default=None, description="Which airplane a row belongs to; compared as text."
    )
    latitude: AnyColumn | None = None
    longitude: AnyColumn | None = None
    pressure_altitude: AnyColumn | None = None
    geometric_altitude: AnyColumn | None = None
    ground_speed: AnyColumn | None = None
    track_angle: AnyColumn | None = None
    vertical_rate: AnyColumn | None = None


class TrackEntry(Section):
    """One track file."""

    file: FileName
    columns: TrackColumns
    only: str | None = Field(default=None, description="Address of the airplane, as text.")
    vertical_rate_source: Literal["baro", "geometric", "unknown"] = "unknown"
    time_form: (
        Literal[
            "epoch s",
            "epoch ms",
            "epoch us",
            "epoch ns",
            "iso",
            "time of day",
            "seconds of day",
            "elapsed s",
        ]
        | None
    ) = Field(default=None, description="Found out where left out.")
    date: Day | None = Field(default=None, description="Of the first row, for times of day.")
    start: Moment | None = Field(default=None, description="What elapsed seconds count from.")
    utc_offset: quantity("s") = Field(
        default=Uncertain(0.0), description="Clock minus UTC of times without a zone."
    )
    out_of_order: Literal["refuse", "sort"] = "refuse"


class SoundingEntry(Section):
    """Upper-air text."""

    kind: Literal["sounding"]
    file: FileName
    wind_error: quantity("m/s") = Field(
        default=parse_quantity(WIND_ERROR, "m/s"),
        description="95 % half-width of each wind component at the airplane.",
    )
    temperature_error: quantity("K") = Field(
        default=parse_quantity(TEMPERATURE_ERROR, "K"), description="95 % half-width."
    )


class ReportEntry(Section):
    """METAR surface reports, in a file or as text."""

    kind: Literal["metar"]
    file: FileName | None = None
    text: Text | None = None
    elevation: quantity("m") = Field(description="Of the station, above mean sea level.")

    @model_validator(mode="after")
    def one_of(self) -> ReportEntry:
        """Either a file or a text."""
        if (self.file is None) == (self.text is None):
            raise ValueError("give either `file` or `text`")
        return self


class WindColumns(Section):
    """Which column of a wind table holds what."""

    altitude: AnyColumn
    wind_from: AnyColumn | None = None
    wind_speed: AnyColumn | None = None
    temperature: AnyColumn | None = None


class TableEntry(Section):
    """Wind and temperature at heights, in a delimited file."""

    kind: Literal["table"]
    file: FileName
    columns: WindColumns
    wind_error: quantity("m/s") = Field(
        default=parse_quantity(WIND_ERROR, "m/s"), description="95 % half-width."
    )
    temperature_error: quantity("K") = Field(
        default=parse_quantity(TEMPERATURE_ERROR, "K"), description="95 % half-width."
    )


class Level(Section):
    """One level of an inline profile."""

    altitude: quantity("m") = Field(description="Pressure altitude.")
    wind_from: quantity("rad") | None = None
    wind_speed: quantity("m/s") | None = None
    temperature: quantity("K") | None = None


class ProfileEntry(Section):
    """Wind and temperature at heights, written in the case."""

    kind: Literal["profile"]
    levels: tuple[Level, ...] = Field(min_length=1)
    wind_error: quantity("m/s") = Field(
        default=parse_quantity(WIND_ERROR, "m/s"), description="95 % half-width."
    )
    temperature_error: quantity("K") = Field(
        default=parse_quantity(TEMPERATURE_ERROR, "K"), description="95 % half-width."
    )


class ConstantEntry(Section):
    """One wind at all heights."""

    kind: Literal["constant"]
    wind_from: quantity("rad")
    wind_speed: quantity("m/s")
    warmer_than_standard: quantity("K") = Field(
        default=Uncertain(0.0), description="Deviation from standard temperature, as `4 K`."
    )
    wind_error: quantity("m/s") = Field(
        default=parse_quantity(WIND_ERROR, "m/s"), description="95 % half-width."
    )
    temperature_error: quantity("K") = Field(
        default=parse_quantity(TEMPERATURE_ERROR, "K"), description="95 % half-width."
    )


WeatherEntry = Annotated[
    SoundingEntry | ReportEntry | TableEntry | ProfileEntry | ConstantEntry,
    Field(discriminator="kind"),
]


class AirplaneEntry(Section):
    """The airplane: who it is, and the lift line that the angle of attack needs.

    With a `file`, mass and lift line come from it unless they are given here too.
    """

    name: Text
    registration: str = ""
    file: FileName | None = Field(
        default=None, description="Airplane file below the case folder, or a catalogue name."
    )
    mass: quantity("kg") | None = Field(default=None, description="At the start of the track.")
    cg_station: quantity("m") | None = Field(
        default=None,
        description="Centre of gravity aft of the datum of the airplane file; from its loading "
        "where left out.",
    )
    wing_area: quantity("m2") | None = None
    lift_slope: quantity("") | None = Field(
        default=None, description="Per radian, at low Mach number."
    )
    zero_lift_angle: quantity("rad") | None = Field(
        default=None,
        description="Angle of attack at zero lift, against the axis that pitch is measured from.",
    )
    maximum_lift: quantity("") | None = Field(default=None, description="Largest lift coefficient.")
    aspect_ratio: quantity("") | None = Field(
        default=None, description="For the growth of the lift slope with Mach number."
    )
    fuel_flow: quantity("kg/s") = Uncertain(0.0)

    @model_validator(mode="after")
    def known(self) -> AirplaneEntry:
        """Without a file, mass and lift line are needed."""
        missing = [key for key in LIFT_KEYS if getattr(self, key) is None]
        if self.file is None and missing:
            raise ValueError(
                f"case-invalid|the key(s) {', '.join(missing)} are missing.|"
                "Give them, or name an airplane `file` that holds them."
            )
        if self.file is None and self.cg_station is not None:
            raise ValueError(
                "case-invalid|`cg_station` is counted from the datum of an airplane file, and no "
                "`file` is named.|Name the file, or leave `cg_station` out."
            )
        return self


class AnalysisEntry(Section):
    """What the analyst settles about the required moment; every key may be left out."""

    onset: Clock | Moment | None = Field(
        default=None, description="When the upset began, UTC; found from the motion otherwise."
    )
    reference_start: Clock | Moment | None = Field(
        default=None, description="First moment of the last trimmed flight; found otherwise."
    )
    reference_end: Clock | Moment | None = Field(default=None, description="Its last moment.")
    flap: Annotated[float, Field(ge=0.0, le=1.0)] = Field(
        default=0.0, description="0 (up) to 1 (full)."
    )
    gear: Annotated[float, Field(ge=0.0, le=1.0)] = Field(
        default=0.0, description="0 (up) to 1 (down)."
    )

    @model_validator(mode="after")
    def pair(self) -> AnalysisEntry:
        """The reference has two ends."""
        if (self.reference_start is None) != (self.reference_end is None):
            raise ValueError("give both `reference_start` and `reference_end`, or neither")
        return self


class EventEntry(Section):
    """Something that happened at a time known with an error."""

    time: Clock | Moment = Field(description="UTC; a time alone is on the date of the track.")
    error: quantity("s") = Field(default=Uncertain(0.0), description="95 % half-width, as `2 s`.")
    kind: Literal["voice", "warning", "radar", "witness", "record"]
    text: Text
    source: str = ""


class CaseDocument(Section):
    """A whole case file."""

    schema_version: Literal[1] = Field(alias="schema")
    title: Text
    question: Text
    place: str = ""
    invented: bool = Field(default=False, description="True for a made-up case.")
    cut_off: Day = Field(description="No data that came in later are used.")
    seed: Annotated[int, Field(ge=0, lt=2**63)] = Field(
        default=DEFAULT_SEED, description="Of the random numbers; the same seed, the same paths."
    )
    altimeter_setting: quantity("Pa") | None = Field(
        default=None, description="QNH; taken from a METAR report where left out."
    )
    position_age: quantity("s") = Field(
        default=parse_quantity(POSITION_AGE, "s"),
        description="Age of a position at its time stamp; no reading shows it.",
    )
    airplane: AirplaneEntry
    analysis: AnalysisEntry = AnalysisEntry()
    tracks: tuple[TrackEntry, ...] = Field(min_length=1)
    weather: tuple[WeatherEntry, ...] = Field(min_length=1)
    events: tuple[EventEntry, ...] = ()
