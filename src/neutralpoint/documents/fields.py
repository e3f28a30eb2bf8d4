"""Field types that the tables of case and airplane files share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from neutralpoint.documents.quantity import Uncertain, parse_quantity
from neutralpoint.errors import NeutralPointError

# Code of what a case does not hold yet, against what it holds and must not.
INCOMPLETE = "case-incomplete"


def refused(code: str, found: str, hint: str) -> PydanticCustomError:
    """What a validator raises: the fields of an error that it knows; the place comes later.

    Args:
        code: Key of `CODES`.
        found: What was found.
        hint: What is allowed.

    Returns:
        An error whose type is the code.
    """
    return PydanticCustomError(code, "{found}", {"found": found, "hint": hint})  # pyright: ignore


@dataclass(frozen=True)
class Unit:
    """Reads a quantity, given as text with unit and optional +-, into an SI unit.

    Attributes:
        name: The SI unit; empty for a pure number.
    """

    name: str

    def parsed(self, value: object) -> Uncertain:
        """The quantity in this unit.

        Args:
            value: As the file has it.

        Returns:
            Value and standard deviation.
        """
        if isinstance(value, Uncertain):
            return value
        try:
            return parse_quantity(value, self.name)
        except NeutralPointError as error:
            raise refused(error.code, error.message, error.hint) from error

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_before_validator_function(self.parsed, handler(source))

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {"type": "string", "unit": self.name}


Length = Annotated[Uncertain, Unit("m")]
Area = Annotated[Uncertain, Unit("m2")]
Mass = Annotated[Uncertain, Unit("kg")]
MassFlow = Annotated[Uncertain, Unit("kg/s")]
Inertia = Annotated[Uncertain, Unit("kg m2")]
Angle = Annotated[Uncertain, Unit("rad")]
AngleRate = Annotated[Uncertain, Unit("rad/s")]
Gearing = Annotated[Uncertain, Unit("rad/m")]
Force = Annotated[Uncertain, Unit("N")]
ForcePerAngle = Annotated[Uncertain, Unit("N/rad")]
ForcePerAnglePressure = Annotated[Uncertain, Unit("N/rad/Pa")]
Moment = Annotated[Uncertain, Unit("N m")]
Power = Annotated[Uncertain, Unit("W")]
Pressure = Annotated[Uncertain, Unit("Pa")]
Speed = Annotated[Uncertain, Unit("m/s")]
Temperature = Annotated[Uncertain, Unit("K")]
Duration = Annotated[Uncertain, Unit("s")]
Pure = Annotated[Uncertain, Unit("")]

Text = Annotated[str, Field(min_length=1, max_length=2000)]
FileName = Annotated[str, Field(min_length=1, max_length=255)]


class Section(BaseModel):
    """A table of the case file: no key that is not named."""

    model_config = ConfigDict(extra="forbid", frozen=True)
