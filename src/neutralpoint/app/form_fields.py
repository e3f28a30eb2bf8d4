"""The fields of a case, from the schema of the case file itself: nothing here knows a key by name.

A field's path is written as errors write it, `tracks[1].utc_offset`; entries count from 1.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from neutralpoint.case import CaseDocument

PART = re.compile(r"([A-Za-z0-9_-]{1,60})(?:\[(\d{1,3})\])?")
CLOCK = re.compile(r"[0-9][0-9T:Zz.+\- ]{4,39}")
LONGEST = 2000  # characters of a value
Key = tuple[str | int, ...]


@dataclass(frozen=True)
class Field:
    """One value that an analyst may write.

    Attributes:
        key: Tables, entries (from 0) and key.
        kind: `text`, `quantity`, `choice`, `time`, `date`, `number` or `flag`.
        unit: SI unit of a quantity.
        help: From the schema.
        choices: Of a choice.
        required: Whether there is no default.
        default: As it would be written.
        share: Whether it is a number between 0 and 1, which may be written in percent.
    """

    key: Key
    kind: str
    unit: str
    help: str
    choices: tuple[str, ...]
    required: bool
    default: str
    share: bool = False

    @property
    def path(self) -> str:
        """The path as errors write it."""
        return path_of(self.key)


def path_of(key: Key) -> str:
    """A key as `tracks[1].utc_offset`."""
    out = ""
    for part in key:
        out += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if out else str(part)
    return out


def key_of(path: str) -> Key | None:
    """The key that a path means; None where it is no path."""
    key: list[str | int] = []
    for text in path.split("."):
        match = PART.fullmatch(text)
        if match is None or match[2] == "0":
            return None
        key.append(match[1])
        if match[2] is not None:
            key.append(int(match[2]) - 1)
    return tuple(key)


@cache
def schema() -> dict[str, Any]:
    """The JSON schema of the case file."""
    return CaseDocument.model_json_schema()


def arrays() -> list[str]:
    """Keys that hold entries, such as `tracks`."""
    return [key for key, about in schema()["properties"].items() if about.get("type") == "array"]


def tables() -> list[str]:
    """Keys that hold one table, such as `airplane`."""
    return [key for key, about in schema()["properties"].items() if _resolved(about).get("$ref")]


def kinds_of(array: str) -> list[str]:
    """Kinds that an entry may have; one empty kind where there is one sort of entry only."""
    about = schema()["properties"][array]["items"]
    found = [kind for part in about.get("oneOf", ()) for kind in _kinds(_model(part))]
    return found or [""]


def fields(key: Key, kind: str = "") -> Iterator[Field]:
    """Fields of a table or an entry.

    Args:
        key: Where it stands; empty for the file itself.
        kind: Of an entry that may be of several.

    Yields:
        Each plain field; tables within are left to `case.toml` as text.
    """
    if not key:
        model = schema()
    elif isinstance(key[-1], int):
        about = schema()["properties"][key[0]]["items"]
        parts = [_model(part) for part in about.get("oneOf", (about,))]
        model = next((m for m in parts if kind in (*_kinds(m), "")), parts[0])
    else:
        model = _model(_resolved(schema()["properties"][key[-1]]))
    needed = model.get("required", ())
    for name, about in model["properties"].items():
        found = _field((*key, name), about, name in needed)
        if found is not None:
            yield found


def written(value: Any) -> str:
    """A TOML value as an analyst would write it, without quotes."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if hasattr(value, "isoformat"):
        return tomlkit.item(value).as_string() if hasattr(value, "hour") else value.isoformat()
    return str(value)


def read_value(field: Field, text: str) -> Any:
    """The TOML value that a text means for a field.

    Args:
        field: The field.
        text: As typed.

    Returns:
        A value to be put into the document.

    Raises:
        ValueError: With a message and a hint, where the text cannot be such a value.
    """
    if len(text) > LONGEST or any(ord(c) < 32 and c not in "\n\t" for c in text):
        raise ValueError(f"The text is longer than {LONGEST} characters or not plain text.", "")
    if field.kind == "flag":
        if text not in ("true", "false"):
            raise ValueError(f"{text[:40]!r} is neither true nor false.", "Say true or false.")
        return text == "true"
    if field.kind == "choice" and text not in field.choices:
        raise ValueError(f"{text[:40]!r} is no choice.", f"Allowed: {', '.join(field.choices)}.")
    if field.kind in ("time", "date"):
        return _moment(text, field.kind)
    if field.kind == "number":
        return _number(field, text)
    return text


def _number(field: Field, text: str) -> int | float:
    """A number, in percent where it is a share: "95%" is 0.95."""
    digits = text.rstrip()
    percent = field.share and digits.endswith("%")
    try:
        if percent:
            # Shifted in decimal, so that the file reads as it was typed.
            return float(Decimal(digits[:-1].strip()).scaleb(-2))
        return int(text) if re.fullmatch(r"[+-]?\d{1,18}", text) else float(text)
    except (ValueError, ArithmeticError):
        example = "0.5 or 50%" if field.share else "0.5"
        raise ValueError(f"{text[:40]!r} is no number.", f"Write digits, as {example}.") from None


def _moment(text: str, kind: str) -> Any:
    example = "2031-05-01" if kind == "date" else "18:54:30 or 2031-04-14T18:54:30Z"
    try:
        if CLOCK.fullmatch(text) is None:
            raise ValueError
        value = tomlkit.parse(f"x = {text}\n")["x"]
    except (ValueError, TOMLKitError):
        value = None
    if not hasattr(value, "isoformat"):
        raise ValueError(f"{text[:40]!r} is no {kind}.", f"Write it as {example}.")
    return value


def _field(key: Key, about: dict[str, Any], required: bool) -> Field | None:
    plain = _resolved(about)
    kind = _kind(plain)
    if kind is None:
        return None
    choices = tuple(
        str(c) for c in plain.get("enum", (plain["const"],) if "const" in plain else ())
    )
    default = about.get("default")
    if isinstance(default, dict):
        default = default.get("text") or None
    return Field(
        key=key,
        kind=kind,
        unit=plain.get("unit", ""),
        help=about.get("description", ""),
        choices=choices if kind == "choice" else (),
        required=required,
        default="" if default is None else written(default),
        share=1 in (plain.get("maximum"), plain.get("exclusiveMaximum")),
    )


def _kind(about: dict[str, Any]) -> str | None:
    """What sort of value a schema asks for; None for tables and lists."""
    if "unit" in about:
        return "quantity"
    if "enum" in about or isinstance(about.get("const"), str):
        return "choice"
    formats = [part.get("format", "") for part in about.get("anyOf", (about,))]
    if "time" in formats or "date-time" in formats:
        return "time"
    if formats == ["date"]:
        return "date"
    named = {"boolean": "flag", "number": "number", "integer": "number", "string": "text"}
    return named.get(about.get("type", "")) if "const" not in about else None


def _resolved(about: dict[str, Any]) -> dict[str, Any]:
    """A schema without its null option."""
    parts = [part for part in about.get("anyOf", ()) if part.get("type") != "null"]
    return parts[0] if len(parts) == 1 else {**about, "anyOf": parts} if parts else about


def _model(about: dict[str, Any]) -> dict[str, Any]:
    name = about.get("$ref", "").rsplit("/", 1)[-1]
    return schema()["$defs"].get(name, about)


def _kinds(model: dict[str, Any]) -> list[str]:
    kind = model.get("properties", {}).get("kind", {})
    return [str(kind["const"])] if "const" in kind else [str(k) for k in kind.get("enum", ())]
