"""What a record must be for its motion to be worked out: refused before anything is started."""

from __future__ import annotations

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import EARTH_RADIUS
from neutralpoint.track import Track

# Analyst's choice. The step of the grid grows with the record, and a day is the longest that still
# shows a maneuver; memory stays below 2 GiB up to both.
LONGEST = 86400.0  # s from the first position to the last
MOST_FIXES = 250_000
SHORTEST = 2.0  # s
FASTEST = 1500.0  # m/s between two positions, twice that of a fast jet; analyst's
# m from a pole, where north turns with the place: straight flight past it at 500 m had load factors
# of -3.9 to 3.9, at 5 km those of a flight anywhere. Analyst's.
POLE = 10_000.0


def check_bounds(track: Track) -> None:
    """Refuse a record whose motion cannot be worked out.

    Args:
        track: With positions.

    Raises:
        NeutralPointError: `track-too-short` where all lies at one time, `track-too-long`,
            `track-mixed` where half of the positions are too far from the ones before, or
            `track-pole`.
    """
    if track.position is None:
        return
    time, place = track.position.time, track.position.value
    span = float(time[-1] - time[0])
    if span < SHORTEST:
        raise NeutralPointError(
            "track-too-short",
            f"All {time.size} positions lie within {span:.1f} s.",
            where="track",
            hint=f"At least {SHORTEST:.0f} s are needed; check the time column of the column map.",
        )
    if span > LONGEST:
        raise _too_long(time, span)
    if time.size > MOST_FIXES:
        raise NeutralPointError(
            "track-too-long",
            f"The track has {time.size} positions.",
            where="track",
            hint=f"At most {MOST_FIXES} are computed; name `analysis.start` and `analysis.end`.",
        )
    nearest = EARTH_RADIUS * (0.5 * np.pi - float(np.abs(place[:, 0]).max()))
    if nearest < POLE:
        raise NeutralPointError(
            "track-pole",
            f"The track passes a pole at {nearest / 1e3:.1f} km.",
            where="track",
            hint=f"Within {POLE / 1e3:.0f} km of a pole no motion is computed: name "
            "`analysis.start` and `analysis.end`, and check the column of the latitude.",
        )
    speed = _speeds(time, place)
    if speed.size and float(np.median(speed)) > FASTEST:
        raise NeutralPointError(
            "track-mixed",
            f"Half of the positions lie more than {np.median(speed):.0f} m/s from those before.",
            where="track",
            hint=f"An airplane stays below {FASTEST:.0f} m/s; check the units of latitude and "
            "longitude, and that the file holds one airplane (`only`).",
        )


def _too_long(time: np.ndarray, span: float) -> NeutralPointError:
    gaps = np.diff(time)
    widest = int(np.argmax(gaps))
    return NeutralPointError(
        "track-too-long",
        f"The positions last {span / 3600.0:.1f} h; the longest gap is {gaps[widest] / 3600.0:.1f} "
        f"h, before position {widest + 2} of {time.size}.",
        where="track",
        hint=f"At most {LONGEST / 3600.0:.0f} h are computed: name `analysis.start` and "
        "`analysis.end`, and check rows that lie far from the others.",
    )


def _speeds(time: np.ndarray, place: np.ndarray) -> np.ndarray:
    """Speed from each position to the next, m/s, where time passed.

    Source: length of an arc on a sphere; the difference to the ellipsoid, 0.3 %, does not count.
    """
    latitude, longitude = place[:, 0], place[:, 1]
    north = np.diff(latitude)
    east = np.diff(longitude)
    east = (np.mod(east + np.pi, 2.0 * np.pi) - np.pi) * np.cos(latitude[1:])
    passed = np.diff(time)
    moves = passed > 0.0
    return EARTH_RADIUS * np.hypot(north, east)[moves] / passed[moves]
