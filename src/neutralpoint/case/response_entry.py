"""What the analyst states about time and strength in `case.toml`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from neutralpoint.documents.fields import Duration, Height, Section


class ResponseEntry(Section):
    """What `response` starts from; every key may be left out."""

    height: Height | None = Field(
        default=None, description="Above the ground when the fault begins; 3000 ft where left out."
    )
    reaction: Duration | None = Field(
        default=None,
        description="Median time from recognition to the first action, as the analyst states it; "
        "4 s where left out, analyst's estimate, no published distribution.",
    )
    reaction_spread: Annotated[float, Field(ge=0.0, le=2.0)] = Field(
        default=0.5, description="Standard deviation of its logarithm."
    )
    reaction_source: str = Field(default="", description="Where the reaction time is from.")
    causes: tuple[str, ...] = Field(
        default=(),
        description="Names of causes; those that the required moment leaves where left out.",
    )
