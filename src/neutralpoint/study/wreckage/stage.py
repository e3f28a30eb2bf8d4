"""The stage `wreckage`: worked out, saved with its maps, and handed on."""

from __future__ import annotations

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import MapPart, MapPlaces, MapRegion, Warned, WreckageMap
from neutralpoint.numerics.arrays import Array
from neutralpoint.study.record import BESIDE, Made
from neutralpoint.study.settings import Settings
from neutralpoint.study.stages import Stage, Work
from neutralpoint.study.wreckage.findings import MAPS, WRECKAGE_FILE, wreckage_findings
from neutralpoint.study.wreckage.maps import CAUTION, features_of, geojson, kml
from neutralpoint.study.wreckage.work_out import TracedBack, without_ground

APART = 3.0  # deviations between a place and the nearest landing that are warned of; analyst's


def _run(work: Work[Settings]) -> Made:
    work.tell("Tracing the parts back to the path", 0.0)
    found = work.known.wreckage
    if found is None or not found.ending.reached.any():
        raise NeutralPointError(
            "argument-invalid",
            "No sample path comes down within four minutes after the last reading.",
            where="case.toml",
            hint="The track ends in flight; parts cannot be traced back to it.",
        )
    features = features_of(found)
    document = _map(found).model_dump(mode="json")
    work.save_json(WRECKAGE_FILE, {"caution": CAUTION} | document)
    work.save_text(MAPS[0], geojson(features))
    work.save_text(MAPS[1], kml(features))
    return Made(wreckage=wreckage_findings(found, work.case), warnings=tuple(_warnings(found)))


def _map(found: TracedBack) -> WreckageMap:
    """What is drawn of the stage."""
    ending, frame = found.ending, found.scene.frame
    return WreckageMap(
        origin=(frame.latitude, frame.longitude),
        ending=_places(ending.north[ending.reached], ending.east[ending.reached]),
        parts=[MapPart(name=p.name, north=p.north, east=p.east) for p in found.parts],
        regions=[
            MapRegion(
                name=entry.name,
                north=_rounded(region.north),
                east=_rounded(region.east),
                probability=region.probability.round(8).tolist(),
                levels=[region.level(0.5), region.level(0.9)],
            )
            for entry, region, _ in found.regions
        ],
    )


def _places(north: Array, east: Array) -> MapPlaces:
    return MapPlaces(north=_rounded(north), east=_rounded(east))


def _rounded(values: Array) -> list[float]:
    return np.ravel(values).astype(float).round(1).tolist()


def _warnings(found: TracedBack) -> list[Warned]:
    if found.releases is None:
        return []
    return [
        Warned(
            code="argument-invalid",
            message=f"No release on the path lands {part.name!r} nearer to its place than "
            f"{part.nearest:.1f} standard deviations.",
            where="case.toml: debris",
            hint="Look at mass, area, drag and place of the part, and at the wind below the path.",
        )
        for part in found.releases.parts
        if part.nearest > APART
    ]


STAGE = Stage(
    name="wreckage",
    title="Where it came down",
    needs=("motion",),
    run=_run,
    settings=Settings(),
    cannot=without_ground,
    ignores=(BESIDE - {"debris"}) | frozenset({"response", "facts", "prior", "something_failed"}),
    seconds=3.0,
)
