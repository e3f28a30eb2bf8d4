"""The airplane file: what an analyst may write, and how it is refused.

Quantities are strings with a unit and an optional +- value, which is the half-width of a 95%
interval; a number without +- counts as certain.
"""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, ValidationError

from neutralpoint.airplane.inertia import AirplaneClass
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
    Trim,
    Wing,
)
from neutralpoint.documents.fields import Section
from neutralpoint.documents.refusal import refusal
from neutralpoint.documents.toml import TomlRefused, read_toml
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import system_refusal

LARGEST = 1_000_000  # bytes
CATALOGUE = resources.files("neutralpoint.airplane") / "catalogue"


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
    envelopes: tuple[EnvelopeSection, ...] = Field((), description="Center-of-gravity limits.")
    sources: dict[str, Any] = Field(
        default_factory=dict,
        description="Where numbers come from, table by table as above.",
    )


def catalogue_names() -> tuple[str, ...]:
    """Names of the airplanes that come with the package."""
    files = (entry.name for entry in CATALOGUE.iterdir())
    return tuple(sorted(name[:-5] for name in files if name.endswith(".toml")))


def read_airplane(file: str | Path) -> AirplaneDocument:
    """An airplane file, or one of the catalogue by its name.

    Args:
        file: Path, or a name of `catalogue_names`.

    Raises:
        NeutralPointError: No such file, not TOML, or a key or value that the schema refuses.
    """
    if str(file) in catalogue_names():
        place = f"catalogue {file}"
        text = (CATALOGUE / f"{file}.toml").read_text(encoding="utf-8")
    else:
        place, text = str(file), _text(Path(file))
    return parse_airplane(text, place)


def _text(path: Path) -> str:
    try:
        size = path.stat().st_size
        if size <= LARGEST:
            return path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise NeutralPointError(
            "file-missing",
            f"There is no airplane file {path}.",
            where=str(path),
            hint=f"Give a path, or a catalogue name: {', '.join(catalogue_names())}.",
        ) from error
    except OSError as error:
        raise system_refusal(error, path) from error
    except UnicodeDecodeError as error:
        raise NeutralPointError(
            "file-format",
            f"{path} cannot be read as text: {error}.",
            where=str(path),
            hint="An airplane file is TOML in UTF-8.",
        ) from error
    raise NeutralPointError(
        "file-too-large",
        f"{path} has {size} bytes.",
        where=str(path),
        hint=f"An airplane file has a few thousand; {LARGEST} are read.",
    )


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
