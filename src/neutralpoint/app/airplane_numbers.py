"""The numbers of an airplane file with their sources, changed as text, and what that does."""

from __future__ import annotations

import math
import re
import threading
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

import tomlkit

from neutralpoint.airplane_file.build import DescribedAirplane, build_airplane
from neutralpoint.airplane_file.catalogue import catalogue_names
from neutralpoint.airplane_file.document import parse_airplane
from neutralpoint.app.airplanes import catalogue_file
from neutralpoint.app.folders import file_inside
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import read_own
from neutralpoint.report.words.airplane import RUNS_ON, STAYS
from neutralpoint.study.airplane.change import changed_numbers

NUMBER = re.compile(r"[+-]?\.?\d")  # what the text of a quantity begins with
STEP = re.compile(r"[^.\[\]]+")
LONGEST = 80  # characters of a quantity
BESIDE = {"schema", "sources", "description"}
_one_at_a_time = threading.Lock()  # the first answer compiles; a second would compile the same


def airplane_source(folder: Path, name: str) -> str:
    """The text of an airplane file: of the catalogue by its name, or of the case.

    Raises:
        NeutralPointError: `not-found`, or `request-invalid` for the name.
    """
    data = (
        catalogue_file(name) if name in catalogue_names() else read_own(file_inside(folder, name))
    )
    return data.decode("utf-8", "replace")


def airplane_numbers(text: str, name: str) -> dict[str, Any]:
    """The numbers of an airplane file by section, and the devices that stop its trim.

    Args:
        text: TOML.
        name: What errors call it.

    Returns:
        `groups` of `path`, `value` and `source`, and `stops`.

    Raises:
        NeutralPointError: Of the file.
    """
    described = _built(text, name)
    table = tomllib.loads(text)
    sources, groups = table.get("sources", {}), {}
    for path, value in _leaves(table):
        section, _, key = path.rpartition(".")
        entry = {"path": path, "key": key, "value": str(value), "source": _source(sources, path)}
        groups.setdefault(section or "airplane", []).append(entry)
    return {
        "groups": [{"section": section, "fields": fields} for section, fields in groups.items()],
        "stops": [
            {
                "name": stop.name,
                "kind": stop.kind.replace("_", " "),
                "reach": stop.reach_time,
                "hands": stop.hands,
                "after": RUNS_ON if stop.release_restarts else STAYS,
            }
            for stop in described.airplane.trim_drive.stops
        ],
    }


def effect_of_numbers(text: str, name: str, values: Mapping[str, Any]) -> list[dict[str, Any]]:
    """What changed numbers change in how the airplane flies.

    Args:
        text: TOML, as it is.
        name: What errors call it.
        values: New texts by path.

    Returns:
        Numbers before and after, by topic; None where there is no steady flight.

    Raises:
        NeutralPointError: Of the changed file, or `airplane-invalid`.
    """
    before, after = _built(text, name), _built(with_numbers(text, values), name)
    with _one_at_a_time:
        rows = changed_numbers(before.airplane, after.airplane)
    return [
        {
            key: None if isinstance(v, float) and not math.isfinite(v) else v
            for key, v in one.items()
        }
        for one in map(asdict, rows)
    ]


def with_numbers(text: str, values: Mapping[str, Any]) -> str:
    """An airplane file with other numbers; comments and sources stay.

    Args:
        text: TOML.
        values: New texts by path, of numbers that are there.

    Returns:
        The new text, which nobody has checked yet.

    Raises:
        NeutralPointError: `request-invalid` for a path that holds no number.
    """
    known = dict(_leaves(tomllib.loads(text)))
    document = tomlkit.parse(text)
    for path, given in values.items():
        said = str(given).strip()
        if path not in known or not NUMBER.match(said) or len(said) > LONGEST:
            raise NeutralPointError(
                "request-invalid",
                f"{said[:40]!r} is no number, or there is none to change.",
                where=path[:80],
                hint="Write a number with its unit, as it stands now.",
            )
        place: Any = document
        *steps, last = STEP.findall(path)
        for step in steps:
            place = place[int(step) - 1] if step.isdecimal() else place[step]
        place[last] = said if isinstance(known[path], str) else _plain(said, path)
    return tomlkit.dumps(document)


def check_airplane(text: str, name: str) -> None:
    """Refuse a text that describes no airplane.

    Raises:
        NeutralPointError: Of the file.
    """
    _built(text, name)


def _plain(said: str, path: str) -> int | float:
    try:
        return int(said) if said.lstrip("+-").isdecimal() else float(said)
    except ValueError as wrong:
        raise NeutralPointError(
            "request-invalid", f"{said!r} is no number.", where=path, hint="It has no unit."
        ) from wrong


def _built(text: str, name: str) -> DescribedAirplane:
    return build_airplane(parse_airplane(text, name), name)


def _leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every number by its path, entries of lists counted from 1."""
    if isinstance(value, Mapping):
        for key, one in value.items():
            if path or key not in BESIDE:
                yield from _leaves(one, f"{path}.{key}" if path else key)
    elif isinstance(value, list) and value and isinstance(value[0], Mapping):
        for number, one in enumerate(value, start=1):
            yield from _leaves(one, f"{path}[{number}]")
    elif isinstance(value, str):
        if NUMBER.match(value):
            yield path, value
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield path, value


def _source(sources: Any, path: str) -> str:
    """Where a number is from: said of it, or of all in its section."""
    *steps, last = [step for step in STEP.findall(path) if not step.isdecimal()]
    for step in steps:
        sources = sources.get(step, {}) if isinstance(sources, Mapping) else {}
    if not isinstance(sources, Mapping):
        return str(sources)
    found = sources.get(last, sources.get("*", ""))
    return found if isinstance(found, str) else ""
