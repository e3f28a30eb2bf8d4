"""The case as a form: fields in groups, and the values of a form put back into `case.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.items import AoT, Table

from neutralpoint.app.form_fields import (
    Field,
    Key,
    arrays,
    fields,
    key_of,
    kinds_of,
    path_of,
    read_value,
    tables,
    written,
)

TITLES = {
    "airplane": "Airplane",
    "analysis": "What the analyst settled",
    "facts": "Facts of the flight that exclude causes",
    "response": "Reaction and height, for Time to act",
    "tracks": "Track",
    "weather": "Weather",
    "terrain": "Heights of the ground",
    "clocks": "Clock",
    "events": "Event",
    "prior": "Prior weight",
    "evidence": "Evidence beside the track",
}
MOST_ENTRIES = 200


def form_of(text: str) -> dict[str, Any]:
    """The form of a case.

    Args:
        text: Of `case.toml`; valid TOML.

    Returns:
        `groups` of what is there, and `addable`: what an entry more would hold.
    """
    table = tomllib.loads(text)
    groups = [_group("The case", (), table, "")]
    groups += [_group(_title(name), (name,), _table(table.get(name)), "") for name in tables()]
    addable = []
    for name in arrays():
        entries = table.get(name, [])
        for index, entry in enumerate(entries if isinstance(entries, list) else []):
            entry = _table(entry)
            title = f"{_title(name)} {index + 1}"
            about = entry.get("file") or entry.get("kind") or ""
            title = f"{title}: {about}" if about else title
            groups.append(_group(title, (name, index), entry, _kind(name, entry)))
        fresh = (name, len(entries))
        addable.append(
            {
                "path": path_of(fresh),
                "title": _title(name),
                "kinds": [
                    {"kind": kind, **_group(_title(name), fresh, {"kind": kind}, kind)}
                    for kind in kinds_of(name)
                ],
            }
        )
    return {"groups": groups, "addable": addable}


def filled(text: str, values: Mapping[str, Any]) -> tuple[str, list[dict[str, str]]]:
    """`case.toml` with values of the form put in; everything else stays letter by letter.

    Args:
        text: Of `case.toml`; valid TOML.
        values: Text by path; an empty text takes a key out. None takes a whole entry out, and
            a path one beyond the last entry makes a new one.

    Returns:
        The new text, and a fault for every path that is none and every text that its field does
        not take; those are not in the text.
    """
    document = tomlkit.parse(text)
    errors: list[dict[str, str]] = []
    gone: list[tuple[str, int]] = []
    for path, value in values.items():
        key = key_of(path)
        try:
            if key is None:
                raise ValueError("There is no such field.", "Load the page again.")
            if value is None:
                gone.append(_entry(document, key))
            else:
                _put(document, _field(document, key, values), _as_text(value))
        except ValueError as wrong:
            message, hint = (*wrong.args, "")[:2]
            errors.append({"path": path, "message": str(message), "hint": str(hint)})
    for name, index in sorted(gone, key=lambda key: -key[1]):
        del document[name][index]
        if not document[name]:
            del document[name]
    return tomlkit.dumps(document), errors


def _group(title: str, key: Key, values: Mapping[str, Any], kind: str) -> dict[str, Any]:
    shown = [_shown(field, values.get(str(field.key[-1]))) for field in fields(key, kind)]
    return {"title": title, "path": path_of(key), "fields": shown}


def _shown(field: Field, value: Any) -> dict[str, Any]:
    plain = value is not None and not isinstance(value, dict | list)
    return {
        "path": field.path,
        "label": str(field.key[-1]).replace("_", " "),
        "value": written(value) if plain else "",
        "kind": field.kind if field.kind not in ("date", "number") else "text",
        "unit": field.unit,
        "help": field.help,
        "choices": list(field.choices),
        "required": field.required,
        "default": field.default,
    }


def _title(name: str) -> str:
    return TITLES.get(name, name.replace("_", " ").capitalize())


def _table(value: Any) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}


def _kind(array: str, entry: Mapping[str, Any]) -> str:
    kinds = kinds_of(array)
    kind = str(entry.get("kind", ""))
    return kind if kind in kinds else kinds[0]


def _as_text(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str | int | float):
        return str(value).strip()
    raise ValueError("The value is no text.", "Load the page again.")


def _entry(document: tomlkit.TOMLDocument, key: Key) -> tuple[str, int]:
    """An entry of a list that is there."""
    there = len(key) == 2 and key[0] in arrays() and isinstance(key[1], int)
    if not there or not 0 <= int(key[1]) < len(document.get(str(key[0]), [])):
        raise ValueError("There is no such entry.", "Load the page again.")
    return str(key[0]), int(key[1])


def _field(document: tomlkit.TOMLDocument, key: Key, values: Mapping[str, Any]) -> Field:
    """The field that a key means, by the kind that its entry has or is about to get."""
    place, kind = key[:-1], ""
    if len(place) == 2 and place[0] in arrays():
        given = values.get(path_of((*place, "kind")))
        entries = document.get(str(place[0]), [])
        inside = int(place[1]) < len(entries)
        kind = given or (_kind(str(place[0]), entries[place[1]]) if inside else "")
    elif place and not (len(place) == 1 and place[0] in tables()):
        raise ValueError("There is no such field.", "Load the page again.")
    for field in fields(place, str(kind)):
        if field.key == key:
            return field
    raise ValueError("There is no such field here.", "Edit case.toml as text for what is nested.")


def _put(document: tomlkit.TOMLDocument, field: Field, text: str) -> None:
    table = _place(document, field.key[:-1])
    name = str(field.key[-1])
    if not text:
        if name in table:
            del table[name]
        return
    value = read_value(field, text)
    if name not in table or written(table[name]) != written(value):
        table[name] = value


def _place(document: tomlkit.TOMLDocument, place: Key) -> Any:
    """The table that a key stands in, made where it is not there yet."""
    if not place:
        return document
    name = str(place[0])
    if len(place) == 1:
        if name not in document:
            document[name] = tomlkit.table()
        return document[name]
    if name not in document:
        document[name] = tomlkit.aot()
    return entry_of(document[name], int(place[1]))


def entry_of(entries: AoT, index: int) -> Table:
    """An entry of a list of tables; the one after the last is made.

    Raises:
        ValueError: Where it lies further beyond.
    """
    if not isinstance(entries, AoT):
        raise ValueError("The list is not written as tables.", "Edit case.toml as text.")
    if index == len(entries) < MOST_ENTRIES:
        fresh = tomlkit.table()
        fresh.trivia.indent = "\n"
        entries.append(fresh)
    if index >= len(entries):
        raise ValueError("There is no such entry.", "Load the page again.")
    return entries[index]
