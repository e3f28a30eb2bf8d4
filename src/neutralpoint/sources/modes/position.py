"""Positions from compact position reports: an even and an odd one close in time fix the place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from pyModeS.position._cpr import airborne_position_pair, airborne_position_with_ref

from neutralpoint.quantities import DEGREE, EARTH_RADIUS

PAIR_WITHIN = 10.0  # s between the two of a pair (ICAO Doc 9871 and RTCA DO-260B: 10 s)
REACH = 400.0  # s from a fix over which its zone stands: 180 NM at 830 m/s, twice any airliner
NEIGHBOURS = 4  # fixes on each side that a fix is compared with
FASTEST = 800.0  # m/s between agreeing fixes; a wrong zone is off by hundreds of kilometres
SLACK = 2000.0  # m, for fixes at nearly the same time


@dataclass(frozen=True)
class Report:
    """One airborne position report.

    Attributes:
        time: s after the epoch.
        odd: Whether it is the odd one of a pair.
        latitude: 17-bit field.
        longitude: 17-bit field.
        key: Index of the message.
        doubtful: Whether it was repaired; such a report makes no pair.
    """

    time: float
    odd: bool
    latitude: int
    longitude: int
    key: int
    doubtful: bool


def resolve(reports: list[Report]) -> dict[int, tuple[float, float]]:
    """Places of position reports.

    Neighbouring reports of opposite kind within 10 s give fixes; a fix counts where most of the
    fixes about it can be reached from it. Every report is then placed in the zone of the fix
    nearest in time, so that one report alone, also before the first pair, is used.

    Args:
        reports: In order of time.

    Returns:
        Latitude and longitude by `key`, rad; reports far in time from every fix are left out.

    Source: RTCA DO-260B, A.1.7 (the formulas, through the decoder); the vote among fixes is
    the analyst's choice. Checked against: tests/unit/test_sources_modes.py.
    """
    fixes = _agreeing(_fixes(reports))
    if not fixes:
        return {}
    times = np.array([t for t, _, _ in fixes])
    found = {}
    for report in reports:
        time, latitude, longitude = fixes[int(np.argmin(np.abs(times - report.time)))]
        if abs(time - report.time) > REACH:
            continue
        place = airborne_position_with_ref(
            int(report.odd), report.latitude, report.longitude, latitude, longitude
        )
        found[report.key] = (place[0] * DEGREE, place[1] * DEGREE)
    return found


def _fixes(reports: list[Report]) -> list[tuple[float, float, float]]:
    """Time and place in degrees of every pair, at its newer report."""
    last: dict[bool, Report] = {}
    fixes = []
    for report in reports:
        if report.doubtful:
            continue
        other = last.get(not report.odd)
        if other is not None and report.time - other.time <= PAIR_WITHIN:
            even, odd = (other, report) if report.odd else (report, other)
            place = airborne_position_pair(
                even.latitude,
                even.longitude,
                odd.latitude,
                odd.longitude,
                even_is_newer=not report.odd,
            )
            if place is not None:
                fixes.append((report.time, *place))
        last[report.odd] = report
    return fixes


def _agreeing(fixes: list[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    """Fixes that most of their neighbours in time can be reached from."""
    kept = []
    for k, fix in enumerate(fixes):
        near = fixes[max(0, k - NEIGHBOURS) : k] + fixes[k + 1 : k + 1 + NEIGHBOURS]
        votes = [_reachable(fix, other) for other in near if abs(other[0] - fix[0]) <= REACH]
        if not votes or sum(votes) > 0.5 * len(votes):
            kept.append(fix)
    return kept


def _reachable(one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
    north = (other[1] - one[1]) * DEGREE
    turn = (other[2] - one[2] + 180.0) % 360.0 - 180.0
    east = turn * DEGREE * np.cos(one[1] * DEGREE)
    distance = EARTH_RADIUS * float(np.hypot(north, east))
    return distance <= SLACK + FASTEST * abs(other[0] - one[0])
