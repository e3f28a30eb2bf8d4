"""Winds-aloft bulletin (FB winds): wind and temperature of forecast points at set levels."""

from __future__ import annotations

import re

import numpy as np

from neutralpoint.earth.weather import components
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE, FOOT, KELVIN_AT_0_C, KNOT
from neutralpoint.sources.levels import AirLevels
from neutralpoint.sources.report import Refusals, SourceReport

HEADER = re.compile(r"\s*FT\s+(\d{4,5}\b.*)")
GROUP = re.compile(r"(\d{2})(\d{2})([+-]?\d{2})?$")
VALID = re.compile(r"VALID\s+(\d{6}Z)(?:\s+FOR USE\s+([0-9-]+Z?))?", re.IGNORECASE)
# FAA-H-8083-28 (Aviation Weather Handbook), winds and temperatures aloft forecast; from memory,
# as the trade notes have it: levels above this omit the minus sign.
NEGATIVE_ABOVE = 24000.0  # ft
LIGHT = "9900"  # light and variable: below 5 kt
MOST_LINES = 5000


def read_winds_aloft(text: str, station: str, where: str) -> tuple[AirLevels, SourceReport]:
    """Levels of one point of a bulletin.

    Args:
        text: The bulletin.
        station: Three letters of the forecast point.
        where: Name of the file, for errors.

    Returns:
        Levels in order of altitude, and what was found.

    Raises:
        NeutralPointError: `weather-invalid` where no level of the point can be read.
    """
    lines = text.splitlines()[:MOST_LINES]
    refusals, levels, seen, rows = Refusals(), [], [], 0
    columns: list[tuple[float, int]] = []
    said = ["A forecast for its time of use, not an observation."]
    for number, line in enumerate(lines, start=1):
        if (valid := VALID.search(line)) is not None:
            said.append(f"Valid {valid[1]}" + (f", for use {valid[2]}." if valid[2] else "."))
        if (header := HEADER.match(line)) is not None:
            columns = [
                (float(m[0]), m.end() + header.start(1)) for m in re.finditer(r"\d+", header[1])
            ]
            continue
        name = line[:4].strip().upper()
        if not columns or not re.fullmatch(r"[A-Z0-9]{3,4}", name):
            continue
        seen.append(name)
        if name == station.strip().upper():
            rows += 1
            levels += _levels(line, number, columns, refusals)
    if not levels:
        raise NeutralPointError(
            "weather-invalid",
            f"No level of {station[:20]!r} can be read; the bulletin has "
            f"{', '.join(dict.fromkeys(seen[:12])) or 'no points'}.",
            where=where,
            hint="A bulletin has a line `FT 3000 6000 ...` and a line for each point.",
        )
    altitude, north, east, warmth = np.array(sorted(levels)).reshape(-1, 4).T
    said.append("Levels below 18 000 ft are heights above the sea, taken as pressure altitudes.")
    return AirLevels(altitude, north, east, warmth), SourceReport(
        "winds-aloft bulletin", rows, refused=refusals.result(), assumed=tuple(said)
    )


def _levels(line: str, number: int, columns: list[tuple[float, int]], refusals: Refusals):
    """Altitude, wind and temperature of each group, by the column that it ends nearest to."""
    found = []
    for match in re.finditer(r"\S+", line[4:]):
        end = match.end() + 4
        level_ft = min(columns, key=lambda c: abs(c[1] - end))[0]
        group = _group(match[0], level_ft)
        if group is None:
            refusals.add("the group is no wind", number)
            continue
        direction, speed, temperature = group
        north, east = components(speed * KNOT, direction * DEGREE)
        found.append((level_ft * FOOT, float(north), float(east), temperature + KELVIN_AT_0_C))
    return found


def _group(text: str, level_ft: float) -> tuple[float, float, float] | None:
    """Direction in degrees, speed in knots, temperature in Celsius; None where it is no group."""
    match = GROUP.match(text)
    if match is None:
        return None
    tens, speed = int(match[1]), float(match[2])
    temperature = float("nan")
    if match[3] is not None:
        temperature = float(match[3])
        if level_ft > NEGATIVE_ABOVE and match[3][0] not in "+-":
            temperature = -temperature
    if match[1] + match[2] == LIGHT:
        return 0.0, 0.0, temperature
    if 51 <= tens <= 86:  # 50 added to the direction: 100 kt or more
        tens, speed = tens - 50, speed + 100.0
    if not 1 <= tens <= 36:
        return None
    return 10.0 * tens, speed, temperature
