"""The column map of a table: shown with a preview, tried on the file, saved into `case.toml`."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import ValidationError
from tomlkit.items import Table as TomlTable

from neutralpoint.app.form import entry_of
from neutralpoint.app.replies import FieldErrors
from neutralpoint.app.sniffing import HEAD, Guess, guess, kind_of, table_of
from neutralpoint.case.track_entries import TrackEntry
from neutralpoint.errors import NeutralPointError
from neutralpoint.sources import ROLES, Column, ColumnMap, read_delimited
from neutralpoint.sources.report import SourceReport
from neutralpoint.sources.table import Table
from neutralpoint.sources.units import UNITS
from neutralpoint.track import Track

ENOUGH = 100_000  # bytes by which columns are guessed before a file is drawn
SHOWN, SAMPLES, WIDEST = 20, 5, 200  # rows, cells and columns shown
# What says nothing of the motion by itself.
BESIDE = {"time", "date", "position_time", "address", "nacp", "nacv"}
# Where a file that is no table of a track belongs in the case.
BELONGS = {
    **dict.fromkeys(("gpx", "kml", "asterix", "modes"), "tracks"),
    **dict.fromkeys(("sounding", "metar", "netcdf"), "weather"),
}
CHOICES: dict[str, list[str]] = {role: list(UNITS.get(role, ())) for role in ROLES}


def preview(path: Path, case: Mapping[str, Any]) -> dict[str, Any]:
    """What a file holds, and how its columns are or might be read.

    Args:
        path: The file, in the case folder.
        case: The case file as TOML.

    Returns:
        Kind, columns with what each holds and why, first rows, and what a reader says.
    """
    with path.open("rb") as file:
        data = file.read(HEAD)
    kind = kind_of(data, path.name)
    found: dict[str, Any] = {"kind": kind, "columns": [], "choices": CHOICES, "suggest": None}
    found["warnings"] = []
    if kind != "table":
        if kind in BELONGS:
            found["suggest"] = {"array": BELONGS[kind], "kind": kind}
        text = "" if kind in ("netcdf", "asterix", "other") else data.decode("utf-8", "replace")
        rows = [[line[:300]] for line in text.splitlines()[:SHOWN]]
        return found | {"rows": rows, "report": [_said_of(kind)], "error": None}
    table = table_of(data, path.name)
    entry = _entry_of(case, path.name)
    mapping = _named(entry) if entry is not None else _guessed(table)
    report, warnings, settled, error = _tried(data, mapping, path.name)
    if path.stat().st_size > len(data):
        report.insert(0, f"Only the first {HEAD // 2**20} MB were looked at; all is read later.")
    return found | {
        "columns": [
            _column(table, number, name, mapping, settled, known=entry is not None)
            for number, name in enumerate(_names(table), start=1)
        ],
        "rows": [[cell.strip()[:60] for cell in row[:WIDEST]] for row in table.rows[:SHOWN]],
        "report": report,
        "warnings": warnings,
        "error": error,
    }


def read_as(data: bytes, case: Mapping[str, Any], name: str) -> Track:
    """A table of a track, by the columns that the case names, else as guessed.

    Args:
        data: The file.
        case: The case file as TOML.
        name: Of the file.

    Returns:
        The track.

    Raises:
        NeutralPointError: Of the reader, or `file-format` where no column holds the time.
    """
    entry = _entry_of(case, name)
    mapping = _guessed(table_of(_beginning(data), name)) if entry is None else _named(entry)
    if "time" not in mapping.columns:
        raise NeutralPointError(
            "file-format",
            "No column looks like the time.",
            where=name,
            hint="Say which column holds the time.",
        )
    return _read(data, mapping, name)[0]


class _Kept:
    """The last table that was read: a picture and the preview after it ask for the same one."""

    last: tuple[bytes, ColumnMap, str, tuple[Track, SourceReport]] | None = None


def _read(data: bytes, mapping: ColumnMap, name: str) -> tuple[Track, SourceReport]:
    kept = _Kept.last
    if kept is not None and kept[:3] == (data, mapping, name):
        return kept[3]
    found = read_delimited(data, mapping, name)
    _Kept.last = (data, mapping, name, found) if len(data) <= HEAD else None
    return found


def _beginning(data: bytes) -> bytes:
    """Whole lines that are enough to guess columns by."""
    return data if len(data) <= ENOUGH else data[: data.rfind(b"\n", 0, ENOUGH) + 1 or ENOUGH]


def with_columns(text: str, folder: Path, name: str, chosen: Mapping[str, Any]) -> str:
    """`case.toml` with the column map of a file.

    Args:
        text: Of `case.toml`; valid TOML.
        folder: The case folder.
        name: The file; its entry is changed, one that names a missing file is taken over, and
            where there is neither a new one is made.
        chosen: Quantity and unit by column.

    Returns:
        The new text.

    Raises:
        FieldErrors: For columns that are not there, quantities taken twice, and wrong units.
    """
    with (folder / name).open("rb") as file:
        table = table_of(file.read(HEAD), name)
    roles = _checked(chosen, table)
    document = tomlkit.parse(text)
    if "tracks" not in document:
        document["tracks"] = tomlkit.aot()
    try:
        entry = entry_of(document["tracks"], _index(document["tracks"], folder, name))
    except ValueError as wrong:
        raise FieldErrors([_fault("tracks", *wrong.args)]) from wrong
    entry["file"] = name
    if not isinstance(entry.get("columns"), TomlTable):
        entry["columns"] = tomlkit.table()
    _fill(entry["columns"], roles)
    return tomlkit.dumps(document)


def _checked(chosen: Mapping[str, Any], table: Table) -> dict[str, Column]:
    """The column of each quantity; every fault is said."""
    names = {str(name): name for name in _names(table)}
    roles: dict[str, Column] = {}
    errors = []
    for column, about in chosen.items():
        about = about if isinstance(about, dict) else {}
        role, unit = str(about.get("quantity") or ""), str(about.get("unit") or "")
        if not role:
            continue
        if column not in names:
            errors.append(_fault(column, "The file has no such column.", "Load the preview again."))
        elif role not in CHOICES:
            errors.append(_fault(column, f"{role[:40]!r} is no quantity.", ", ".join(CHOICES)))
        elif role in roles:
            said = f"{role} is already read from {roles[role].name!r}."
            errors.append(_fault(column, said, "Give each quantity to one column."))
        elif unit and unit not in CHOICES[role]:
            allowed = ", ".join(CHOICES[role]) or "none"
            errors.append(_fault(column, f"{unit[:20]!r} is no unit of {role}.", allowed))
        else:
            roles[role] = Column(names[column], unit or None)
    if not errors and "time" not in roles:
        errors.append(_fault("", "No column holds the time.", "Say which column is the time."))
    if not errors and not set(roles) - BESIDE:
        said = "No column holds a position, a height, a speed or a direction."
        errors.append(_fault("", said, "Say what the columns hold."))
    if errors:
        raise FieldErrors(errors)
    return roles


def _fill(columns: TomlTable, roles: Mapping[str, Column]) -> None:
    for role in [role for role in columns if role not in roles]:
        del columns[role]
    for role in ROLES:
        if role not in roles:
            continue
        column, value = roles[role], roles[role].name
        if column.unit is not None:
            value = tomlkit.inline_table()
            value.update({"column": column.name, "unit": column.unit})
        if role not in columns or columns[role] != value:
            columns[role] = value


def _index(entries: Any, folder: Path, name: str) -> int:
    """The entry that names the file, or one whose file is missing, or the one after the last."""
    files = [str(entry.get("file", "")) for entry in entries]
    if name in files:
        return files.index(name)
    gone = [
        k
        for k, entry in enumerate(entries)
        if entry.get("kind", "table") == "table" and not (folder / files[k]).is_file()
    ]
    return gone[0] if gone else len(files)


def _entry_of(case: Mapping[str, Any], name: str) -> TrackEntry | None:
    """The entry of a table of a track, where it says enough to read the table."""
    entries = case.get("tracks")
    for entry in entries if isinstance(entries, list) else []:
        if isinstance(entry, dict) and entry.get("file") == name:
            with contextlib.suppress(ValidationError):
                return TrackEntry.model_validate(entry)
    return None


def _named(entry: TrackEntry) -> ColumnMap:
    from neutralpoint.case.tracks import column_map  # loads JAX: not before the page is up

    return column_map(entry)


def _names(table: Table) -> Sequence[str | int]:
    if table.header:
        return [name for name in table.header if name][:WIDEST]
    return list(range(1, max(len(row) for row in table.rows) + 1))[:WIDEST]


def _guessed(table: Table) -> ColumnMap:
    roles: dict[str, Column] = {}
    for name in _names(table):
        found = _guess(table, name)
        if found.quantity and found.quantity not in roles:
            roles[found.quantity] = Column(name)
    return ColumnMap(roles)


def _guess(table: Table, name: str | int) -> Guess:
    if isinstance(name, int):
        return Guess("", "The file has no header.")
    return guess(name, table.column(name)[:200])


def _tried(
    data: bytes, mapping: ColumnMap, name: str
) -> tuple[list[str], list[str], dict[str, tuple[str, str]], dict[str, str] | None]:
    """What the reader says of the file with these columns, and against it; units by quantity."""
    if "time" not in mapping.columns:
        return ["Say which column holds the time."], [], {}, None
    try:
        track, report = _read(data, mapping, name)
    except NeutralPointError as error:
        return [], [], {}, error.as_dict()
    first, last = track.span()
    said = [f"{report.rows_read} rows were read; they span {last - first:.0f} s."]
    said += [f"{r.count} refused: {r.reason}." for r in report.refused]
    said += [f"{len(report.suspicions)} readings are suspect; they are kept and marked."]
    said += [line for line in report.assumed if not line.endswith("named in the case.")]
    against = [f"{w.message} {w.hint}" for w in report.warnings]
    settled = {role: (known.unit, known.said) for role, known in report.settled.items()}
    return said, against, settled, None


def _column(
    table: Table,
    number: int,
    name: str | int,
    mapping: ColumnMap,
    settled: Mapping[str, tuple[str, str]],
    *,
    known: bool,
) -> dict[str, Any]:
    role = next((r for r, c in mapping.columns.items() if c.name in (name, number)), "")
    unit, why = settled.get(role, (mapping.columns[role].unit or "" if role else "", ""))
    reason = "As the case says." if known and role else _guess(table, name).why
    cells = [cell for cell in table.column(name)[:200] if cell]
    return {
        "name": str(name),
        "samples": [cell[:60] for cell in cells[:SAMPLES]],
        "quantity": role,
        "unit": unit,
        "why": f"{reason} Unit {why}." if why else reason,
        "confidence": _confidence(role, known=known, settled=role in settled),
    }


def _confidence(role: str, *, known: bool, settled: bool) -> str:
    """How well a column is known, in a word."""
    if not role:
        return "none"
    if known:
        return "named"
    return "fits the file" if settled else "by its name"


def _said_of(kind: str) -> str:
    if kind == "other":
        return "This is neither text nor a format that is read here. It is kept with the case."
    return f"This looks like {kind}. It needs no column map; say in the form what it is used as."


def _fault(path: str, message: str, hint: str = "") -> dict[str, str]:
    return {"path": path, "message": message, "hint": hint}
