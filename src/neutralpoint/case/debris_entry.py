"""`[[debris]]`: parts of the airplane that were found away from it, or are missing."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field, model_validator

from neutralpoint.documents.fields import (
    Angle,
    Area,
    Height,
    Mass,
    PlaceError,
    Pure,
    Section,
    Text,
    refused,
)
from neutralpoint.documents.quantity import Uncertain, parse_quantity


def _positive(value: Uncertain) -> Uncertain:
    if value.value <= 0.0:
        raise refused("quantity-range", f"{value.text!r} is not above zero.", "Give more than 0.")
    return value


class DebrisEntry(Section):
    """One part: what it weighs and how the air brakes it, and where it was found.

    A part without a place is missing: the study then says where to look for it.
    """

    name: Text = Field(description="What it is.")
    mass: Annotated[Mass, AfterValidator(_positive)] = Field(description="Of the part.")
    area: Annotated[Area, AfterValidator(_positive)] = Field(
        description="That the drag coefficient refers to."
    )
    drag: Annotated[Pure, AfterValidator(_positive)] = Field(
        description="Drag coefficient of the tumbling part, with +-: some 1.28 for a plate held "
        "across, 0.5 for a slow ball and less for a fast one (NASA Glenn, Shape Effects on Drag); "
        "a tumbling plate about half of one held across (from memory)."
    )
    latitude: Angle | None = Field(default=None, description="Where it was found.")
    longitude: Angle | None = Field(default=None, description="Where it was found.")
    place_error: PlaceError = Field(
        default=parse_quantity("20 m", "m"), description="95% half-width of the place."
    )
    height: Height | None = Field(
        default=None, description="Of the ground there above the sea; from the terrain otherwise."
    )
    source: Text = Field(description="Who measured and weighed it.")

    @model_validator(mode="after")
    def whole_place(self) -> DebrisEntry:
        """A place has two coordinates."""
        if (self.latitude is None) != (self.longitude is None):
            raise refused(
                "case-invalid",
                f"the part {self.name!r} has half a place.",
                "Give latitude and longitude, or neither where the part is missing.",
            )
        return self

    @property
    def missing(self) -> bool:
        """Whether it was not found."""
        return self.latitude is None
