"""Wind and temperature at heights from delimited text by a column map."""

from __future__ import annotations

import numpy as np

from neutralpoint.earth.weather import components
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE, FOOT, KELVIN_AT_0_C, KNOT
from neutralpoint.sources.cells import decimal_mark, is_blank, number
from neutralpoint.sources.column_map import Column
from neutralpoint.sources.levels import AirLevels
from neutralpoint.sources.report import Refusals, SourceReport
from neutralpoint.sources.table import Table, decode, read_table
from neutralpoint.sources.units import HEADER_WORDS

WIND_ROLES = ("altitude", "wind_from", "wind_speed", "temperature")
FACTORS: dict[str, dict[str, float]] = {
    "altitude": {"ft": FOOT, "m": 1.0, "FL": 100.0 * FOOT},
    "wind_from": {"deg": DEGREE, "rad": 1.0},
    "wind_speed": {"kt": KNOT, "m/s": 1.0, "km/h": 1.0 / 3.6, "mph": 0.44704},
    "temperature": {"degC": 1.0, "K": 1.0},
}
WORDS = HEADER_WORDS | {"c": "degC", "degc": "degC", "celsius": "degC", "k": "K", "kelvin": "K"}


def read_wind_table(
    data: bytes, columns: dict[str, Column], where: str
) -> tuple[AirLevels, SourceReport]:
    """Levels of a table; the altitude is taken as pressure altitude.

    Args:
        data: The file.
        columns: Column of each of `WIND_ROLES`.
        where: Name of the file, for errors.

    Returns:
        Levels in order of altitude, and what was found.

    Raises:
        NeutralPointError: `column-unit` where a unit is neither named nor in the header,
            `weather-invalid` where no level is usable, and the errors of reading a table.
    """
    table = read_table(decode(data, where), [c.name for c in columns.values()], where)
    refusals = Refusals()
    for line in table.mismatched:
        refusals.add("the line cannot be split into the columns of the header", line)
    values, said = {}, []
    for role, column in columns.items():
        unit = _unit(role, column, where)
        said.append(f"{role}: {unit}.")
        values[role] = _column(table, role, column, unit, refusals)
    blank = np.full(len(table.rows), np.nan)
    north, east = components(values.get("wind_speed", blank), values.get("wind_from", blank))
    levels = np.column_stack([values["altitude"], north, east, values.get("temperature", blank)])
    usable = np.isfinite(levels[:, 0]) & np.isfinite(levels[:, 1:]).any(axis=1)
    if not usable.any():
        raise NeutralPointError(
            "weather-invalid",
            "No row has an altitude with a wind or a temperature.",
            where=where,
            hint="Check the column map of this weather entry.",
        )
    levels = levels[usable][np.argsort(levels[usable][:, 0], kind="stable")]
    said.append("Altitudes of the table are taken as pressure altitudes.")
    return AirLevels(*levels.T), SourceReport(
        "wind table", len(table.rows), refused=refusals.result(), assumed=tuple(said)
    )


def _unit(role: str, column: Column, where: str) -> str:
    """The unit as named, or as the header says."""
    if column.unit is not None:
        unit = WORDS.get(column.unit.strip().lower(), column.unit.strip())
        if unit in FACTORS[role]:
            return unit
        found = f"The unit {column.unit!r} was given for {role}."
        code = "quantity-unit"
    else:
        words = str(column.name).lower().replace("(", " ").replace(")", " ").replace("_", " ")
        units = {WORDS[w] for w in words.split() if WORDS.get(w) in FACTORS[role]}
        if len(units) == 1:
            return units.pop()
        if role == "wind_from":
            return "deg"
        found, code = f"The unit of {role} is neither named nor in the header.", "column-unit"
    raise NeutralPointError(
        code, found, where=f"{where}: {role}", hint=f"Allowed: {', '.join(FACTORS[role])}."
    )


def _column(table: Table, role: str, column: Column, unit: str, refusals: Refusals):
    cells = table.column(column.name)
    mark = decimal_mark(cells)
    out = np.full(len(cells), np.nan)
    for k, cell in enumerate(cells):
        if is_blank(cell):
            continue
        try:
            out[k] = number(cell, mark) * FACTORS[role][unit]
        except ValueError:
            refusals.add(f"{role} is not a number", table.lines[k])
    return out + KELVIN_AT_0_C if unit == "degC" else out
