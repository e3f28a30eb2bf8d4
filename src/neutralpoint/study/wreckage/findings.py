"""Where it came down, as the findings document holds it."""

from __future__ import annotations

import numpy as np

from neutralpoint.case import Case
from neutralpoint.case.evidence_entries import ImpactEntry, TreeCutsEntry
from neutralpoint.findings import (
    Banded90,
    GroundEnding,
    GroundMark,
    MissingPart,
    PartReleased,
    ReleaseOrder,
    WreckageFindings,
)
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import SEA_LEVEL_DENSITY
from neutralpoint.study.limits.findings import band90
from neutralpoint.study.wreckage.work_out import GroundScene, TracedBack, place_of
from neutralpoint.wreckage import Ending
from neutralpoint.wreckage.falling import terminal_speed

WRECKAGE_FILE = "wreckage.json"
MAPS = ("wreckage.geojson", "wreckage.kml")
NORMAL = 1.645  # standard deviations of a 90% band
SURE = 0.8  # chance from which an order of two parts is listed; analyst's


def ending_of(ending: Ending, scene: GroundScene, told: Flags | None = None) -> GroundEnding | None:
    """How paths met the ground, in bands.

    Args:
        ending: Of the paths.
        scene: What they start from.
        told: Paths that are told of; None: all that came down.

    Returns:
        Bands over the paths that came down; None where none did.
    """
    down = ending.reached if told is None else ending.reached & told
    if not down.any():
        return None
    north, east = ending.north[down], ending.east[down]
    middle = np.array([np.median(north)]), np.array([np.median(east)])
    latitude, longitude = scene.frame.round(*middle)
    away = np.hypot(north - middle[0], east - middle[1])
    start = np.median(scene.state.north), np.median(scene.state.east)
    heading = ending.heading[down]
    mean = float(np.angle(np.exp(1j * heading).mean()))
    turned = mean + np.angle(np.exp(1j * (heading - mean)))
    return GroundEnding(
        reached=float(down.mean()),
        time=band90(scene.last + ending.time[down]),
        distance=band90(np.hypot(north - start[0], east - start[1])),
        latitude=float(latitude[0]),
        longitude=float(longitude[0]),
        spread=float(np.quantile(away, 0.9)),
        speed=band90(ending.speed[down]),
        path_angle=band90(ending.path_angle[down]),
        heading=band90(turned),
    )


def _of(values: tuple[float, float, float], shift: float = 0.0) -> Banded90:
    low, middle, high = (value + shift for value in values)
    return Banded90(low90=low, median=middle, high90=high)


def wreckage_findings(found: TracedBack, case: Case) -> WreckageFindings:
    """What the stage hands on.

    Args:
        found: Of the stage; its paths came down.
        case: The case, for marks on the ground.

    Returns:
        Its findings.
    """
    ending = ending_of(found.ending, found.scene)
    if ending is None:
        raise ValueError("no path came down")
    releases, last = found.releases, found.scene.last
    several = releases is not None and len(releases.parts) > 1
    return WreckageFindings(
        file=WRECKAGE_FILE,
        map_files=list(MAPS),
        ground=found.scene.kind,
        last=last,
        from_time=found.begin,
        ending=ending,
        marks=_marks(case, found.scene),
        parts=_parts(found),
        order=_order(found),
        one=releases.one if releases is not None and several else None,
        together=_of(releases.together, last) if releases is not None and several else None,
        in_flight=found.in_flight,
        missing=[_missing(*one, found.scene) for one in found.regions],
    )


def _marks(case: Case, scene: GroundScene) -> list[GroundMark]:
    """Impact and cuts of the case, in the terms of an ending."""
    start = np.median(scene.state.north), np.median(scene.state.east)
    rows = []
    for entry in case.document.evidence:
        if isinstance(entry, TreeCutsEntry):
            rows.append(GroundMark(source=entry.source, path_angle=_known(*entry.path_angle)))
        elif isinstance(entry, ImpactEntry):
            distance = None
            if entry.place_error is not None:
                north, east = place_of(entry, scene.frame)
                away = float(np.hypot(north - start[0], east - start[1]))
                distance = _known(away, entry.place_error.value / 2.0, least=0.0)
            angle, speed = entry.path_angle, entry.speed
            rows.append(
                GroundMark(
                    source=entry.source,
                    distance=distance,
                    path_angle=None if angle is None else _known(angle.value, angle.sigma),
                    speed=None if speed is None else _known(speed.value, speed.sigma),
                )
            )
    return [row for row in rows if row.distance or row.path_angle or row.speed]


def _known(value: float, sigma: float, least: float = -np.inf) -> Banded90:
    low = max(value - NORMAL * sigma, least)
    return Banded90(low90=low, median=value, high90=value + NORMAL * sigma)


def _parts(found: TracedBack) -> list[PartReleased]:
    if found.releases is None:
        return []
    ends = float(np.median(found.ending.time[found.ending.reached]))
    rows = []
    for entry, part, said in zip(found.found, found.parts, found.releases.parts, strict=True):
        if entry.latitude is None or entry.longitude is None:
            continue
        drag_area = float(np.median(part.drag_area))
        rows.append(
            PartReleased(
                name=entry.name,
                latitude=entry.latitude.value,
                longitude=entry.longitude.value,
                drag_area=drag_area,
                terminal_speed=float(
                    terminal_speed(np.array(drag_area), np.array(SEA_LEVEL_DENSITY))
                ),
                time=_of(said.time, found.scene.last),
                height=_of(said.height),
                nearest=said.nearest,
                airborne=min(float(said.weight[found.releases.time < ends].sum()), 1.0),
                source=entry.source,
            )
        )
    return rows


def _order(found: TracedBack) -> list[ReleaseOrder]:
    if found.releases is None:
        return []
    names = [part.name for part in found.releases.parts]
    order: Array = found.releases.order
    return [
        ReleaseOrder(first=names[i], second=names[j], probability=min(float(order[i, j]), 1.0))
        for i in range(len(names))
        for j in range(len(names))
        if order[i, j] >= SURE
    ]


def _missing(entry, region, known: bool, scene: GroundScene) -> MissingPart:
    row, column = np.unravel_index(int(np.argmax(region.probability)), region.probability.shape)
    latitude, longitude = scene.frame.round(
        np.array([region.north[row]]), np.array([region.east[column]])
    )
    return MissingPart(
        name=entry.name,
        latitude=float(latitude[0]),
        longitude=float(longitude[0]),
        area50=region.area(0.5),
        area90=region.area(0.9),
        assumed="as the parts found" if known else "anywhere",
    )
