"""What an airplane file says about where its numbers come from.

`[sources.wing] area = "..."` speaks of `wing.area`; the key "*" speaks of every other key of its
table. Tables that repeat (engines, items, tanks, tones, envelopes) share one entry.
"""

from __future__ import annotations

import typing
from collections.abc import Iterator

from pydantic import BaseModel

from neutralpoint.airplane_file.document import AirplaneDocument
from neutralpoint.airplane_file.sections import GIVABLE
from neutralpoint.documents.quantity import Uncertain
from neutralpoint.errors import NeutralPointError

NO_SOURCE = "given, no source"


def source_of(document: AirplaneDocument, table: str, key: str) -> str:
    """What the file says about a key; `NO_SOURCE` where it says nothing.

    Args:
        document: The file.
        table: Dotted name of the table, such as `aerodynamics.given`.
        key: Key in it.
    """
    node: object = document.sources
    for part in table.split("."):
        node = node.get(part) if isinstance(node, dict) else None
    if not isinstance(node, dict):
        return NO_SOURCE
    found = node.get(key, node.get("*"))
    return found if isinstance(found, str) else NO_SOURCE


def check_sources(document: AirplaneDocument, place: str) -> None:
    """Refuse a source of something that the file cannot hold.

    Args:
        document: The file.
        place: What errors call it.

    Raises:
        NeutralPointError: A source names no key of the schema, or is not text.
    """
    for path, text in _leaves(document.sources, ()):
        if not isinstance(text, str) or not _exists(path):
            name = ".".join(path)
            raise NeutralPointError(
                "airplane-invalid",
                f"[sources] speaks of {name!r}, which is no key of an airplane file.",
                where=f"{place}: sources.{name}",
                hint='Write table and key: [sources.wing], then area = "data sheet".',
            )


def given_numbers(document: AirplaneDocument) -> list[tuple[str, str, str]]:
    """Dotted key, text and source of every quantity that the file gives."""
    return [
        (f"{table}.{key}", text, " ".join(source_of(document, table, key).split()))
        for table, key, text in _given(document, "")
    ]


def _leaves(node: object, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], object]]:
    if isinstance(node, dict):
        for key, value in node.items():
            yield from _leaves(value, (*path, str(key)))
    else:
        yield path, node


def _exists(path: tuple[str, ...]) -> bool:
    """Whether a dotted path is a key of the schema ("*" stands for any)."""
    model: type[BaseModel] | None = AirplaneDocument
    for part in path[:-1]:
        if part == "given" and model is not None:
            return path[-1] == "*" or path[-1] in GIVABLE
        model = _child(model, part)
    return model is not None and (path[-1] == "*" or path[-1] in _keys(model))


def _keys(model: type[BaseModel]) -> set[str]:
    return {field.alias or name for name, field in model.model_fields.items()}


def _child(model: type[BaseModel] | None, key: str) -> type[BaseModel] | None:
    """The model of a table inside a model, through options and repetitions."""
    field = model.model_fields.get(key) if model is not None else None
    options = [field.annotation] if field is not None else []
    while options:
        option = options.pop()
        if isinstance(option, type) and issubclass(option, BaseModel):
            return option
        options += typing.get_args(option)
    return None


def _given(section: BaseModel, table: str) -> Iterator[tuple[str, str, str]]:
    """(table, key, text) of every quantity that was written, not defaulted."""
    for key in sorted(section.model_fields_set - {"sources"}):
        yield from _written(getattr(section, key), table, key)


def _written(value: object, table: str, key: str) -> Iterator[tuple[str, str, str]]:
    name = f"{table}.{key}".lstrip(".")
    if isinstance(value, Uncertain):
        yield table, key, value.text
    elif isinstance(value, BaseModel):
        yield from _given(value, name)
    elif isinstance(value, dict):
        yield from ((name, inner, number.text) for inner, number in value.items())
    elif isinstance(value, tuple) and all(isinstance(entry, BaseModel) for entry in value):
        for entry in value:
            yield from _given(entry, name)
    elif isinstance(value, tuple):
        points = [" at ".join(number.text for number in pair) for pair in value]
        yield table, key, "; ".join(points)
