"""Track files in `case.toml`: one table for each kind of file."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Discriminator, Field, Tag, model_validator

from neutralpoint.documents.fields import (
    Angle,
    Date,
    DateTime,
    FileName,
    Height,
    Section,
    Text,
    Undulation,
    Zone,
    refused,
)
from neutralpoint.documents.quantity import Uncertain


class ColumnEntry(Section):
    """A column with its unit: `{ column = "alt", unit = "ft" }`."""

    column: str | int = Field(description="Name in the header, or number counted from 1.")
    unit: str | None = Field(default=None, description="Found by physics where left out.")


def name_of(entry: str | int | ColumnEntry) -> str | int:
    """Name or number of a column."""
    return entry.column if isinstance(entry, ColumnEntry) else entry


def _counted(entry: str | int | ColumnEntry) -> str | int | ColumnEntry:
    number = name_of(entry)
    if isinstance(number, int) and number < 1:
        raise refused(
            "case-invalid",
            f"there is no column {number}.",
            "Columns are counted from 1; a column with a name is called by it, in quotes.",
        )
    return entry


AnyColumn = Annotated[str | int | ColumnEntry, AfterValidator(_counted)]


QUANTITIES_READ = (
    *("latitude", "longitude", "pressure_altitude", "geometric_altitude"),
    *("ground_speed", "track_angle", "vertical_rate"),
)


class TrackColumns(Section):
    """Which column of a track file holds what."""

    time: AnyColumn
    date: AnyColumn | None = Field(
        default=None, description="Date of the row, where it has a column of its own."
    )
    position_time: AnyColumn | None = Field(
        default=None, description="Time of the position, where it differs from the row's."
    )
    address: AnyColumn | None = Field(
        default=None, description="Which airplane a row belongs to; as text, capitals or not."
    )
    latitude: AnyColumn | None = None
    longitude: AnyColumn | None = None
    pressure_altitude: AnyColumn | None = None
    geometric_altitude: AnyColumn | None = None
    ground_speed: AnyColumn | None = None
    track_angle: AnyColumn | None = None
    vertical_rate: AnyColumn | None = None
    nacp: AnyColumn | None = Field(
        default=None, description="Stated accuracy of the position, 0 to 11."
    )
    nacv: AnyColumn | None = Field(
        default=None, description="Stated accuracy of the velocity, 0 to 4."
    )

    @model_validator(mode="after")
    def apart(self) -> TrackColumns:
        """No column holds two quantities."""
        read: dict[str | int, str] = {}
        for role in QUANTITIES_READ:
            entry = getattr(self, role)
            name = None if entry is None else name_of(entry)
            if name is not None and (other := read.setdefault(name, role)) != role:
                raise refused(
                    "case-invalid",
                    f"`{other}` and `{role}` are both read from the column {name!r}.",
                    "Name the column of each, or leave out the one that the file does not have.",
                )
        return self


class TrackEntry(Section):
    """A track in a delimited file."""

    kind: Literal["table"] = "table"
    file: FileName
    clock: str | None = Field(
        default=None, description="Name of its clock in `clocks`; true UTC where left out."
    )
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
            "day month year",
            "month day year",
            "time of day",
            "seconds of day",
            "elapsed s",
        ]
        | None
    ) = Field(default=None, description="Found out where left out.")
    date: Date | None = Field(default=None, description="Of the first row, for times of day.")
    start: DateTime | None = Field(default=None, description="What elapsed seconds count from.")
    utc_offset: Zone = Field(
        default=Uncertain(0.0), description="Clock minus UTC of times without a zone."
    )
    out_of_order: Literal["refuse", "sort"] = "refuse"


class ModesEntry(Section):
    """Raw 1090 MHz Mode S: a line is a time, hexadecimal digits and perhaps a receiver."""

    kind: Literal["modes"]
    file: FileName
    clock: str | None = Field(
        default=None, description="Name of its clock in `clocks`; true UTC where left out."
    )
    only: str | None = Field(
        default=None, description="24-bit address of the airplane, six hexadecimal digits."
    )
    time_form: (
        Literal["epoch s", "epoch ms", "iso", "time of day", "elapsed s", "ticks 12 MHz"] | None
    ) = Field(default=None, description="Found out where left out.")
    date: Date | None = Field(default=None, description="Of the first row, for times of day.")
    start: DateTime | None = Field(
        default=None, description="What elapsed seconds or ticks count from."
    )
    utc_offset: Zone = Field(
        default=Uncertain(0.0), description="Clock minus UTC of times without a zone."
    )


class SiteEntry(Section):
    """Place of a radar station."""

    latitude: Angle
    longitude: Angle
    height: Height = Field(description="Of the antenna, above the ellipsoid.")


class AsterixEntry(Section):
    """ASTERIX categories 021, 048 and 062, bare or in a packet capture."""

    kind: Literal["asterix"]
    file: FileName
    clock: str | None = Field(
        default=None, description="Name of its clock in `clocks`; true UTC where left out."
    )
    date: Date = Field(description="UTC date of the first record.")
    only: str | None = Field(
        default=None, description="24-bit address of the airplane, or `track N`."
    )
    editions: dict[str, str] = Field(
        default={}, description='Edition by category, as `{ "062" = "1.18" }`; else the best.'
    )
    site: SiteEntry | None = Field(
        default=None, description="Needed for plots in range and azimuth (category 048)."
    )


class PlacesEntry(Section):
    """Positions with times in GPX, or in the `gx:Track` of a KML file."""

    kind: Literal["gpx", "kml"]
    file: FileName
    clock: str | None = Field(
        default=None, description="Name of its clock in `clocks`; true UTC where left out."
    )
    height_datum: Literal["ellipsoid", "sea level", "pressure", "unknown"] = Field(
        default="unknown", description="What heights count from; the file does not say."
    )
    geoid_height: Undulation | None = Field(
        default=None,
        description="Of the geoid above the ellipsoid there, for `sea level`; that of the case "
        "where left out.",
    )


class PluggedEntry(Section):
    """A file that a plug-in of another, installed package reads."""

    kind: Literal["plug-in"]
    file: FileName
    reader: Text = Field(description="Name of the plug-in in the group `neutralpoint.sources`.")
    options: dict[str, str | float | bool] = Field(
        default={}, description="What is handed to it, as it documents."
    )
    clock: str | None = Field(
        default=None, description="Name of its clock in `clocks`; true UTC where left out."
    )


def _kind(value: Any) -> str:
    """Kind of a track; a track without one is a table."""
    kind = value.get("kind", "table") if isinstance(value, dict) else getattr(value, "kind", "")
    return str(kind)


AnyTrackEntry = Annotated[
    Annotated[TrackEntry, Tag("table")]
    | Annotated[ModesEntry, Tag("modes")]
    | Annotated[AsterixEntry, Tag("asterix")]
    | Annotated[PlacesEntry, Tag("gpx")]
    | Annotated[PlacesEntry, Tag("kml")]
    | Annotated[PluggedEntry, Tag("plug-in")],
    Discriminator(_kind),
]
