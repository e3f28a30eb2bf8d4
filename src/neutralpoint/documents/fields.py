"""Field types that the tables of the case file share."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from neutralpoint.documents.quantity import Uncertain, parse_quantity
from neutralpoint.errors import NeutralPointError

# Code of what a case does not hold yet, against what it holds and must not.
INCOMPLETE = "case-incomplete"


def quantity(unit: str) -> Any:
    """Field type of a quantity in an SI unit, given as text with unit and optional +-."""

    def parse(value: object) -> Uncertain:
        if isinstance(value, Uncertain):
            return value
        try:
            return parse_quantity(value, unit)
        except NeutralPointError as error:
            raise ValueError(f"{error.code}|{error.message}|{error.hint}") from error

    shown = WithJsonSchema({"type": "string", "unit": unit})
    return Annotated[Uncertain, BeforeValidator(parse), shown]


Text = Annotated[str, Field(min_length=1, max_length=2000)]
FileName = Annotated[str, Field(min_length=1, max_length=255)]


class Section(BaseModel):
    """A table of the case file: no key that is not named."""

    model_config = ConfigDict(extra="forbid", frozen=True)
