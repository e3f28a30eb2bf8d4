"""What a first run needs and nobody has stated, written into the case with its doubt.

Each value is the widest that common practice would still call a statement; all are in the case file
afterwards, where they are read, changed and undone like anything that was typed.
"""

from __future__ import annotations

import tomllib
from datetime import date
from typing import Any

import tomlkit

# Source: analyst's estimate. Winds below 45,000 ft in middle latitudes are mostly under 80 kt, and
# temperatures mostly within 15 K of the standard atmosphere.
WIND = {
    "kind": "constant",
    "wind_from": "270 deg",
    "wind_speed": "0 kt",
    "wind_error": "40 kt",
    "warmer_than_standard": "0 K",
    "temperature_error": "15 K",
}
QUESTION = "What did the airplane do?"
STATED = "Stated default: nobody has given the wind. Replace it with what is known."


def with_defaults(text: str, today: date) -> str:
    """`case.toml` with title, question, cut-off and weather where they are missing.

    Args:
        text: Of `case.toml`; valid TOML.
        today: The day after which no data were taken.

    Returns:
        The new text; what is there stays letter by letter.
    """
    table = tomllib.loads(text)
    document = tomlkit.parse(text)
    first = _first_track(table)
    plain = {
        "title": f"Flight of {first}" if first else "A flight",
        "question": QUESTION,
        "cut_off": today,
    }
    missing = {key: value for key, value in plain.items() if not table.get(key)}
    if missing:
        document = tomlkit.parse(_head(missing) + text) if _opens(table) else document
        for key, value in missing.items():
            document[key] = value
    if not table.get("weather"):
        document["weather"] = _weather()
    return tomlkit.dumps(document)


def _first_track(table: dict[str, Any]) -> str:
    tracks = table.get("tracks")
    entry = tracks[0] if isinstance(tracks, list) and tracks else {}
    return str(entry.get("file", "")).rsplit(".", 1)[0] if isinstance(entry, dict) else ""


def _opens(table: dict[str, Any]) -> bool:
    """Whether the file begins with tables, so that keys added last would fall into one of them."""
    return any(isinstance(value, dict | list) for value in table.values())


def _head(missing: dict[str, Any]) -> str:
    """Keys before everything else; values are put in afterwards."""
    return "".join(f'{key} = ""\n' for key in missing)


def _weather() -> Any:
    entries = tomlkit.aot()
    entry = tomlkit.table()
    entry.add(tomlkit.comment(STATED))
    for key, value in WIND.items():
        entry[key] = value
    entries.append(entry)
    return entries
