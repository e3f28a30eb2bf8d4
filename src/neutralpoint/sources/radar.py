"""Plots of a radar station: slant range and azimuth to latitude and longitude."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.earth.geodesy import LocalFrame
from neutralpoint.sources.assembly import place

ROUNDS = 8  # of the iteration; the error falls by the slope of the line of sight each time


@dataclass(frozen=True)
class Site:
    """A radar station.

    Attributes:
        latitude: rad.
        longitude: rad.
        height: Of the antenna, m above the ellipsoid.
    """

    latitude: float
    longitude: float
    height: float


def located(site: Site, slant: float, azimuth: float, height: float) -> tuple[float, float]:
    """The place of a plot.

    Args:
        site: The station.
        slant: Slant range, m.
        azimuth: From true north at the station, rad.
        height: Of the airplane, m above the ellipsoid.

    Returns:
        Latitude and longitude, rad; NaN where the height cannot be reached at that range.

    Source: geometry on the WGS-84 ellipsoid without refraction.
    Checked against: tests/unit/test_sources_asterix.py, there and back.
    """
    frame = LocalFrame(site.latitude, site.longitude, site.height)
    down = site.height - height
    latitude = longitude = float("nan")
    for _ in range(ROUNDS):
        if abs(down) > slant:
            return float("nan"), float("nan")
        level = np.sqrt(slant**2 - down**2)
        ned = np.array([level * np.cos(azimuth), level * np.sin(azimuth), down])
        latitude, longitude, reached = (float(x) for x in frame.to_geodetic(ned))
        down += reached - height
    return place(latitude, longitude)
