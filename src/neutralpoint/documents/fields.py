"""Field types that the tables of case and airplane files share."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date as Day
from datetime import datetime as Moment
from datetime import time as Clock
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
)
from pydantic_core import PydanticCustomError, core_schema

from neutralpoint.documents.quantity import Uncertain, parse_quantity
from neutralpoint.documents.ranges import FIRST_YEAR, LAST_YEAR, RANGES
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
class Kind:
    """Reads a quantity, given as text with unit and optional +-, into SI, within its range.

    Attributes:
        name: Key of `RANGES`.
    """

    name: str

    def parsed(self, value: object) -> Uncertain:
        """The quantity in its SI unit.

        Args:
            value: As the file has it.

        Returns:
            Value and standard deviation.
        """
        if isinstance(value, Uncertain):
            return value
        bounds = RANGES[self.name]
        try:
            found = parse_quantity(value, bounds.unit, difference=bounds.difference)
        except NeutralPointError as error:
            raise refused(error.code, error.message, error.hint) from error
        if not bounds.holds(found.value, found.sigma):
            raise refused(
                "quantity-range",
                f"{found.text!r} is out of range.",
                f"Allowed: {bounds.words()}, and +- at most the width of that.",
            )
        return found

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_before_validator_function(self.parsed, handler(source))

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        bounds = RANGES[self.name]
        return {"type": "string", "unit": bounds.unit, "range": bounds.words()}


def _dated(value: Clock | Moment | Day) -> Clock | Moment | Day:
    """A time whose date, where it has one, is of the years that records are from."""
    if not isinstance(value, Clock) and not FIRST_YEAR <= value.year <= LAST_YEAR:
        raise refused(
            "quantity-range",
            f"the year {value.year} is out of range.",
            f"Allowed: {FIRST_YEAR} to {LAST_YEAR}.",
        )
    return value


def _no_number(value: object) -> object:
    """Refuse a number in place of a time: seconds of what, nobody said."""
    if isinstance(value, int | float):
        raise refused(
            "case-invalid",
            f"{value} is a number, no time.",
            "Write 18:54:30, 2031-04-14 or 2031-04-14T18:54:30Z, without quotes.",
        )
    return value


When = Annotated[Clock | Moment, BeforeValidator(_no_number), AfterValidator(_dated)]
Date = Annotated[Day, BeforeValidator(_no_number), AfterValidator(_dated)]
DateTime = Annotated[Moment, BeforeValidator(_no_number), AfterValidator(_dated)]
Height = Annotated[Uncertain, Kind("height")]
Station = Annotated[Uncertain, Kind("station")]
Undulation = Annotated[Uncertain, Kind("undulation")]
AltimeterError = Annotated[Uncertain, Kind("altimeter error")]
PlaceError = Annotated[Uncertain, Kind("place error")]
Area = Annotated[Uncertain, Kind("area")]
Mass = Annotated[Uncertain, Kind("mass")]
MassFlow = Annotated[Uncertain, Kind("fuel flow")]
Inertia = Annotated[Uncertain, Kind("inertia")]
Angle = Annotated[Uncertain, Kind("angle")]
AngleRate = Annotated[Uncertain, Kind("angle rate")]
Gearing = Annotated[Uncertain, Kind("gearing")]
Force = Annotated[Uncertain, Kind("force")]
ForcePerAngle = Annotated[Uncertain, Kind("force per angle")]
ForcePerAnglePressure = Annotated[Uncertain, Kind("feel")]
PitchingMoment = Annotated[Uncertain, Kind("moment")]
Power = Annotated[Uncertain, Kind("power")]
Pressure = Annotated[Uncertain, Kind("pressure")]
Speed = Annotated[Uncertain, Kind("speed")]
Wind = Annotated[Uncertain, Kind("wind")]
WindError = Annotated[Uncertain, Kind("wind error")]
Temperature = Annotated[Uncertain, Kind("temperature")]
TemperatureError = Annotated[Uncertain, Kind("temperature error")]
TemperatureDeviation = Annotated[Uncertain, Kind("temperature deviation")]
PositionAge = Annotated[Uncertain, Kind("position age")]
Zone = Annotated[Uncertain, Kind("zone")]
ClockOffset = Annotated[Uncertain, Kind("clock offset")]
TimeError = Annotated[Uncertain, Kind("time error")]
Duration = Annotated[Uncertain, Kind("reaction")]
Pure = Annotated[Uncertain, Kind("number")]
LiftSlope = Annotated[Uncertain, Kind("lift slope")]
MaximumLift = Annotated[Uncertain, Kind("maximum lift")]
AspectRatio = Annotated[Uncertain, Kind("aspect ratio")]

Text = Annotated[str, Field(min_length=1, max_length=2000)]
FileName = Annotated[str, Field(min_length=1, max_length=255)]


class Section(BaseModel):
    """A table of the case file: no key that is not named."""

    model_config = ConfigDict(extra="forbid", frozen=True)
