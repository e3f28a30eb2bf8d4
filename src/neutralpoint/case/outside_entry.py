"""`[outside]`: causes and examinations of other packages that a study of the case runs."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, field_validator

from neutralpoint.documents.fields import Section, refused

MOST = 12  # of each: their sentences stand in the report
Plugged = Annotated[str, Field(min_length=1, max_length=60)]


class OutsideEntry(Section):
    """Names of plug-ins; only what is installed beside the program runs."""

    causes: tuple[Plugged, ...] = Field(
        default=(),
        max_length=MOST,
        description="Judged by the required moment; they have no share of the odds.",
    )
    examinations: tuple[Plugged, ...] = Field(
        default=(), max_length=MOST, description="Of the results of all stages."
    )

    @field_validator("causes", "examinations")
    @classmethod
    def once(cls, names: tuple[str, ...]) -> tuple[str, ...]:
        """Each name stands once."""
        double = next((name for name in names if names.count(name) > 1), None)
        if double is not None:
            raise refused("case-invalid", f"{double!r} is named twice.", "Keep one of them.")
        return names
