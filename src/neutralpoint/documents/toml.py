"""TOML of an analyst, read within bounds: deep keys and huge numbers are refused with a figure."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from typing import Any

MOST_PARTS = 64  # of a dotted key; the parser takes time and memory by their square
DEEPEST = 32  # tables and lists within each other
LONGEST_LINE = 100_000  # characters
_QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"|\'[^\']*\'')
_PART = re.compile(r"[A-Za-z_\"'-]\s*\.")
# Of a terminal and of the order of letters: no text of an analyst needs them, and one from a
# stranger could clear a screen or show a name backward.
_COMMANDS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


class TomlRefused(ValueError):
    """A text that is no TOML, or more of it than is read; its text says which."""


def read_toml(text: str) -> dict[str, Any]:
    """A TOML text as tables.

    Args:
        text: The text; its size was bounded where the file was read.

    Returns:
        The top table.

    Raises:
        TomlRefused: Not TOML, keys, nesting or numbers out of bounds, or a text with characters
            that are commands.
    """
    for number, line in enumerate(text.splitlines(), start=1):
        if len(line) > LONGEST_LINE:
            raise TomlRefused(
                f"line {number} has {len(line)} characters; at most {LONGEST_LINE} are read"
            )
        parts = len(_PART.findall(_QUOTED.sub("q", line))) if line.count(".") > MOST_PARTS else 0
        if parts > MOST_PARTS:
            raise TomlRefused(
                f"a key of line {number} has {parts + 1} parts; at most {MOST_PARTS} are read"
            )
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as broken:
        raise TomlRefused(str(broken)) from broken
    except (RecursionError, ValueError, OverflowError) as broken:
        raise TomlRefused(
            "a value cannot be read: nested without end, or a date or number out of range"
        ) from broken
    if _depth(table) > DEEPEST:
        raise TomlRefused(f"tables are nested deeper than {DEEPEST} levels")
    for part in _texts(table):
        if found := _COMMANDS.search(part):
            raise TomlRefused(
                f"the text {_COMMANDS.sub('?', part)[:40]!r} holds the control character "
                f"U+{ord(found[0]):04X}"
            )
    return table


def _texts(part: Any) -> Iterator[str]:
    """Every key and every text of a table that is nested no deeper than `DEEPEST`."""
    if isinstance(part, str):
        yield part
    elif isinstance(part, dict):
        yield from part
        for value in part.values():
            yield from _texts(value)
    elif isinstance(part, list):
        for value in part:
            yield from _texts(value)


def _depth(table: dict[str, Any]) -> int:
    depth, level = 0, [table]
    while level and depth <= DEEPEST:
        depth += 1
        level = [
            part
            for outer in level
            for part in (outer.values() if isinstance(outer, dict) else outer)
            if isinstance(part, dict | list)
        ]
    return depth
