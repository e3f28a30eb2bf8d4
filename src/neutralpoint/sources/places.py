"""Positions from GPX and KML: places with times, heights whose datum only the case can say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal
from xml.etree.ElementTree import Element

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE
from neutralpoint.sources.assembly import Assembly, place
from neutralpoint.sources.clock import ClockSettings, read_times
from neutralpoint.sources.report import SourceReport
from neutralpoint.sources.xml_safe import elements, local
from neutralpoint.track import Track

Datum = Literal["ellipsoid", "sea level", "pressure", "unknown"]
GEOID_MOST = 106.0  # m, the largest geoid undulation (EGM96, from memory)


@dataclass(frozen=True)
class HeightDatum:
    """What the heights of a file count from.

    Attributes:
        datum: `pressure` makes them pressure altitudes.
        geoid_height: Height of the geoid above the ellipsoid there, m; None where not known.
    """

    datum: Datum = "unknown"
    geoid_height: float | None = None


@dataclass(frozen=True)
class _Point:
    time: str
    latitude: str
    longitude: str
    height: str


def read_gpx(data: bytes, heights: HeightDatum, where: str) -> tuple[Track, SourceReport]:
    """A track from GPX track points.

    Args:
        data: The file.
        heights: What its elevations count from.
        where: Its name, for errors.

    Returns:
        Track and report.

    Raises:
        NeutralPointError: `file-format`, `file-too-large`, or `file-empty` without timed points.
    """
    points = []
    for element in elements(data, where):
        if local(element) == "trkpt":
            children = {local(child): (child.text or "").strip() for child in element}
            points.append(
                _Point(
                    children.get("time", ""),
                    element.get("lat", ""),
                    element.get("lon", ""),
                    children.get("ele", ""),
                )
            )
            element.clear()
    return _track(points, heights, "GPX", where)


def read_kml(data: bytes, heights: HeightDatum, where: str) -> tuple[Track, SourceReport]:
    """A track from the timed tracks (`gx:Track`) of a KML file.

    Args:
        data: The file.
        heights: What its altitudes count from.
        where: Its name, for errors.

    Returns:
        Track and report.

    Raises:
        NeutralPointError: `file-format`, `file-too-large`, or `file-empty` without a timed track.
    """
    points, lines = [], 0
    for element in elements(data, where):
        name = local(element)
        if name == "Track":
            points += _timed(element)
            element.clear()
        elif name == "LineString":
            lines += 1
    if not points and lines:
        raise NeutralPointError(
            "file-empty",
            f"The file holds {lines} line(s) without times and no timed track.",
            where=where,
            hint="Only `gx:Track` pairs times with places; a line shows no motion.",
        )
    return _track(points, heights, "KML", where)


def _timed(track: Element) -> list[_Point]:
    """Times and places of a timed track; the two lists belong together one by one."""
    whens = [(e.text or "").strip() for e in track if local(e) == "when"]
    coords = [(e.text or "").split() for e in track if local(e) == "coord"]
    points = []
    for k in range(max(len(whens), len(coords))):
        cells = [*(coords[k] if k < len(coords) else []), "", "", ""]
        points.append(_Point(whens[k] if k < len(whens) else "", cells[1], cells[0], cells[2]))
    return points


def _track(
    points: list[_Point], heights: HeightDatum, kind: str, where: str
) -> tuple[Track, SourceReport]:
    readings = Assembly()
    if not points:
        raise readings.nothing(0, where)
    epoch, seconds, said = read_times(
        [p.time for p in points], ClockSettings(form="iso"), f"{where}: times"
    )
    order = np.argsort(seconds, kind="stable")
    backwards = int((np.diff(seconds[np.isfinite(seconds)]) < 0.0).sum())
    altitude, more = _height_channel(heights)
    for k in order:
        point, row = points[k], int(k) + 1
        if not np.isfinite(seconds[k]):
            readings.refusals.add("the point has no time", row)
            continue
        where_deg = _number(point.latitude), _number(point.longitude)
        found = place(where_deg[0] * DEGREE, where_deg[1] * DEGREE)
        readings.add("position", float(seconds[k]), found, row)
        if point.height:
            readings.add(altitude, float(seconds[k]), _number(point.height) + more, row)
    if backwards:
        said = (*said, f"Times run back at {backwards} point(s); points are sorted by time.")
    return readings.finish(
        epoch, kind, len(points), where, assumed=(*said, *_height_said(heights, altitude))
    )


def _height_channel(heights: HeightDatum) -> tuple[str, float]:
    if heights.datum == "pressure":
        return "pressure_altitude", 0.0
    shift = heights.geoid_height or 0.0 if heights.datum == "sea level" else 0.0
    return "geometric_altitude", shift


def _height_said(heights: HeightDatum, altitude: str) -> tuple[str, ...]:
    count = (
        "Points are numbered in the order of the file. Exported points may have been smoothed or "
        "filled in by the program that wrote them."
    )
    if altitude == "pressure_altitude":
        return count, "Heights are pressure altitudes, as the case says."
    if heights.datum == "ellipsoid":
        return count, "Heights are above the WGS-84 ellipsoid, as the case says."
    if heights.datum == "sea level" and heights.geoid_height is not None:
        return (
            count,
            f"Heights are above the sea; the geoid height {heights.geoid_height:.1f} m is added.",
        )
    return (
        count,
        f"The datum of the heights is not known: they are taken as heights above the ellipsoid, "
        f"which is wrong by up to {GEOID_MOST:.0f} m if they are above the sea.",
    )


def _number(text: str) -> float:
    if len(text) > 64 or "_" in text:
        return float("nan")
    try:
        return float(text)
    except ValueError:
        return float("nan")
