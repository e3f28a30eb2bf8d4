"""Accuracy categories as standard deviations: what an airplane or a tracker states of its data.

A category is a bound that is met at 95%, not an estimate; errors are usually a good deal smaller.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from neutralpoint.quantities import FOOT, NAUTICAL_MILE
from neutralpoint.track import Track

UNKNOWN = float("nan")
SLOWEST = 5.0  # m/s: below this a direction of flight means nothing
# 95% of a round Gaussian error in two axes, and of one in one axis, in standard deviations.
TWO_AXES, ONE_AXIS = math.sqrt(-2.0 * math.log(0.05)), 1.96
# Estimated position uncertainty, m, 95% horizontal, by NACp (RTCA DO-260B table 2-71; ICAO Doc
# 9871), as in the open Mode S book, chapter on uncertainties (DOI 10.34641/mg.11).
POSITION = {
    11: 3.0,
    10: 10.0,
    9: 30.0,
    8: 0.05 * NAUTICAL_MILE,
    7: 0.1 * NAUTICAL_MILE,
    6: 0.3 * NAUTICAL_MILE,
    5: 0.5 * NAUTICAL_MILE,
    4: 1.0 * NAUTICAL_MILE,
    3: 2.0 * NAUTICAL_MILE,
    2: 4.0 * NAUTICAL_MILE,
    1: 10.0 * NAUTICAL_MILE,
}
# Horizontal and vertical error of velocity, m/s, 95%, by NACv (the same book).
VELOCITY = {
    4: (0.3, 1.5 * FOOT),
    3: (1.0, 5.0 * FOOT),
    2: (3.0, 15.0 * FOOT),
    1: (10.0, 50.0 * FOOT),
}
HEIGHT = {1: 150.0, 2: 45.0}  # m, 95%, by GVA of version 2 (the same book)
# Probability that an error beyond the containment radius goes unnoticed, by SIL (the same book).
INTEGRITY = {1: 1e-3, 2: 1e-5, 3: 1e-7}
# Containment radius, m, by type code of a position; where a supplement decides or the version is
# not known, the larger (the same book, tables of NIC and of NUCp).
CONTAINMENT = {
    9: 7.5,
    10: 25.0,
    11: 0.1 * NAUTICAL_MILE,
    12: 0.2 * NAUTICAL_MILE,
    13: 0.6 * NAUTICAL_MILE,
    14: 1.0 * NAUTICAL_MILE,
    15: 2.0 * NAUTICAL_MILE,
    16: 10.0 * NAUTICAL_MILE,
    17: 20.0 * NAUTICAL_MILE,
    20: 7.5,
    21: 25.0,
}


def position_sigma(category: int | None) -> float:
    """Standard deviation of a position, of each axis.

    Args:
        category: NACp.

    Returns:
        m; NaN where the category states nothing.

    Source: `POSITION`. Checked against: tests/unit/test_sources_accuracy.py.
    """
    return POSITION.get(category or 0, UNKNOWN) / TWO_AXES


def contained_sigma(type_code: int, integrity: int | None) -> float:
    """Standard deviation of a position of each axis, from the radius that contains it.

    Args:
        type_code: Of the position message.
        integrity: SIL; None where not stated, taken as the lowest.

    Returns:
        m; NaN where the message states no radius.

    Source: a round Gaussian error passes R with probability exp(-R^2 / 2 sigma^2).
    """
    radius = CONTAINMENT.get(type_code, UNKNOWN)
    beyond = INTEGRITY.get(integrity or 1, INTEGRITY[1])
    return radius / math.sqrt(-2.0 * math.log(beyond))


def velocity_sigmas(category: int | None) -> tuple[float, float]:
    """Standard deviations of a velocity.

    Args:
        category: NACv.

    Returns:
        Of each horizontal axis and of the geometric vertical rate, m/s; NaN where unknown.

    Source: `VELOCITY`.
    """
    level, vertical = VELOCITY.get(category or 0, (UNKNOWN, UNKNOWN))
    return level / TWO_AXES, vertical / ONE_AXIS


def height_sigma(category: int | None) -> float:
    """Standard deviation of a geometric height.

    Args:
        category: GVA of version 2.

    Returns:
        m; NaN where unknown.

    Source: `HEIGHT`.
    """
    return HEIGHT.get(category or 0, UNKNOWN) / ONE_AXIS


def with_stated(track: Track, nacp: Mapping[int, int], nacv: Mapping[int, int]) -> Track:
    """A record whose readings carry the accuracies stated in their rows.

    Args:
        track: The record.
        nacp: NACp by row.
        nacv: NACv by row.

    Returns:
        The record; readings in other rows carry none.
    """
    found = {}
    for name, channel in track.channels().items():
        rows = channel.row.tolist()
        if name == "position" and nacp:
            sigma = np.array([position_sigma(nacp.get(row)) for row in rows])
        elif nacv and name in ("ground_speed", "track_angle"):
            sigma = np.array([velocity_sigmas(nacv.get(row))[0] for row in rows])
        elif nacv and name == "vertical_rate" and track.vertical_rate_source == "geometric":
            sigma = np.array([velocity_sigmas(nacv.get(row))[1] for row in rows])
        else:
            continue
        if name == "track_angle":
            sigma = sigma / _speeds(track, channel.time)
        found[name] = replace(channel, sigma=sigma)
    return replace(track, **found)


def _speeds(track: Track, time: np.ndarray) -> np.ndarray:
    """Ground speed at times, m/s; where none is known, a slow one."""
    speed = track.ground_speed
    if speed is None or not len(speed):
        return np.full(time.shape, SLOWEST)
    return np.maximum(np.interp(time, speed.time, speed.value), SLOWEST)
