"""Weather in `case.toml`: one table for each kind of source."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from neutralpoint.case.track_entries import AnyColumn
from neutralpoint.documents.fields import (
    INCOMPLETE,
    Angle,
    FileName,
    Height,
    Section,
    Temperature,
    TemperatureDeviation,
    TemperatureError,
    Text,
    Wind,
    WindError,
    refused,
)
from neutralpoint.documents.quantity import Uncertain, parse_quantity

WIND_ERROR = "10 kt"
TEMPERATURE_ERROR = "3 K"


class SoundingEntry(Section):
    """Upper-air text."""

    kind: Literal["sounding"]
    file: FileName
    wind_error: WindError = Field(
        default=parse_quantity(WIND_ERROR, "m/s"),
        description="95% half-width of each wind component at the airplane.",
    )
    temperature_error: TemperatureError = Field(
        default=parse_quantity(TEMPERATURE_ERROR, "K"), description="95% half-width."
    )


class ReportEntry(Section):
    """METAR surface reports, in a file or as text."""

    kind: Literal["metar"]
    file: FileName | None = None
    text: Text | None = None
    elevation: Height = Field(description="Of the station, above mean sea level.")

    @model_validator(mode="after")
    def one_of(self) -> ReportEntry:
        """Either a file or a text."""
        if self.file is None and self.text is None:
            raise refused(INCOMPLETE, "the report itself is missing.", "Give `file` or `text`.")
        if self.file is not None and self.text is not None:
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
    wind_error: WindError = Field(
        default=parse_quantity(WIND_ERROR, "m/s"), description="95% half-width."
    )
    temperature_error: TemperatureError = Field(
        default=parse_quantity(TEMPERATURE_ERROR, "K"), description="95% half-width."
    )


class WindsAloftEntry(Section):
    """One point of a winds-aloft (FB) bulletin: a forecast."""

    kind: Literal["winds_aloft"]
    file: FileName
    station: Text = Field(description="Letters of the forecast point.")
    wind_error: WindError = Field(
        default=parse_quantity(WIND_ERROR, "m/s"), description="95% half-width."
    )
    temperature_error: TemperatureError = Field(
        default=parse_quantity(TEMPERATURE_ERROR, "K"), description="95% half-width."
    )


class NetcdfEntry(Section):
    """Winds and temperatures on pressure levels in a NetCDF file."""

    kind: Literal["netcdf"]
    file: FileName
    latitude: Angle = Field(description="Of the flight; the nearest column is taken.")
    longitude: Angle
    wind_error: WindError = Field(
        default=parse_quantity(WIND_ERROR, "m/s"), description="95% half-width."
    )
    temperature_error: TemperatureError = Field(
        default=parse_quantity(TEMPERATURE_ERROR, "K"), description="95% half-width."
    )


class LevelEntry(Section):
    """One level of an inline profile."""

    altitude: Height = Field(description="Pressure altitude.")
    wind_from: Angle | None = None
    wind_speed: Wind | None = None
    temperature: Temperature | None = None


class ProfileEntry(Section):
    """Wind and temperature at heights, written in the case."""

    kind: Literal["profile"]
    levels: tuple[LevelEntry, ...] = Field(min_length=1)
    wind_error: WindError = Field(
        default=parse_quantity(WIND_ERROR, "m/s"), description="95% half-width."
    )
    temperature_error: TemperatureError = Field(
        default=parse_quantity(TEMPERATURE_ERROR, "K"), description="95% half-width."
    )


class ConstantEntry(Section):
    """One wind at all heights."""

    kind: Literal["constant"]
    wind_from: Angle
    wind_speed: Wind
    warmer_than_standard: TemperatureDeviation = Field(
        default=Uncertain(0.0), description="Deviation from standard temperature, as `4 K`."
    )
    wind_error: WindError = Field(
        default=parse_quantity(WIND_ERROR, "m/s"), description="95% half-width."
    )
    temperature_error: TemperatureError = Field(
        default=parse_quantity(TEMPERATURE_ERROR, "K"), description="95% half-width."
    )


WeatherEntry = Annotated[
    SoundingEntry
    | ReportEntry
    | TableEntry
    | WindsAloftEntry
    | NetcdfEntry
    | ProfileEntry
    | ConstantEntry,
    Field(discriminator="kind"),
]
