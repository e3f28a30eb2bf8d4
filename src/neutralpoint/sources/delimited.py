"""Tracks from delimited text by a column map: units found and said, rows counted, none lost."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE
from neutralpoint.sources.accuracy import with_stated
from neutralpoint.sources.assembly import Assembly
from neutralpoint.sources.cells import (
    angle_degrees,
    decimal_mark,
    is_blank,
    number,
    plain_numbers,
)
from neutralpoint.sources.clock import read_times
from neutralpoint.sources.column_map import CATEGORY_ROLES, VALUE_ROLES, ColumnMap
from neutralpoint.sources.report import Refusals, SourceReport
from neutralpoint.sources.settling import settle_units
from neutralpoint.sources.table import Table, decode, read_table
from neutralpoint.sources.units import HEADER_WORDS, UNITS, Floats, Settled
from neutralpoint.track import Track, quantization_step
from neutralpoint.track.cleaning import metres
from neutralpoint.track.record import Ints
from neutralpoint.vocabulary import QUANTITIES

# A step from one position to the next that no airplane makes, and the share of such steps from
# which several airplanes in one file are thought of: single spikes stay below. Analyst's choice.
FASTEST, BESIDE, MANY_STEPS = 400.0, 500.0, 0.1  # m/s, m, share
COORDINATES = ("latitude", "longitude")
LARGEST = 1e7  # in any unit: beyond it a cell is no reading


def read_delimited(data: bytes, columns: ColumnMap, where: str) -> tuple[Track, SourceReport]:
    """A track from delimited text.

    Args:
        data: The file.
        columns: Which column holds what.
        where: Name of the file, for errors.

    Returns:
        The track, doubtful readings marked, and what was found in the file.

    Raises:
        NeutralPointError: `file-empty`, `file-too-large`, `column-missing`, `column-unit`,
            `quantity-unit`, `time-unclear` or `time-order`, each naming file and place.
    """
    names = list(dict.fromkeys(column.name for column in columns.columns.values()))
    table = read_table(decode(data, where), names, where)
    columns, from_row = _units_of_row(table, columns)
    readings = Assembly()
    refusals = readings.refusals
    for line in table.mismatched:
        refusals.add("the line cannot be split into the columns of the header", line)
    raw, mark = _values(table, columns, refusals)
    epoch, times, said = _times(table, columns, refusals, where)
    keep = np.isfinite(times["time"]) & _wanted(table, columns, refusals, where)
    order = _order(times["time"], keep, table, columns, where)
    times = {name: time[order] for name, time in times.items()}
    empty = [role for role, values in raw.items() if not np.isfinite(values[order]).any()]
    raw = {role: values[order] for role, values in raw.items() if role not in empty}
    said = (*said, *from_row, *(f"{role}: the column holds no value." for role in empty))
    lines = np.asarray(table.lines, dtype=np.int64)[order]
    settled, more, warnings = settle_units(times["time"], raw, columns, where)
    _take(readings, times, raw, lines, {r: s.factor for r, s in settled.items()})
    if not readings.channels:
        raise _nothing(columns, table, where)
    stated = _categories(table, columns, readings.refusals)
    if mark == ",":
        said = (*said, "Numbers are read with a decimal comma.")
    if "position_time" in columns.columns:
        said = (*said, "Positions carry their own time; the other readings carry the row's.")
    track, report = readings.finish(
        epoch,
        "delimited text",
        len(table.rows),
        where,
        steps=_steps(raw, settled),
        vertical_rate_source=columns.vertical_rate_source,
        assumed=(*said, *more),
    )
    return with_stated(track, **stated), replace(
        report, warnings=(*warnings, *_mixed(track, where)), settled=settled
    )


def _units_of_row(table: Table, columns: ColumnMap) -> tuple[ColumnMap, tuple[str, ...]]:
    """The map with the units that a row of units gives to columns without one."""
    if not table.units:
        return columns, ()
    known = dict(columns.columns)
    for role, column in columns.columns.items():
        if column.unit is not None or not isinstance(column.name, str) or role not in UNITS:
            continue
        index = table.header.index(column.name)
        word = table.units[index].strip().lower().split(" ")[0] if index < len(table.units) else ""
        unit = HEADER_WORDS.get(word)
        if unit in UNITS[role]:
            known[role] = replace(column, unit=unit, origin="from the row of units")
    return replace(columns, columns=known), (
        "The file has a row of units. Logs of avionics may hold derived channels and lose their "
        "last seconds when power is lost.",
    )


def _values(table: Table, columns: ColumnMap, refusals: Refusals) -> tuple[dict[str, Floats], str]:
    """Numbers of each value column in the file's own units; NaN where blank or refused."""
    roles = [role for role in VALUE_ROLES if role in columns.columns]
    texts = {role: table.column(columns.columns[role].name) for role in roles}
    mark = decimal_mark([cell for cells in texts.values() for cell in cells[:200]])
    out = {}
    for role, cells in texts.items():
        most = QUANTITIES[role].bound / DEGREE if role in COORDINATES else LARGEST
        values = plain_numbers(cells) if mark == "." else None
        if values is None:
            values = _closely(role, cells, mark, table.lines, refusals)
        for k in np.flatnonzero(np.abs(values) > most):
            refusals.add(f"{role} is out of range", table.lines[k])
        out[role] = np.where(np.abs(values) > most, np.nan, values)
    return out, mark


