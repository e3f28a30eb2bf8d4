"""Upper-air text: a table of PRES HGHT TEMP DWPT ... DRCT SKNT, fixed width, blanks allowed."""

from __future__ import annotations

import re

import numpy as np

from neutralpoint.earth import atmosphere
from neutralpoint.earth.weather import components
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE, HECTOPASCAL, KELVIN_AT_0_C, KNOT
from neutralpoint.sources.levels import AirLevels
from neutralpoint.sources.report import Refusals, SourceReport

WIND_NAMES = {"SKNT": KNOT, "SPED": 1.0}
SPEED_UNITS = {"KNOT": KNOT, "KNOTS": KNOT, "KT": KNOT, "M/S": 1.0, "MPS": 1.0}
MISSING = re.compile(r"[*/]+|-?9999(\.0*)?|-?999\.?0*|NAN|")
MOST_LEVELS = 20_000  # lines read; a limit against hostile files
# Lowest and highest value taken: hPa, degrees Celsius, degrees, speed units. Beyond all records.
RANGES = {
    "PRES": (0.5, 1100.0),
    "TEMP": (-120.0, 60.0),
    "DRCT": (0.0, 360.0),
    "SPEED": (0.0, 400.0),
}


def read_sounding(text: str, where: str) -> tuple[AirLevels, SourceReport]:
    """Levels of the first table of a text.

    Args:
        text: The file.
        where: Its name, for errors.

    Returns:
        Levels in order of altitude, and what was found.

    Raises:
        NeutralPointError: `weather-invalid` without a header or without two usable levels.
    """
    lines = text.splitlines()
    start = next(
        (k for k, line in enumerate(lines) if {"PRES", "TEMP"} <= set(line.upper().split())), None
    )
    if start is None:
        raise _invalid("There is no header with PRES and TEMP.", where)
    names = lines[start].upper().split()
    ends = [match.end() for match in re.finditer(r"\S+", lines[start])]
    wind = next((name for name in WIND_NAMES if name in names), None)
    factor, said = _speed(lines, start, names, wind)
    refusals, levels = Refusals(), []
    for number, line in enumerate(lines[start + 1 : start + MOST_LEVELS], start=start + 2):
        if not line.strip() or set(line.strip()) <= {"-", "="}:
            continue
        if not re.match(r"[\s\d.*+-]", line) or re.search(r"[A-Za-z]{4,}", line):
            if levels:
                break
            continue
        row = _row(line, names, ends)
        if row is None:
            if levels or re.fullmatch(r"[\s\d.*+-]+", line):
                refusals.add("the line does not fit the columns", number)
            continue
        level = _level(row, wind, factor, number, refusals)
        if level is not None:
            levels.append(level)
    table = np.array(sorted(levels)).reshape(-1, 4)
    usable = np.isfinite(table[:, 1:]).any(axis=1)
    if usable.sum() < 2:
        raise _invalid("The table has fewer than two levels with wind or temperature.", where)
    table = table[usable]
    return AirLevels(*table.T), SourceReport(
        "upper-air text", len(levels), refused=refusals.result(), assumed=said
    )


def _speed(
    lines: list[str], start: int, names: list[str], wind: str | None
) -> tuple[float, tuple[str, ...]]:
    """Factor of the wind speed: from the line of units where there is one, else from the name."""
    if wind is None:
        return 1.0, ("The table holds no wind speed.",)
    for line in lines[start + 1 : start + 4]:
        units = line.upper().split()
        if len(units) == len(names) and units[names.index(wind)] in SPEED_UNITS:
            unit = units[names.index(wind)]
            return SPEED_UNITS[unit], (f"Wind speed is in {unit.lower()}, from the unit line.",)
    unit = "knots" if wind == "SKNT" else "m/s"
    return WIND_NAMES[wind], (f"Wind speed is in {unit}, from the column name {wind}.",)


def _row(line: str, names: list[str], ends: list[int]) -> dict[str, str] | None:
    """Cells of a line: by their number where it is complete, else by the columns' right edges."""
    cells = line.split()
    if len(cells) == len(names):
        return dict(zip(names, cells, strict=True))
    if len(line.rstrip()) > ends[-1] + 2:
        return None
    starts = [0, *ends[:-1]]
    sliced = [line[a:b].strip() for a, b in zip(starts, ends, strict=True)]
    if any(" " in cell for cell in sliced):
        return None
    return dict(zip(names, sliced, strict=True))


def _level(
    row: dict[str, str], wind: str | None, factor: float, number: int, refusals: Refusals
) -> tuple[float, float, float, float] | None:
    """Pressure altitude, wind and temperature of a line; None without a pressure."""

    def value(name: str, kind: str) -> float:
        cell = row.get(name, "")
        if MISSING.fullmatch(cell.upper()):
            return float("nan")
        try:
            found = float(cell)
        except ValueError:
            refusals.add(f"{name} is not a number", number)
            return float("nan")
        low, high = RANGES[kind]
        if not low <= found <= high:
            refusals.add(f"{name} is out of range", number)
            return float("nan")
        return found

    pressure = value("PRES", "PRES")
    if not np.isfinite(pressure):
        refusals.add("the level has no pressure", number)
        return None
    altitude = float(atmosphere.pressure_altitude(pressure * HECTOPASCAL))
    direction, speed = value("DRCT", "DRCT"), float("nan")
    if wind is not None:
        speed = value(wind, "SPEED") * factor
    north, east = components(speed, direction * DEGREE)
    return altitude, float(north), float(east), value("TEMP", "TEMP") + KELVIN_AT_0_C


def _invalid(message: str, where: str) -> NeutralPointError:
    return NeutralPointError(
        "weather-invalid",
        message,
        where=where,
        hint="Upper-air text has a header line such as PRES HGHT TEMP DWPT ... DRCT SKNT.",
    )
