"""The stage `wreckage`: worked out, saved with its maps, and handed on."""

from __future__ import annotations

from typing import Any

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import Warned
from neutralpoint.study.record import Made
from neutralpoint.study.settings import Settings
from neutralpoint.study.stages import Stage, Work
from neutralpoint.study.wreckage.findings import MAPS, WRECKAGE_FILE, wreckage_findings
from neutralpoint.study.wreckage.maps import features_of, geojson, kml
from neutralpoint.study.wreckage.work_out import TracedBack, without_debris

APART = 3.0  # deviations between a place and the nearest landing that are warned of; analyst's


def _run(work: Work[Settings]) -> Made:
    work.tell("Tracing the parts back to the path", 0.0)
    found = work.known.wreckage
    if found is None or not found.ending.reached.any():
        raise NeutralPointError(
            "argument-invalid",
            "No sample path comes down within four minutes after the last reading.",
            where="case.toml: debris",
            hint="The track ends in flight; parts cannot be traced back to it.",
        )
    features = features_of(found)
    work.save_json(WRECKAGE_FILE, _document(found))
    work.save_text(MAPS[0], geojson(features))
    work.save_text(MAPS[1], kml(features))
    return Made(wreckage=wreckage_findings(found), warnings=tuple(_warnings(found)))


def _document(found: TracedBack) -> dict[str, Any]:
    """What is drawn of the stage: m north and east of the last reading."""

    def rounded(values) -> list[float]:
        return [round(float(x), 1) for x in np.ravel(values)]

    ending = found.ending
    return {
        "origin": [found.scene.frame.latitude, found.scene.frame.longitude],
        "ending": {
            "north": rounded(ending.north[ending.reached]),
            "east": rounded(ending.east[ending.reached]),
        },
        "way": {
            "north": rounded(np.median(ending.places[1], axis=1)),
            "east": rounded(np.median(ending.places[2], axis=1)),
        },
        "parts": [{"name": p.name, "north": p.north, "east": p.east} for p in found.parts],
        "release_time": [] if found.releases is None else rounded(found.releases.time),
        "regions": [
            {
                "name": entry.name,
                "north": rounded(region.north),
                "east": rounded(region.east),
                "probability": [[round(float(p), 8) for p in row] for row in region.probability],
                "levels": [region.level(0.5), region.level(0.9)],
            }
            for entry, region, _ in found.regions
        ],
    }


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
    cannot=without_debris,
    ignores=frozenset({"response", "facts", "prior", "something_failed", "history"}),
    seconds=3.0,
)
