"""Facts of the flight in `case.toml` that exclude causes."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from neutralpoint.documents.fields import Mass, Section, TemperatureError, When


class FactsEntry(Section):
    """What is known of the flight beside its track; a key left out excludes nothing."""

    crew: Annotated[int, Field(ge=0, le=9)] | None = Field(
        default=None, description="How many people on board could fly the airplane."
    )
    autopilot: Literal["working", "none"] | None = Field(
        default=None, description="Whether an autopilot was fitted and working."
    )
    light: Literal["day", "night"] | None = Field(default=None, description="Day or night.")
    sky: Literal["clear", "cloud"] | None = Field(
        default=None,
        description="`clear` where the horizon was in sight all the time, `cloud` where any of the "
        "flight was without it.",
    )
    dew_point_spread: TemperatureError | None = Field(
        default=None, description="Smallest temperature less dew point along the flight, in K."
    )
    load_moves: Literal["no", "aft", "forward", "either"] | None = Field(
        default=None, description="Which way load on board could have moved."
    )
    fuel: Mass | None = Field(default=None, description="Usable fuel when the upset began.")
    takeoff: When | None = Field(default=None, description="When it lifted off, UTC.")
    source: str = Field(default="", description="Where they are recorded.")
