"""Track files in `case.toml`: one table for each kind of file."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

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
)
from neutralpoint.documents.quantity import Uncertain


class ColumnEntry(Section):
    """A column with its unit: `{ column = "alt", unit = "ft" }`."""

    column: str | int = Field(description="Name in the header, or number counted from 1.")
    unit: str | None = Field(default=None, description="Found by physics where left out.")


AnyColumn = str | int | ColumnEntry


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
