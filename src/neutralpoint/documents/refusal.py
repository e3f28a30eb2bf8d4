"""The first thing wrong with a case file, as one error with key, line and what is allowed."""

from __future__ import annotations

import difflib
import re
import types
import typing
from typing import Any

from pydantic import BaseModel, ValidationError

from neutralpoint.documents.fields import INCOMPLETE
from neutralpoint.errors import CODES, NeutralPointError

HEADER = re.compile(r"\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?$")
KEY = re.compile(r"\s*([A-Za-z0-9_-]+|\"[^\"]*\")\s*=")
Path = tuple[str | int, ...]
MISSING, EMPTY, EXTRA, TAG = "missing", "too_short", "extra_forbidden", "union_tag"


def refusal(
    invalid: ValidationError, model: type[BaseModel], text: str, where: str, kind: str = "case"
) -> NeutralPointError:
    """What a validation found, in the four fields.

    Args:
        invalid: The failed validation.
        model: The model that was validated.
        text: The TOML text, for the line.
        where: Name of the file.
        kind: What the file describes: `case` or `airplane`.

    Returns:
        One error for the first fault; the number of further faults is said.
    """
    errors = sorted(invalid.errors(), key=_rank)
    first = errors[0]
    path = _path(first, model)
    line = line_of(text, path)
    place = f"{where}:{line}: {dotted(path)}" if line else f"{where}: {dotted(path)}"
    code, message, hint = _said(first, path, model, kind)
    others = len({_path(e, model) for e in errors} - {path})
    if others:
        hint = f"{hint} {others} more key(s) of the file need attention."
    return NeutralPointError(code, message, where=place, hint=hint)


def refusals(
    invalid: ValidationError, model: type[BaseModel], kind: str = "case"
) -> list[tuple[str, NeutralPointError]]:
    """Every fault that a validation found, for a form that shows each beside its field.

    Args:
        invalid: The failed validation.
        model: The model that was validated.
        kind: What the file describes.

    Returns:
        Dotted path and error of each key at fault, the first fault of each.
    """
    found: dict[str, NeutralPointError] = {}
    for error in sorted(invalid.errors(), key=_rank):
        path = _path(error, model)
        code, message, hint = _said(error, path, model, kind)
        place = dotted(path)
        found.setdefault(place, NeutralPointError(code, message, where=place, hint=hint))
    return list(found.items())


def dotted(path: Path) -> str:
    """A path as `tracks[1].columns.time`; entries are counted from 1."""
    out = ""
    for part in path:
        out += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if out else str(part)
    return out or "the file"


def line_of(text: str, path: Path) -> int | None:
    """Line of a key in a TOML text, or of the nearest table above it.

    Args:
        text: The TOML text.
        path: Keys and indices.

    Returns:
        Line counted from 1; None where nothing of the path is found.
    """
    places: dict[Path, int] = {}
    here: Path = ()
    counts: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if (header := HEADER.match(line)) is not None:
            here = _table(header[2], header[1] == "[[", counts)
            places.setdefault(here, number)
        elif (key := KEY.match(line)) is not None:
            places.setdefault((*here, key[1].strip('"')), number)
    for end in range(len(path), 0, -1):
        if path[:end] in places:
            return places[path[:end]]
    return None


def _table(name: str, entry: bool, counts: dict[str, int]) -> Path:
    """Path of a header; arrays of tables count their entries."""
    if entry:
        counts[name] = counts.get(name, -1) + 1
    path: list[str | int] = []
    parts = [part.strip().strip('"') for part in name.split(".")]
    for k, part in enumerate(parts):
        path.append(part)
        so_far = ".".join(parts[: k + 1])
        if so_far in counts:
            path.append(counts[so_far])
    return tuple(path)


def _rank(error: Any) -> int:
    """Unknown keys first: a misspelt key also leaves another key missing, and a list too short."""
    return {EXTRA: 0, MISSING: 2, INCOMPLETE: 2, EMPTY: 3}.get(error["type"], 1)


def _children(model: type[BaseModel], name: str) -> list[type[BaseModel]]:
    """Models that a key may hold, through options, entries and annotations."""
    for key, field in model.model_fields.items():
        if name in (key, field.alias):
            return _models(field.annotation)
    return []


def _models(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    origin = typing.get_origin(annotation)
    if origin is None and not isinstance(annotation, types.UnionType):
        return []
    return [found for part in typing.get_args(annotation) for found in _models(part)]


def _path(error: Any, model: type[BaseModel]) -> Path:
    """The path of an error without the names that pydantic adds for options of a union."""
    path: list[str | int] = []
    models: list[type[BaseModel]] = [model]
    location = error["loc"]
    for depth, part in enumerate(location):
        if isinstance(part, int) or any(part in _keys(m) for m in models):
            path.append(part)
            if isinstance(part, str):
                models = [c for m in models for c in _children(m, part)]
        elif depth == len(location) - 1 and error["type"] == EXTRA:
            path.append(part)
    return tuple(path)


def _keys(model: type[BaseModel]) -> list[str]:
    return [field.alias or key for key, field in model.model_fields.items()]


def _owner(path: Path, model: type[BaseModel], tag: str | None) -> list[str]:
    """Keys allowed in the table that holds the last key of a path."""
    models = [model]
    for part in path[:-1]:
        if isinstance(part, str):
            models = [c for m in models for c in _children(m, part)]
    chosen = [m for m in models if tag is not None and tag in str(m.model_fields.get("kind"))]
    return list(dict.fromkeys(k for m in chosen or models for k in _keys(m)))


def _said(error: Any, path: Path, model: type[BaseModel], file: str) -> tuple[str, str, str]:
    kind, key = error["type"], dotted(path)
    invalid = f"{file}-invalid"
    tag = next((p for p in error["loc"] if isinstance(p, str) and p not in path), None)
    if kind == EXTRA:
        allowed = _owner(path, model, tag)
        near = difflib.get_close_matches(str(path[-1]), allowed, n=1, cutoff=0.5)
        hint = f"Did you mean `{near[0]}`? " if near else ""
        return (
            invalid,
            f"There is no key `{key}` in the {file} file.",
            f"{hint}Allowed here: {', '.join(allowed)}.",
        )
    lacking = INCOMPLETE if file == "case" else invalid
    if kind == MISSING:
        return lacking, f"The key `{key}` is missing.", "It has no default: give it."
    if kind == EMPTY:
        return lacking, f"`{key}` holds no entry.", "Give at least one."
    if kind.startswith(TAG):
        return (
            invalid,
            f"`{key}`: the key `kind` is missing or not known.",
            f"Allowed: {error.get('ctx', {}).get('expected_tags', '')}.",
        )
    if kind in CODES:
        return kind, f"`{key}`: {error['ctx']['found']}", error["ctx"]["hint"]
    message = error["msg"].removeprefix("Value error, ")
    given = _shown(error.get("input"))
    return invalid, f"`{key}` is {given}: {message}.", f"See docs/reference/{file}-file.md."


def _shown(value: object) -> str:
    """A value as it was given, cut short; a number may have more digits than Python prints."""
    try:
        return repr(value)[:60]
    except ValueError:
        return "a number of thousands of digits"