def _closely(
    role: str, cells: list[str], mark: str, lines: list[int], refusals: Refusals
) -> Floats:
    """Numbers of a column, cell by cell; NaN where one is blank or refused."""
    parse = angle_degrees if role in COORDINATES else number
    values = np.full(len(cells), np.nan)
    for k, cell in enumerate(cells):
        if is_blank(cell):
            continue
        try:
            values[k] = parse(cell, mark)
        except ValueError:
            refusals.add(f"{role} is not a number", lines[k])
    return values


def _categories(table: Table, columns: ColumnMap, refusals: Refusals) -> dict[str, dict[int, int]]:
    """Stated accuracies by the line of the file; lines without one are left out."""
    found: dict[str, dict[int, int]] = {role: {} for role in CATEGORY_ROLES}
    for role in CATEGORY_ROLES:
        if role not in columns.columns:
            continue
        cells = table.column(columns.columns[role].name)
        for line, cell in zip(table.lines, cells, strict=True):
            if is_blank(cell):
                continue
            if cell.strip().isdecimal() and len(cell.strip()) < 3:
                found[role][line] = int(cell)
            else:
                refusals.add(f"{role} is no whole number", line)
    return found


def _times(
    table: Table, columns: ColumnMap, refusals: Refusals, where: str
) -> tuple[datetime, dict[str, Floats], tuple[str, ...]]:
    """Row times, and position times on the same epoch where the file has them."""
    name = columns.columns["time"].name
    cells = table.column(name)
    if "date" in columns.columns:
        days = table.column(columns.columns["date"].name)
        cells = [f"{day} {time}".strip() for day, time in zip(days, cells, strict=True)]
    epoch, time, said = read_times(cells, columns.clock, f"{where}: column {name!r}")
    for k in np.flatnonzero(~np.isfinite(time)):
        refusals.add("the time cannot be read", table.lines[k])
    times = {"time": time, "position_time": time}
    if "position_time" in columns.columns:
        name = columns.columns["position_time"].name
        own_epoch, own, _ = read_times(
            table.column(name), columns.clock, f"{where}: column {name!r}"
        )
        times["position_time"] = own + (own_epoch - epoch).total_seconds()
    return epoch, times, said


