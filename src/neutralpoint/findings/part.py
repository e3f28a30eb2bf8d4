"""What every part of the findings document has in common."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Kind = Literal["fact", "derived", "inferred"]
Fraction = Annotated[float, Field(ge=0.0, le=1.0)]
Digest = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class Part(BaseModel):
    """A part of the document: unknown keys are refused, numbers are finite."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
