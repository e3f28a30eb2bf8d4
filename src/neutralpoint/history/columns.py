"""Which column of a table holds what, in which unit: by name, then by physics, once a layout."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array
from neutralpoint.sources import Column, ColumnMap
from neutralpoint.sources.column_words import role_of_name
from neutralpoint.sources.settling import settle_units

VALUES = (
    *("latitude", "longitude", "pressure_altitude", "geometric_altitude"),
    *("ground_speed", "track_angle", "vertical_rate"),
)
# Further columns that a history reads, by the words of their names.
FURTHER = {
    "kind": r"^(type|typecode|type_code|aircraft_type|model)$",
    "ground": r"^(on_?ground|ground|gnd)$",
    "temperature": r"^(static_?)?(air_?)?(temperature|temp|oat|sat)(_?[ck])?$",
}
NEEDED = ("time",)
SAMPLE = 6000  # rows that units are settled from
EPOCHS = ((1e17, 1e-9), (1e14, 1e-6), (1e11, 1e-3))  # least number, s in one: ns, us, ms
COLD = 150.0  # a temperature above this is in kelvin


@dataclass(frozen=True)
class Layout:
    """The columns of one table.

    Attributes:
        columns: Name of the column of each role.
        factors: To SI, of each role of `VALUES`.
        said: What was found, in sentences.
    """

    columns: dict[str, str]
    factors: dict[str, float]
    said: tuple[str, ...]


def roles_of(names: list[str], given: dict[str, Column] | None, where: str) -> dict[str, str]:
    """Column of each role.

    Args:
        names: Of the table, in order.
        given: Columns that the case names; the rest is found by name.
        where: The file, for errors.

    Returns:
        Name by role.

    Raises:
        NeutralPointError: `column-missing` where a column that is named, the time or any altitude
            is not there.
    """
    found: dict[str, str] = {}
    for name in names:
        role = role_of_name(name)
        for further, words in FURTHER.items():
            if re.match(words, name.strip().lower()):
                role = further
        if role in (*VALUES, "time", "address", *FURTHER) and role not in found:
            found[role] = name
    for role, column in (given or {}).items():
        if isinstance(column.name, int):
            found[role] = names[column.name - 1] if column.name <= len(names) else ""
        else:
            found[role] = column.name
    missing = [f"{role} ({name})" for role, name in found.items() if name not in names]
    heights = {"pressure_altitude", "geometric_altitude"} & set(found)
    if "time" not in found or not heights:
        missing.append("time" if "time" not in found else "an altitude")
    if missing:
        raise NeutralPointError(
            "column-missing",
            f"The table has no column for {', '.join(missing)}; it has "
            f"{', '.join(names[:20]) or 'none'}.",
            where=where,
            hint="Name the columns under `history.columns` in case.toml, or leave the file out.",
        )
    return found


def layout_of(
    columns: dict[str, str],
    given: dict[str, Column] | None,
    time: Array,
    raw: dict[str, Array],
    where: str,
) -> Layout:
    """Settle the units of a table from some of its rows.

    Args:
        columns: Of `roles_of`.
        given: Columns that the case names, with their units.
        time: s, of rows of one airplane in order, shape (n,).
        raw: Their values by role in the units of the file, shape (n,) each.
        where: The file, for errors.

    Returns:
        The layout.

    Raises:
        NeutralPointError: `column-unit` where neither name nor physics settles one.
    """
    raw = {role: v for role, v in raw.items() if np.isfinite(v).any()}
    named = ColumnMap(
        {
            role: (given or {}).get(role, Column(name))
            for role, name in columns.items()
            if role in raw or role == "time"
        }
    )
    settled, said, warnings = settle_units(time, raw, named, where)
    doubts = tuple(warning.message for warning in warnings)
    return Layout(columns, {role: one.factor for role, one in settled.items()}, (*said, *doubts))


def epoch_factor(time: Array) -> float:
    """Seconds in one unit of a numeric time column, by its size.

    Args:
        time: As in the file, shape (n,).

    Returns:
        Factor to s.
    """
    known = np.abs(time[np.isfinite(time)])
    middle = float(np.median(known)) if known.size else 0.0
    return next((factor for least, factor in EPOCHS if middle > least), 1.0)