def _mixed(track: Track, where: str) -> tuple[NeutralPointError, ...]:
    """A warning where the positions go to and fro as those of several airplanes do."""
    if track.position is None or len(track.position) < 3:
        return ()
    moved = np.linalg.norm(np.diff(metres(track.position), axis=0), axis=1)
    jumps = moved > BESIDE + FASTEST * np.diff(track.position.time)
    if jumps.mean() < MANY_STEPS:
        return ()
    return (
        NeutralPointError(
            "track-mixed",
            f"{jumps.sum()} of {jumps.size} steps from one position to the next are faster than "
            f"{FASTEST:.0f} m/s.",
            where=where,
            hint="If the file holds several airplanes, name the `address` column and `only`; "
            "receivers with clocks of their own go into files of their own. No band holds this.",
        ),
    )


def _wanted(table: Table, columns: ColumnMap, refusals: Refusals, where: str):
    """Rows of the airplane asked for; one file may hold several airplanes."""
    if "address" not in columns.columns:
        return np.ones(len(table.rows), dtype=bool)
    cells = np.array(table.column(columns.columns["address"].name))
    found = sorted(set(cells.tolist()) - {""})
    if columns.address is None and len(found) > 1:
        raise NeutralPointError(
            "case-invalid",
            f"The file holds {len(found)} airplanes: {', '.join(found[:8])}.",
            where=where,
            hint='Say which with `only = "..."` in the track file\'s entry, as text.',
        )
    if columns.address is None:
        return np.ones(len(table.rows), dtype=bool)
    same = np.char.lower(cells) == columns.address.lower()
    if not same.any():
        raise NeutralPointError(
            "file-empty",
            f"No row has the address {columns.address!r}; the file has {', '.join(found[:8])}.",
            where=where,
            hint="Addresses are compared as text, leading zeros included.",
        )
    for k in np.flatnonzero(~same):
        refusals.add("the row belongs to another airplane", table.lines[k])
    return same


def _order(time: Floats, keep, table: Table, columns: ColumnMap, where: str):
    """Rows kept, in order of time."""
    kept = np.flatnonzero(keep)
    back = np.flatnonzero(np.diff(time[kept]) < 0.0)
    if back.size and columns.out_of_order == "refuse":
        before, after = kept[back[0]], kept[back[0] + 1]
        raise NeutralPointError(
            "time-order",
            f"The time runs back by {time[before] - time[after]:.3f} s; "
            f"this happens at {back.size} row(s).",
            where=f"{where}:{table.lines[after]}",
            hint='If the rows were logged out of order, set out_of_order = "sort" for this file.',
        )
    return kept[np.argsort(time[kept], kind="stable")]


def _take(
    readings: Assembly, times: dict[str, Floats], raw: dict[str, Floats], lines: Ints, factors
) -> None:
    """Hand the columns over, in SI; positions need both coordinates."""
    si = {role: values * factors[role] for role, values in raw.items()}
    for role, value in si.items():
        if role == "track_angle":
            value = np.mod(value, 2.0 * np.pi)
        if role not in COORDINATES:
            readings.extend(role, times["time"], value, lines)
    if "latitude" in si and "longitude" in si:
        east = np.pi - np.mod(np.pi - si["longitude"], 2.0 * np.pi)
        places = np.column_stack([si["latitude"], east])
        readings.extend("position", times["position_time"], places, lines)


def _steps(raw: dict[str, Floats], settled: dict[str, Settled]) -> dict[str, float]:
    """Quantization steps, found in the file's own units, where they are round."""
    steps = {role: quantization_step(values) * settled[role].factor for role, values in raw.items()}
    return steps | ({"position": steps["latitude"]} if "latitude" in steps else {})


def _nothing(columns: ColumnMap, table: Table, where: str) -> NeutralPointError:
    roles = ", ".join(role for role in columns.columns if role in VALUE_ROLES)
    return NeutralPointError(
        "file-empty",
        f"None of the {len(table.rows)} rows has both a time and a value of {roles or 'anything'}.",
        where=where,
        hint="Check the column map; `neutralpoint check CASE` counts the refused rows by reason.",
    )
