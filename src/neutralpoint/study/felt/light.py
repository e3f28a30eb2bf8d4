"""Light and horizon of a case at one moment."""

from __future__ import annotations

from datetime import timedelta

import numpy as np

from neutralpoint.case import Case
from neutralpoint.case.ground import ground_of
from neutralpoint.earth.sky import Sky, sky_of
from neutralpoint.findings.felt import FeltLight, TerrainAhead
from neutralpoint.numerics.intervals import circular_mean
from neutralpoint.senses import Outlook, TerrainLine, outlook, terrain_line
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.vocabulary import CIRCULAR
from neutralpoint.vocabulary.light import Light

DAYLIGHT = (Light.DAY, Light.CIVIL)
BETWEEN = (Light.CIVIL, Light.NAUTICAL)  # day to one witness and night to another


def _at(motion: KeptMotion, name: str, time: float) -> float:
    """Middle of a quantity at a moment; of a direction the mean one."""
    middle = int(np.clip(np.searchsorted(motion.time, time), 0, motion.time.size - 1))
    values = motion.paths[name][:, middle].astype(float)
    return float(circular_mean(values) if name in CIRCULAR else np.median(values))


def sky_at(case: Case, motion: KeptMotion, time: float) -> Sky:
    """Sun and moon at a moment of the flight.

    Args:
        case: The case.
        motion: Its motion.
        time: s after the epoch.

    Returns:
        Where they stand.
    """
    place = [_at(motion, name, time) for name in ("latitude", "longitude", "altitude")]
    return sky_of(case.track.epoch + timedelta(seconds=time), *place)


def outlook_at(case: Case, motion: KeptMotion, time: float) -> Outlook:
    """Whether a natural horizon could be seen at a moment of the flight.

    Args:
        case: The case.
        motion: Its motion.
        time: s after the epoch.

    Returns:
        As far as the reports of the case bear it.
    """
    report, above, age = _report(case, motion, time)
    return outlook(
        sky_at(case, motion, time),
        above=above or 0.0,
        ceiling=None if report is None else report.ceiling,
        reach=0.0 if report is None else report.cloud_reach,
        visibility=None if report is None else report.visibility,
        age=age,
    )


def _report(case: Case, motion: KeptMotion, time: float):
    """Report nearest in time, height above its station, m, and age, s."""
    if not case.reports:
        return None, None, None
    when = case.track.epoch + timedelta(seconds=time)
    ages = [abs((report.time - when).total_seconds()) for report, _ in case.reports]
    report, elevation = case.reports[int(np.argmin(ages))]
    return report, _at(motion, "altitude", time) - elevation, float(min(ages))


def _contradicts(case: Case, light: Light) -> bool:
    """Whether the case states another light than the sun gives."""
    stated = case.document.facts.light
    if stated is None or light in BETWEEN:
        return False
    return (stated == "day") != (light in DAYLIGHT)


def light_findings(case: Case, motion: KeptMotion, time: float) -> FeltLight:
    """Light and horizon at a moment of the flight.

    Args:
        case: The case.
        motion: Its motion.
        time: s after the epoch.

    Returns:
        For the findings document.
    """
    sky = sky_at(case, motion, time)
    report, above, age = _report(case, motion, time)
    found = outlook_at(case, motion, time)
    ceiling = None if report is None or report.ceiling is None else report.ceiling
    return FeltLight(
        time=time,
        light=sky.light,
        sun_elevation=sky.sun_elevation,
        sun_azimuth=sky.sun_azimuth,
        moon_elevation=sky.moon_elevation,
        moon_azimuth=sky.moon_azimuth,
        moon_lit=float(np.clip(sky.moon_lit, 0.0, 1.0)),
        seen=found.seen,
        reasons=list(found.reasons),
        station="" if report is None else report.station,
        age=age,
        above=above,
        ceiling=ceiling if ceiling is not None and np.isfinite(ceiling) else None,
        visibility=None if report is None else report.visibility,
        contradicts=_contradicts(case, sky.light),
        terrain=_terrain(case, motion, time),
    )


def _terrain(case: Case, motion: KeptMotion, time: float) -> TerrainAhead | None:
    if not case.document.terrain:
        return None
    line = terrain_line(
        ground_of(case.folder, case.document.terrain, case.document.geoid_height),
        latitude=_at(motion, "latitude", time),
        longitude=_at(motion, "longitude", time),
        height=_at(motion, "altitude", time),
        track=_at(motion, "track_angle", time),
    )
    return _ahead(line)


def _ahead(line: TerrainLine) -> TerrainAhead | None:
    known = np.isfinite(line.elevation)
    if not known.any():
        return None
    top = int(np.nanargmax(line.elevation))
    slope = 0.0
    if known.sum() > 1:
        slope = float(np.polyfit(line.bearing[known], line.elevation[known], 1)[0])
    return TerrainAhead(
        highest=float(line.elevation[top]),
        bearing=float(line.bearing[top]),
        distance=float(line.distance[top]),
        slope=float(np.arctan(slope)),
        dip=line.dip,
        known=float(known.mean()),
    )
