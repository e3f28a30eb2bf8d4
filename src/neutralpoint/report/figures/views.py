"""The path seen from above and from the side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from pyproj import Proj

from neutralpoint.numerics.arrays import Array, Index
from neutralpoint.quantities import FOOT, NAUTICAL_MILE
from neutralpoint.report.figures.figure import PathView
from neutralpoint.report.results import Results


def path_views(results: Results) -> tuple[PathView, ...]:
    """Plan view in nautical miles from the first place, and height against distance flown.

    Args:
        results: A results folder, read.

    Returns:
        The two views, at all times.

    Source: azimuthal equidistant projection about the middle of the path on WGS-84 (pyproj);
        scale true from the centre, within 1e-4 elsewhere for paths under 200 km.
    """
    north, east = flat_paths(results)
    time = results.time - results.time[0]
    along = _distance(np.median(east, axis=0), np.median(north, axis=0))
    height = results.samples["pressure_altitude"] / FOOT
    fixes = _fixes(results)
    middle = results.bands["pressure_altitude"][2] / FOOT
    plan = PathView(
        key="plan",
        title="Seen from above, north up",
        x_unit="NM",
        y_unit="NM",
        equal=True,
        x=np.median(east, axis=0),
        y=np.median(north, axis=0),
        sample_x=east,
        sample_y=north,
        reading_time=fixes[0],
        reading_x=fixes[2],
        reading_y=fixes[1],
    )
    at, level = _heights(results)
    profile = PathView(
        key="profile",
        title="Pressure altitude against distance flown over the ground",
        x_unit="NM",
        y_unit="ft",
        equal=False,
        x=along,
        y=middle,
        sample_x=np.broadcast_to(along, height.shape),
        sample_y=height,
        reading_time=at,
        reading_x=np.interp(at, time, along),
        reading_y=level,
    )
    return plan, profile


def view_at(view: PathView, kept: Index) -> PathView:
    """A view at some of its times; the readings stay.

    Args:
        view: At all times.
        kept: Which times are drawn.

    Returns:
        The view.
    """
    return replace(
        view,
        x=view.x[kept],
        y=view.y[kept],
        sample_x=view.sample_x[:, kept],
        sample_y=view.sample_y[:, kept],
    )


def _projection(results: Results) -> Proj:
    middle = [float(np.median(results.bands[name][2])) for name in ("latitude", "longitude")]
    return Proj(proj="aeqd", lat_0=np.degrees(middle[0]), lon_0=np.degrees(middle[1]))


def flat_paths(results: Results) -> tuple[Array, Array]:
    """North and east of the sample paths, NM from the first place.

    Args:
        results: A results folder, read.

    Returns:
        North and east, each (k, m).
    """
    longitude, latitude = (np.degrees(results.samples[n]) for n in ("longitude", "latitude"))
    east, north = _projection(results)(longitude, latitude)
    start_north, start_east = np.median(north[:, 0]), np.median(east[:, 0])
    return (north - start_north) / NAUTICAL_MILE, (east - start_east) / NAUTICAL_MILE


def flat_place(results: Results) -> Callable[[Array, Array], tuple[Array, Array]]:
    """Places on the plane of the paths.

    Args:
        results: A results folder, read.

    Returns:
        Gives m east and north of the first place at longitudes and latitudes, degrees.
    """
    project = _projection(results)
    longitude_then, latitude_then = (
        float(np.median(np.degrees(results.samples[n][:, 0]))) for n in ("longitude", "latitude")
    )
    start_east, start_north = project(longitude_then, latitude_then)

    def flat(longitude: Array, latitude: Array) -> tuple[Array, Array]:
        east, north = project(longitude, latitude)
        return east - start_east, north - start_north

    return flat


def to_latitude_longitude(results: Results, north: Array, east: Array) -> tuple[Array, Array]:
    """Places from their distance to the first place.

    Args:
        results: A results folder, read.
        north: m, shape (n,).
        east: m, shape (n,).

    Returns:
        Latitude and longitude, rad, shape (n,) each.
    """
    project = _projection(results)
    longitude, latitude = (np.degrees(results.samples[n]) for n in ("longitude", "latitude"))
    flat_east, flat_north = project(longitude, latitude)
    origin = np.median(flat_east[:, 0]), np.median(flat_north[:, 0])
    found = project(east + origin[0], north + origin[1], inverse=True)
    return np.radians(found[1]), np.radians(found[0])


def _fixes(results: Results) -> tuple[Array, Array, Array]:
    """Time, north and east of the unmarked fixes; empty where they were not saved."""
    channel = results.channels.get("position")
    if channel is None:
        return np.zeros(0), np.zeros(0), np.zeros(0)
    kept = ~channel.suspect
    project = _projection(results)
    longitude, latitude = (
        float(np.median(np.degrees(results.samples[n][:, 0]))) for n in ("longitude", "latitude")
    )
    origin = project(longitude, latitude)
    east, north = project(np.degrees(channel.value[kept, 1]), np.degrees(channel.value[kept, 0]))
    scaled = ((north - origin[1]) / NAUTICAL_MILE, (east - origin[0]) / NAUTICAL_MILE)
    return channel.time[kept] - results.time[0], *scaled


def _heights(results: Results) -> tuple[Array, Array]:
    """Time, s, and pressure altitude, ft, of the unmarked altitude readings."""
    channel = results.channels.get("pressure_altitude")
    if channel is None:
        return np.zeros(0), np.zeros(0)
    kept = ~channel.suspect
    return channel.time[kept] - results.time[0], channel.value[kept, 0] / FOOT


def _distance(east: Array, north: Array) -> Array:
    return np.r_[0.0, np.cumsum(np.hypot(np.diff(east), np.diff(north)))]
