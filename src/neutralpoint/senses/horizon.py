"""Whether a natural horizon could be seen, and where the line of the terrain stood."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from neutralpoint.earth.sky import Sky
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import DEGREE, EARTH_RADIUS, HOUR
from neutralpoint.vocabulary.light import HorizonReason, HorizonSeen, Light

REPORT_AGE = 1.0 * HOUR  # beyond which a surface report says nothing of the moment; analyst's
# Visibility below which there is no horizon to fly by, and above which there is: the visual minima
# of 14 CFR 91.155 are 1 and 3 statute miles, at height 5; analyst's rounding to 1.5 and 8 km.
LEAST_SIGHT, CLEAR_SIGHT = 1500.0, 8000.0
# A moon at least half lit and this high shows a horizon to eyes used to the dark; analyst's
# estimate.
MOON_LIT, MOON_HIGH = 0.5, 5.0 * DEGREE
REFRACTION = 0.13  # of a level ray over the curvature of the earth; common practice in surveying
REACH, POST = 80_000.0, 200.0  # m that the terrain is looked at, and between the points
FAN = 30.0 * DEGREE  # to each side of the way ahead; analyst's
RAYS = 13


@dataclass(frozen=True)
class Outlook:
    """Whether a natural horizon could be seen, and why.

    Attributes:
        seen: The answer.
        reasons: In order of weight, at least one.
    """

    seen: HorizonSeen
    reasons: tuple[HorizonReason, ...]


@dataclass(frozen=True)
class TerrainLine:
    """The line where ground meets sky ahead.

    Attributes:
        bearing: Off the way ahead, right positive, rad, shape (k,).
        elevation: Of the line above the horizontal through the eye, rad, shape (k,); NaN where no
            height is known along the ray.
        distance: To what makes it, m, shape (k,).
        dip: Of the horizon at sea from there, rad, positive down.
    """

    bearing: Array
    elevation: Array
    distance: Array
    dip: float


def _dark(sky: Sky) -> tuple[HorizonSeen, HorizonReason]:
    """What the light alone says."""
    light = sky.light
    if light in (Light.DAY, Light.CIVIL):
        return HorizonSeen.IN_SIGHT, HorizonReason.BELOW_CLOUD
    if light is Light.NAUTICAL:
        return HorizonSeen.UNKNOWN, HorizonReason.DUSK
    if sky.moon_elevation > MOON_HIGH and sky.moon_lit >= MOON_LIT:
        return HorizonSeen.UNKNOWN, HorizonReason.MOONLIT
    return HorizonSeen.NOT, HorizonReason.DARK


def outlook(
    sky: Sky,
    *,
    above: float,
    ceiling: float | None,
    reach: float,
    visibility: float | None,
    age: float | None,
) -> Outlook:
    """Whether a natural horizon could be seen, as far as a surface report bears it.

    Args:
        sky: Sun and moon.
        above: Height of the airplane above the station, m.
        ceiling: Base of the lowest layer of more than half of the sky above the station, m;
            infinite without one; None where the report says nothing of clouds.
        reach: Up to where the report speaks of clouds, m above the station.
        visibility: m; None where not reported.
        age: Between report and moment, s; None without a report.

    Returns:
        The answer: dark without a moon is no horizon whatever the clouds; all else needs a report
        of the hour, and above a broken layer nothing can be said, for its top is not reported.

    Source: definitions of broken and overcast, 5 to 8 eighths, WMO-No. 306, FM 15 (from memory);
    the thresholds are an analyst's choice.
    """
    seen, why = _dark(sky)
    if seen is HorizonSeen.NOT:
        return Outlook(seen, (why,))
    unknown = [reason for bad, reason in (
        (age is None, HorizonReason.NO_REPORT),
        (age is not None and age > REPORT_AGE, HorizonReason.OLD_REPORT),
        (ceiling is not None and above >= ceiling, HorizonReason.BROKEN_OFF),
        (age is not None and ceiling is None, HorizonReason.NO_CLOUDS),
        (ceiling is not None and above > reach, HorizonReason.FAR_FROM_REPORT),
        (age is not None and visibility is None, HorizonReason.NO_VISIBILITY),
    ) if bad]  # fmt: skip
    if unknown:
        return Outlook(HorizonSeen.UNKNOWN, (*unknown[:2],))
    sight = visibility or 0.0
    if sight < LEAST_SIGHT:
        return Outlook(HorizonSeen.NOT, (HorizonReason.HAZE,))
    if sight < CLEAR_SIGHT:
        return Outlook(HorizonSeen.UNKNOWN, (HorizonReason.HAZE,))
    return Outlook(seen, (why,))


def terrain_line(
    ground: Callable[[Array, Array], Array],
    *,
    latitude: float,
    longitude: float,
    height: float,
    track: float,
) -> TerrainLine:
    """The line of the terrain ahead.

    Args:
        ground: m above the sea by latitudes and longitudes, rad; NaN where not known.
        latitude: Of the eye, rad.
        longitude: rad.
        height: Of the eye above the sea, m.
        track: Way ahead from true north, rad.

    Returns:
        The line.

    Source: angle of a point at distance d and height h seen from H: (h - H) / d - (1 - k) d / 2R,
    common practice in surveying; dip sqrt(2 H (1 - k) / R), same.
    Checked against: tests/against/test_senses_horizon.py, a ridge and the sea in closed form.
    """
    bearing = np.linspace(-FAN, FAN, RAYS)
    distance = np.arange(POST, REACH, POST)
    way = track + bearing[:, None]
    north, east = distance * np.cos(way), distance * np.sin(way)
    heights = ground(
        latitude + north / EARTH_RADIUS,
        longitude + east / (EARTH_RADIUS * np.cos(latitude)),
    )
    bend = (1.0 - REFRACTION) / (2.0 * EARTH_RADIUS)
    angle = np.arctan2(heights - height, distance) - bend * distance
    known = np.isfinite(angle)
    at = np.where(known, angle, -np.inf).argmax(axis=1)
    rows = np.arange(RAYS)
    some = known.any(axis=1)
    return TerrainLine(
        bearing,
        np.where(some, angle[rows, at], np.nan),
        np.where(some, distance[at], np.nan),
        float(np.sqrt(max(height, 0.0) * 4.0 * bend)),
    )
