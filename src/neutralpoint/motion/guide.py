"""What the rows are linearised about: direction, speed and height along the flight."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from neutralpoint.motion.curvilinear import Curvilinear
from neutralpoint.motion.horizontal import SLOWEST, Guide
from neutralpoint.numerics.arrays import Array
from neutralpoint.track import Track


def _unwrapped(time: Array, angle: Array, grid: Array) -> Array:
    return np.interp(grid, time, np.unwrap(angle))


def first_guide(track: Track, frame: Curvilinear, start: float, step: float, nodes: int) -> Guide:
    """Direction, speed and height on the grid from the raw fixes alone.

    Args:
        track: The record.
        frame: Scaled coordinates.
        start: Time of the first node, s.
        step: Grid step, s.
        nodes: Number of nodes, m.

    Returns:
        The guide.
    """
    grid = start + step * np.arange(nodes)
    position = track.fixes
    latitude = np.interp(grid, position.time, position.value[:, 0])
    altitude = track.altitudes
    height = np.interp(grid, altitude.time, altitude.value)
    north, east = frame.to_plane(position.value[:, 0], position.value[:, 1])
    stretch_north, stretch_east = frame.stretch(position.value[:, 0], np.zeros(north.size))
    span = max(1, round(3.0 / max(float(np.median(np.diff(position.time))), 1e-3)))
    ahead = np.minimum(np.arange(north.size) + span, north.size - 1)
    behind = np.maximum(np.arange(north.size) - span, 0)
    duration = np.maximum(position.time[ahead] - position.time[behind], 1e-3)
    rate_north = (north[ahead] - north[behind]) * stretch_north / duration
    rate_east = (east[ahead] - east[behind]) * stretch_east / duration
    direction = _unwrapped(position.time, np.arctan2(rate_east, rate_north), grid)
    speed = np.interp(grid, position.time, np.hypot(rate_north, rate_east))
    if track.track_angle is not None:
        direction = _unwrapped(track.track_angle.time, track.track_angle.value, grid)
    if track.ground_speed is not None:
        speed = np.interp(grid, track.ground_speed.time, track.ground_speed.value)
    return Guide(start, step, direction, speed, height, latitude)


def refined(guide: Guide, frame: Curvilinear, mean: Array) -> Guide:
    """The guide about a fitted chain.

    Args:
        guide: The guide before.
        frame: Scaled coordinates.
        mean: Mean states (pn, vn, an, pe, ve, ae), shape (m, 6).

    Returns:
        The guide; where the airplane hardly moves, its direction stays.
    """
    stretch_north, stretch_east = frame.stretch(guide.latitude, guide.height)
    north, east = mean[:, 1] * stretch_north, mean[:, 4] * stretch_east
    latitude, _ = frame.to_geographic(mean[:, 0], mean[:, 3])
    speed = np.hypot(north, east)
    moving = speed > SLOWEST
    direction = np.where(moving, np.arctan2(east, north), guide.direction)
    return replace(guide, direction=direction, speed=speed, latitude=latitude)
