"""Where the airplane and its parts came down, in numbers."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.part import Fraction, Part
from neutralpoint.findings.signatures import Banded90
from neutralpoint.vocabulary import CauseName


class GroundEnding(Part):
    """How the sample paths meet the ground when continued; SI and rad."""

    reached: Fraction = Field(description="Share of the paths that came down.")
    time: Banded90 = Field(description="s after the epoch.")
    distance: Banded90 = Field(description="From the last reading, m.")
    latitude: float = Field(description="Median.")
    longitude: float
    spread: float = Field(description="Radius about the median place that holds 90%, m.")
    speed: Banded90 = Field(description="True airspeed.")
    path_angle: Banded90
    heading: Banded90 = Field(description="Of the air velocity, turned to about its mean.")


class GroundMark(Part):
    """What marks on the ground say of the same, as found; null where they do not."""

    source: str
    distance: Banded90 | None = Field(default=None, description="From the last reading, m.")
    speed: Banded90 | None = None
    path_angle: Banded90 | None = None


class CauseEnding(Part):
    """The same with what the flights of one cause do after the last reading."""

    cause: CauseName
    probability: Fraction = Field(description="Odds of the cause.")
    broke: Fraction = Field(
        description="Share of the paths that pass ultimate load before the ground: from then on "
        "the path of the model is not trusted."
    )
    broke_time: Banded90 | None = Field(default=None, description="When these do, s after epoch.")
    ending: GroundEnding | None = Field(
        description="Of the paths that come down whole; null where hardly any does."
    )


class PartReleased(Part):
    """One part that was found, traced back to the paths."""

    name: str
    latitude: float
    longitude: float
    drag_area: float = Field(description="Drag coefficient times area over mass, m2/kg.")
    terminal_speed: float = Field(description="At the ground, m/s.")
    time: Banded90 = Field(description="Of release, s after the epoch.")
    height: Banded90 = Field(description="Of release, m above the sea.")
    nearest: float = Field(description="Least distance of a landing from the place, deviations.")
    airborne: Fraction = Field(description="Probability of release before the paths end.")
    source: str


class ReleaseOrder(Part):
    """Which of two parts came off first, by more than the width of one break-up."""

    first: str
    second: str
    probability: Fraction


class MissingPart(Part):
    """Where to look for a part."""

    name: str
    latitude: float = Field(description="Most likely place.")
    longitude: float
    area50: float = Field(description="Of the smallest region that holds 50%, m2.")
    area90: float
    assumed: Literal["as the parts found", "anywhere"] = Field(description="When it was released.")


class WreckageFindings(Part):
    """Where it came down."""

    file: str
    map_files: list[str] = Field(default=[], description="GeoJSON and KML.")
    ground: Literal["terrain", "stated"]
    last: float = Field(description="Last reading in the air, s after the epoch.")
    from_time: float = Field(description="Earliest release that is looked at, s after the epoch.")
    ending: GroundEnding
    marks: list[GroundMark] = Field(default=[], description="As found, to compare with it.")
    parts: list[PartReleased] = Field(default=[])
    order: list[ReleaseOrder] = Field(default=[])
    one: Fraction | None = Field(default=None, description="One break-up explains all, even odds.")
    together: Banded90 | None = Field(default=None, description="Its time if so.")
    in_flight: float | None = Field(
        default=None,
        description="ln of the Bayes factor: parts came off in flight, over carried to the ground.",
    )
    missing: list[MissingPart] = Field(default=[])
