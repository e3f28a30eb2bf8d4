"""Maps of what was traced, for any viewer: GeoJSON (RFC 7946) and KML 2.2 (OGC 12-007r2)."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

import numpy as np
from contourpy import contour_generator

from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import DEGREE
from neutralpoint.study.wreckage.work_out import PlaneFrame, TracedBack
from neutralpoint.vocabulary.cautions import IN_BRIEF
from neutralpoint.wreckage import Region, likely_region

CAUTION = f"{IN_BRIEF} A probability is no promise."
SHARES = (0.5, 0.9)  # of the probability that a region holds
LEAST = 20.0  # m: least width of the kernel of where the airplane came down; analyst's


@dataclass(frozen=True)
class MapFeature:
    """Something on a map: a place, or rings round a region; degrees, longitude first."""

    name: str
    kind: str
    place: tuple[float, float] | None = None
    rings: list[list[tuple[float, float]]] = field(default_factory=list)
    said: dict[str, float | str] = field(default_factory=dict)


def rings_of(region: Region, share: float) -> list[tuple[Array, Array]]:
    """Rings round the smallest region that holds a share.

    Args:
        region: The map.
        share: Such as 0.9.

    Returns:
        North and east of each ring, m, the first point last again.
    """
    padded = np.pad(region.probability, 1)
    steps = region.north[1] - region.north[0], region.east[1] - region.east[0]
    north = np.r_[region.north[0] - steps[0], region.north, region.north[-1] + steps[0]]
    east = np.r_[region.east[0] - steps[1], region.east, region.east[-1] + steps[1]]
    lines = contour_generator(east, north, padded).lines(region.level(share))
    every = [np.asarray(line) for line in lines]
    return [(line[:, 1], line[:, 0]) for line in every if len(line) > 3]


def features_of(found: TracedBack) -> list[MapFeature]:
    """Everything that a map shows.

    Args:
        found: Of the stage.

    Returns:
        Parts as found, regions of missing ones, and where the airplane came down.
    """
    frame = found.scene.frame
    features = [_last(frame)]
    down = found.ending.reached
    if down.any():
        even = np.full(int(down.sum()), 1.0 / down.sum())
        where = likely_region(found.ending.north[down], found.ending.east[down], even, LEAST)
        features += _rings("airplane, held as last seen", "impact", where, frame)
    for number, entry in enumerate(found.found):
        if entry.latitude is None or entry.longitude is None or found.releases is None:
            continue
        said = found.releases.parts[number]
        place = entry.longitude.value / DEGREE, entry.latitude.value / DEGREE
        told: dict[str, float | str] = {
            "release_height_m": round(said.height[1]),
            "release_s_after_last": round(said.time[1], 1),
        }
        features.append(MapFeature(entry.name, "part found", place, said=told))
    for entry, region, _ in found.regions:
        features += _rings(entry.name, "search", region, frame)
    return features


def _last(frame: PlaneFrame) -> MapFeature:
    place = frame.longitude / DEGREE, frame.latitude / DEGREE
    return MapFeature("last reading", "path", place)


def _rings(name: str, kind: str, region: Region, frame: PlaneFrame) -> list[MapFeature]:
    found = []
    for share in SHARES:
        rings = []
        for north, east in rings_of(region, share):
            latitude, longitude = frame.round(north, east)
            rings.append(
                [(x / DEGREE, y / DEGREE) for x, y in zip(longitude, latitude, strict=True)]
            )
        said: dict[str, float | str] = {"probability": share}
        found.append(MapFeature(f"{name}, {share:.0%}", kind, rings=rings, said=said))
    return found


def geojson(features: list[MapFeature]) -> str:
    """The map as GeoJSON.

    Args:
        features: What it shows.

    Returns:
        A text; longitude first, WGS-84.
    """

    def geometry(one: MapFeature) -> dict:
        if one.place is not None:
            return {"type": "Point", "coordinates": list(one.place)}
        return {"type": "MultiPolygon", "coordinates": [[ring] for ring in one.rings]}

    document = {
        "type": "FeatureCollection",
        "description": CAUTION,
        "features": [
            {
                "type": "Feature",
                "properties": {"name": one.name, "kind": one.kind, **one.said},
                "geometry": geometry(one),
            }
            for one in features
        ],
    }
    return json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def kml(features: list[MapFeature]) -> str:
    """The map as KML.

    Args:
        features: What it shows.

    Returns:
        A text.
    """
    marks = []
    for one in features:
        told = "; ".join(f"{key} {value}" for key, value in one.said.items())
        head = f"<name>{escape(one.name)}</name><description>{escape(told)}</description>"
        marks.append(f"<Placemark>{head}{_kml_shape(one)}</Placemark>")
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="http://www.opengis.net/kml/2.2">'
        f"<Document><description>{CAUTION}</description>{''.join(marks)}</Document></kml>\n"
    )


def _kml_shape(one: MapFeature) -> str:
    if one.place is not None:
        return f"<Point><coordinates>{one.place[0]:.7f},{one.place[1]:.7f}</coordinates></Point>"
    rings = [
        "<Polygon><outerBoundaryIs><LinearRing><coordinates>"
        + " ".join(f"{x:.7f},{y:.7f}" for x, y in ring)
        + "</coordinates></LinearRing></outerBoundaryIs></Polygon>"
        for ring in one.rings
    ]
    return f"<MultiGeometry>{''.join(rings)}</MultiGeometry>"
