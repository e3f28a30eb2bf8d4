"""`wreckage.json`: what the map of where it came down is drawn from, m from the last reading."""

from __future__ import annotations

from pydantic import ConfigDict, Field

from neutralpoint.findings.part import Fraction, Part


class MapPlaces(Part):
    """Places, one entry each."""

    north: list[float] = Field(description="m")
    east: list[float] = Field(description="m")


class MapPart(Part):
    """A part as it was found."""

    name: str
    north: float = Field(description="m")
    east: float = Field(description="m")


class MapRegion(MapPlaces):
    """Where a missing part lies, on a grid of north and east."""

    name: str
    probability: list[list[Fraction]] = Field(description="Of each cell, north by east.")
    levels: list[Fraction] = Field(description="Of the cells at the edge of 50% and 90%.")


class WreckageMap(Part):
    """The file. What it has beside this is not read."""

    model_config = ConfigDict(extra="ignore", frozen=True, allow_inf_nan=False)

    origin: tuple[float, float] = Field(description="Latitude and longitude, rad.")
    ending: MapPlaces = Field(description="Where sample paths come down.")
    parts: list[MapPart]
    regions: list[MapRegion]
