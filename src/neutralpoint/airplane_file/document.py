"""The airplane file: what an analyst may write, and how it is refused.

Quantities are strings with a unit and an optional +- value, which is the half-width of a 95%
interval; a number without +- counts as certain.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from pydantic import Field, ValidationError

from neutralpoint.airplane.inertia import AirplaneClass
from neutralpoint.airplane_file.catalogue import airplane_text
from neutralpoint.airplane_file.sections import (
    Aerodynamics,
    Aileron,
    Body,
    ColumnSection,
    Elevator,
    Empty,
    EngineSection,
    EnvelopeSection,
    ItemSection,
    LimitsSection,
    Rudder,
    Surface,
    Tail,
    TankSection,
    ToneSection,
    Trim,
    Wing,
)
from neutralpoint.documents.fields import Section
from neutralpoint.documents.refusal import refusal
from neutralpoint.documents.toml import TomlRefused, read_toml
from neutralpoint.errors import NeutralPointError


class AirplaneDocument(Section):
    """A whole airplane file.

    Estimates need wing, tail, fin, fuselage, aileron and rudder; a file without one of them gives
    its derivatives instead.
    """

    schema_version: Literal[1] = Field(alias="schema", description="Version of this format.")
    name: str = Field(description="Name.")
    description: str = Field("", description="What it is.")
    airplane_class: AirplaneClass = Field(alias="class", description="For the estimate of inertia.")
    wing: Wing = Field(description="Wing.")
    tail: Tail | None = Field(None, description="Horizontal tail.")
    fin: Surface | None = Field(None, description="Vertical tail.")
    fuselage: Body | None = Field(None, description="Fuselage.")
    aileron: Aileron | None = Field(None, description="Ailerons.")
    elevator: Elevator = Field(description="Elevator.")
    rudder: Rudder | None = Field(None, description="Rudder.")
    column: ColumnSection = Field(description="Column.")
    aerodynamics: Aerodynamics = Field(description="Aerodynamics.")
    engines: tuple[EngineSection, ...] = Field(description="Engines.")
    trim: Trim = Field(description="Pitch trim.")
    limits: LimitsSection = Field(description="Limits.")
    empty: Empty = Field(description="Empty airplane.")
    items: tuple[ItemSection, ...] = Field((), description="Load.")
    tanks: tuple[TankSection, ...] = Field((), description="Fuel.")
    tones: tuple[ToneSection, ...] = Field((), description="Tones of warnings and of the trim.")
    envelopes: tuple[EnvelopeSection, ...] = Field((), description="Center-of-gravity limits.")
    sources: dict[str, Any] = Field(
        default_factory=dict,
        description="Where numbers come from, table by table as above.",
    )


def read_airplane(file: str | Path) -> AirplaneDocument:
    """An airplane file, or one of the catalogue by its name.

    Args:
        file: Path, or a name of `catalogue_names`.

    Raises:
        NeutralPointError: No such file, not TOML, or a key or value that the schema refuses.
    """
    text, place = airplane_text(file)
    return parse_airplane(text, place)


def parse_airplane(text: str, place: str) -> AirplaneDocument:
    """The document in a TOML text.

    Args:
        text: TOML.
        place: What errors call it.

    Raises:
        NeutralPointError: Not TOML, or a key or value that the schema refuses (the first one).
    """
    try:
        table = read_toml(text)
    except TomlRefused as error:
        raise NeutralPointError(
            "airplane-invalid",
            f"The file is not valid TOML: {error}.",
            where=place,
            hint='Strings need quotes: area = "28.0 m2 +- 0.1 m2".',
        ) from error
    try:
        return AirplaneDocument.model_validate(table)
    except ValidationError as error:
        raise refusal(error, AirplaneDocument, text, place, kind="airplane") from error
