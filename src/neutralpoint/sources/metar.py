"""Surface reports in METAR code: wind, temperature, setting, sight and clouds, nothing guessed.

Groups are recognised by their form wherever they stand, because real reports deviate from the
order of the code. A group that looks like a wind or a pressure but cannot be read is refused and
counted; trends and remarks are not searched for wind.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import (
    DEGREE,
    FOOT,
    HECTOPASCAL,
    HOUR,
    INCH_OF_MERCURY,
    KELVIN_AT_0_C,
    KNOT,
    STATUTE_MILE,
)
from neutralpoint.sources.report import Refusals, SourceReport

# Source of the groups: WMO-No. 306, Manual on Codes, vol. I.1, FM 15 METAR (from memory); the
# inch-of-mercury and tenths groups: Federal Meteorological Handbook No. 1 (from memory).
# Measured against the library `metar` 2.0: it takes the last of two winds, loses the pressure after
# a wind of 400 degrees, drops a wind after the temperature, passes a pressure of 9 hPa, and says
# none of it. Here what cannot be read is refused with a reason, so the groups stay by hand.
TIME = re.compile(r"(\d\d)(\d\d)(\d\d)Z")
STATION = re.compile(r"[A-Z][A-Z0-9]{3}")
# Records of the air at the ground are -89.2 and 56.7 degrees and a gust of 113 m/s (World
# Meteorological Organization, archive of extremes, from memory).
COLDEST, WARMEST, STRONGEST = -90.0, 60.0, 120.0  # degrees Celsius, m/s
WIND = re.compile(r"(\d{3}|VRB)P?(\d{2,3})(?:GP?(\d{2,3}))?(KT|MPS|KMH)")
WIND_LIKE = re.compile(r"(\d{3}|VRB|///)P?(\d{2,3}|//).*[A-Z]{2,3}|/{5,}(KT|MPS|KMH)")
SPREAD = re.compile(r"(\d{3})V(\d{3})")
TEMPERATURE = re.compile(r"(M?\d{2})/(M?\d{2}|//)?")
SETTING = re.compile(r"([QA])(\d{4})")
SETTING_LIKE = re.compile(r"[QA][\d/.]{3,}")
TENTHS = re.compile(r"T([01])(\d{3})(?:([01])(\d{3}))?")
SIGHT_METRES = re.compile(r"(\d{4})(?:NDV)?")
SIGHT_MILES = re.compile(r"[PM]?(?:(\d+)|(\d)/(\d{1,2}))SM")
LAYER = re.compile(r"(FEW|SCT|BKN|OVC|VV)(\d{3}|///)(?:CB|TCU|///)?")
CEILING = ("BKN", "OVC", "VV")  # more than half of the sky
# Words for no cloud, and the height in feet up to which they speak: 5000 ft for the worldwide code,
# 12,000 ft for automatic stations in the United States, all of the sky for SKC.
NO_CLOUD_FT = {"CAVOK": 5000.0, "NSC": 5000.0, "NCD": 5000.0, "CLR": 12000.0, "SKC": 40000.0}
LAYERS_REACH_FT = 20000.0  # analyst's: higher layers are reported, but seldom seen through lower
MOST_SIGHT = 10_000.0  # m: 9999 and CAVOK say this or more
SPEED = {"KT": KNOT, "MPS": 1.0, "KMH": 1000.0 / HOUR}
TRENDS = ("BECMG", "TEMPO", "NOSIG", "INTER")
LOWEST, HIGHEST = 850.0 * HECTOPASCAL, 1100.0 * HECTOPASCAL  # beyond all records on earth
MOST_REPORTS = 10_000


@dataclass(frozen=True)
class SurfaceReport:
    """One report.

    Attributes:
        station: Four letters.
        time: UTC.
        wind_from: rad from true north; None where variable or missing.
        wind_speed: m/s; None where missing.
        gust: m/s; None without gusts.
        spread: Range of direction, rad, where reported.
        temperature: K; None where missing.
        altimeter_setting: Pa; None where missing.
        visibility: m, 10 km for that or more; None where missing.
        ceiling: Base of the lowest layer of more than half of the sky, m above the station;
            infinite where no such layer is reported; None where clouds are not.
        cloud_reach: Up to where the report speaks of clouds, m above the station.
        text: The report as it stands.
    """

    station: str
    time: datetime
    wind_from: float | None = None
    wind_speed: float | None = None
    gust: float | None = None
    spread: tuple[float, float] | None = None
    temperature: float | None = None
    altimeter_setting: float | None = None
    visibility: float | None = None
    ceiling: float | None = None
    cloud_reach: float = 0.0
    text: str = ""


def read_metars(text: str, day: date, where: str) -> tuple[list[SurfaceReport], SourceReport]:
    """Reports of a text.

    Args:
        text: One or more reports; each starts on a line of its own or after `=`.
        day: Date of the case: a report itself holds only the day of the month.
        where: Name of the file, for errors.

    Returns:
        The reports in order of time, and what was found.

    Raises:
        NeutralPointError: `weather-invalid` where no report can be read.
    """
    refusals, reports = Refusals(), []
    chunks = _chunks(text)
    for line, chunk in chunks:
        found = _report(chunk, day, line, refusals)
        if found is not None:
            reports.append(found)
    if not reports:
        reasons = "; ".join(r.reason for r in refusals.result()) or "it holds no text"
        raise NeutralPointError(
            "weather-invalid",
            f"No surface report could be read: {reasons}.",
            where=where,
            hint="A report reads like `QQCH 141844Z 23012G18KT 9999 14/06 Q1009`.",
        )
    reports.sort(key=lambda report: report.time)
    assumed = (
        f"The month and year of the reports are those that bring them nearest to {day}.",
        "Wind directions of METAR reports are true.",
    )
    return reports, SourceReport("METAR", len(chunks), refused=refusals.result(), assumed=assumed)


def _chunks(text: str) -> list[tuple[int, str]]:
    """Line and text of each report; lines that start with a blank go on with the one before."""
    chunks: list[tuple[int, str]] = []
    for number, line in enumerate(text.splitlines()[: 10 * MOST_REPORTS], start=1):
        if line[:1].isspace() and chunks and not chunks[-1][1].endswith("="):
            chunks[-1] = chunks[-1][0], f"{chunks[-1][1]} {line.strip()}"
            continue
        for part in re.findall(r"[^=]+=?", line):
            if part.strip(" ="):
                chunks.append((number, part.strip()))
    return chunks[:MOST_REPORTS]


def _report(chunk: str, day: date, line: int, refusals: Refusals) -> SurfaceReport | None:
    tokens = chunk.rstrip("= ").upper().split()[:200]
    stamp = next((k for k, token in enumerate(tokens) if TIME.fullmatch(token)), None)
    if stamp is None:
        refusals.add("no day and time such as 141844Z", line)
        return None
    station = next((t for t in tokens[:stamp][::-1] if STATION.fullmatch(t)), "")
    number, hour, minute = (int(tokens[stamp][at : at + 2]) for at in (0, 2, 4))
    time = _time(number, hour, minute, day)
    if time is None:
        refusals.add(f"the time {tokens[stamp]} does not exist", line)
        return None
    body = tokens[stamp + 1 :]
    remarks = body[body.index("RMK") + 1 :] if "RMK" in body else []
    end = min((body.index(word) for word in (*TRENDS, "RMK") if word in body), default=len(body))
    found: dict = {"station": station, "time": time, "text": chunk.rstrip("= ")}
    for before, token in zip(["", *body], body[:end], strict=False):
        _sight(before, token, found)
        reason = _group(token, found)
        if reason is not None:
            refusals.add(reason, line)
    for token in remarks:
        if (tenths := TENTHS.fullmatch(token)) is not None:
            sign = -1.0 if tenths[1] == "1" else 1.0
            degrees = sign * int(tenths[2]) / 10.0
            if COLDEST <= degrees <= WARMEST:
                found["temperature"] = degrees + KELVIN_AT_0_C
            else:
                refusals.add(f"the temperature {token} is out of range", line)
    return SurfaceReport(**found)


def _group(token: str, found: dict) -> str | None:
    """Take what a group says; the reason where it cannot be read."""
    if (wind := WIND.fullmatch(token)) is not None:
        return _wind(wind, token, found)
    if (spread := SPREAD.fullmatch(token)) is not None:
        found["spread"] = (int(spread[1]) * DEGREE, int(spread[2]) * DEGREE)
    elif (setting := SETTING.fullmatch(token)) is not None:
        pressure = int(setting[2]) * (HECTOPASCAL if setting[1] == "Q" else INCH_OF_MERCURY / 100.0)
        if not LOWEST <= pressure <= HIGHEST:
            return f"the altimeter setting {token} is out of range"
        found.setdefault("altimeter_setting", pressure)
    elif (temperature := TEMPERATURE.fullmatch(token)) is not None:
        degrees = float(temperature[1].replace("M", "-"))
        if not COLDEST <= degrees <= WARMEST:
            return f"the temperature {token} is out of range"
        found.setdefault("temperature", degrees + KELVIN_AT_0_C)
    elif "wind_speed" not in found and WIND_LIKE.fullmatch(token):
        return f"the wind {token} cannot be read"
    elif SETTING_LIKE.fullmatch(token):
        return f"the altimeter setting {token} cannot be read"
    return None


def _sight(before: str, token: str, found: dict) -> None:
    """Take what a group says of visibility and clouds."""
    if (metres := SIGHT_METRES.fullmatch(token)) is not None:
        found.setdefault("visibility", MOST_SIGHT if token[:4] == "9999" else float(metres[1]))
    elif (miles := SIGHT_MILES.fullmatch(token)) is not None:
        whole = float(miles[1] or (before if before.isdigit() and len(before) == 1 else 0.0))
        part = float(miles[2]) / max(float(miles[3]), 1.0) if miles[2] else 0.0
        found.setdefault("visibility", (whole + part) * STATUTE_MILE)
    elif (layer := LAYER.fullmatch(token)) is not None:
        base = 0.0 if layer[2] == "///" else 100.0 * float(layer[2]) * FOOT
        hides = base if layer[1] in CEILING else float("inf")
        found["ceiling"] = min(found.get("ceiling", float("inf")), hides)
        found["cloud_reach"] = LAYERS_REACH_FT * FOOT
    elif token in NO_CLOUD_FT:
        found.setdefault("ceiling", float("inf"))
        found.setdefault("cloud_reach", NO_CLOUD_FT[token] * FOOT)
        if token == "CAVOK":
            found.setdefault("visibility", MOST_SIGHT)


def _wind(match: re.Match[str], token: str, found: dict) -> str | None:
    if "wind_speed" in found:
        return f"a second wind {token}"
    if match[1] != "VRB":
        if int(match[1]) > 360:
            return f"the wind {token} has a direction beyond 360"
        found["wind_from"] = int(match[1]) * DEGREE
    factor = SPEED[match[4]]
    if max(int(match[2]), int(match[3] or 0)) * factor > STRONGEST:
        found.pop("wind_from", None)
        return f"the wind {token} is out of range"
    found["wind_speed"] = int(match[2]) * factor
    if match[3] is not None:
        found["gust"] = int(match[3]) * factor
    return None


def _time(number: int, hour: int, minute: int, day: date) -> datetime | None:
    """The time nearest to the case's date that has this day of the month."""
    if hour > 23 or minute > 59:
        return None
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    for shift in sorted(range(-31, 32), key=abs):
        candidate = noon + timedelta(days=shift)
        if candidate.day == number:
            return candidate.replace(hour=hour, minute=minute)
    return None
