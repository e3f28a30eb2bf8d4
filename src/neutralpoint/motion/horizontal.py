"""Positions, ground speeds and track angles as rows over the horizontal chain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.motion.curvilinear import Curvilinear
from neutralpoint.motion.rows import KINDS, Rows, crossings, run_lengths, stack, taylor
from neutralpoint.numerics.arrays import Array, Index
from neutralpoint.track import Observations, Track, quantization_step

POSITION_SIGMA = 5.0  # m, nominal; the factor kappa is estimated
TIME_SIGMA = 0.05  # s, nominal time jitter of a position; the factor kappa is estimated
SPEED_SIGMA = 0.3  # m/s, nominal, on top of quantization
TRACK_SIGMA = 0.003  # rad, nominal, on top of quantization
SLOWEST = 5.0  # m/s: below this a direction of flight means nothing
ROUNDED = 15.0  # m: coarser positions are read axis by axis, as runs and boundaries
DOUBT = 1e4  # factor on the variance of a row marked as suspect, against one that is not


@dataclass(frozen=True)
class Guide:
    """What the rows are linearised about, on the grid.

    Attributes:
        start: Time of the first node, s.
        step: Grid step, s.
        direction: Track angle, rad, unwrapped, shape (m,).
        speed: Ground speed, m/s, shape (m,).
        height: Approximate height, m, shape (m,).
        latitude: Approximate latitude, rad, shape (m,).
    """

    start: float
    step: float
    direction: Array
    speed: Array
    height: Array
    latitude: Array

    def locate(self, time: Array) -> tuple[Index, Array]:
        """Nearest node and time from it.

        Args:
            time: s, shape (n,).

        Returns:
            Node (n,) and offset in seconds (n,).
        """
        node = np.rint((time - self.start) / self.step).astype(np.intp)
        node = np.clip(node, 0, self.direction.size - 1)
        return node, time - self.start - node * self.step


def nominal(observations: Observations, usual: float) -> Array:
    """Nominal standard deviation of each reading.

    A stated accuracy is a bound, and the level of the noise is estimated; what counts is by how
    much one reading is worse than another.

    Args:
        observations: The readings.
        usual: Of an ordinary reading.

    Returns:
        In the unit of `usual`, shape (n,).
    """
    stated = observations.sigma
    if stated is None or not np.isfinite(stated).any():
        return np.full(len(observations), usual)
    known = np.isfinite(stated)
    return usual * np.where(known, stated, 1.0) / np.where(known, np.median(stated[known]), 1.0)


def doubt_of(observations: Observations) -> Array:
    """Factor on the variance of each reading for what the reader marked as suspect.

    Args:
        observations: The readings.

    Returns:
        Shape (n,); 1 throughout where all are suspect, as none is then worse than another.
    """
    return np.where(observations.suspect & ~observations.suspect.all(), DOUBT, 1.0)


def _rotate(axes: Array, north: Array, east: Array) -> Array:
    """Rows over (pn, vn, an, pe, ve, ae, sn, se) from one over (p, v, a) and a direction."""
    none = np.zeros((len(axes), 2))
    return np.concatenate([axes * north[:, None], axes * east[:, None], none], axis=1)


def position_steps(observations: Observations, frame: Curvilinear) -> tuple[float, float]:
    """Rounding of latitude and longitude.

    Args:
        observations: Latitude and longitude, rad, shape (n, 2).
        frame: Scaled coordinates.

    Returns:
        Steps north and east, m; 0 where continuous.
    """
    scales = frame.scale
    north, east = (quantization_step(observations.value[:, i]) * scales[i] for i in (0, 1))
    return north, east


def rounded_position_rows(
    observations: Observations, frame: Curvilinear, guide: Guide, steps: tuple[float, float]
) -> Rows:
    """Positions that are rounded coarsely, axis by axis: runs count once, boundaries are seen.

    Args:
        observations: Latitude and longitude, rad, shape (n, 2).
        frame: Scaled coordinates.
        guide: Linearisation.
        steps: Rounding north and east, m.

    Returns:
        One row a reading and axis, and one a boundary crossed.
    """
    plane = frame.to_plane(observations.value[:, 0], observations.value[:, 1])
    doubt = doubt_of(observations)
    node, offset = guide.locate(observations.time)
    stretches = frame.stretch(observations.value[:, 0], guide.height[node])
    courses = (np.cos(guide.direction), np.sin(guide.direction))
    parts = []
    for axis, (value, step) in enumerate(zip(plane, steps, strict=True)):
        pick = (1.0 - axis, float(axis))
        count = run_lengths(value, step)
        groups = [(observations.time, value, count * step**2 / 12.0, 1.0 / count, doubt)]
        rows = [observations.row]
        if step > 0.0:
            time, edge, variance, before = crossings(observations.time, value, step)
            doubtful = np.maximum(doubt[before], doubt[before + 1])
            groups.append((time, edge, variance, np.ones(time.size), doubtful))
            rows.append(observations.row[before])
        for (time, target, variance, weight, doubtful), origin in zip(groups, rows, strict=True):
            node, offset = guide.locate(time)
            stretch = np.interp(time, observations.time, stretches[axis])
            axes, _ = taylor(offset)
            late = (TIME_SIGMA * guide.speed[node] * courses[axis][node]) ** 2
            noise = np.interp(time, observations.time, nominal(observations, POSITION_SIGMA))
            total = variance * stretch**2 + noise**2 + late
            parts.append(
                Rows(
                    np.full(node.size, KINDS.index("position_rounded")),
                    node,
                    _rotate(axes, stretch * pick[0], stretch * pick[1]),
                    stretch * target,
                    total * doubtful,
                    weight,
                    origin,
                )
            )
    return stack(parts)


def position_rows(observations: Observations, frame: Curvilinear, guide: Guide) -> Rows:
    """Positions, split along and across the direction of flight.

    A late or early time stamp moves a fix along the path only, so the two errors are separate
    kinds, each with its own estimated level.

    Args:
        observations: Latitude and longitude, rad, shape (n, 2).
        frame: Scaled coordinates.
        guide: Linearisation.

    Returns:
        Two rows a fix.
    """
    latitude, longitude = observations.value[:, 0], observations.value[:, 1]
    north, east = frame.to_plane(latitude, longitude)
    node, offset = guide.locate(observations.time)
    stretch_north, stretch_east = frame.stretch(latitude, guide.height[node])
    cosine, sine = np.cos(guide.direction[node]), np.sin(guide.direction[node])
    axes, _ = taylor(offset)
    doubt = doubt_of(observations)
    cross = nominal(observations, POSITION_SIGMA) ** 2 * doubt
    along = cross + (TIME_SIGMA * guide.speed[node]) ** 2 * doubt
    parts = []
    for kind, unit_north, unit_east, variance in (
        ("position_along", cosine * stretch_north, sine * stretch_east, along),
        ("position_cross", -sine * stretch_north, cosine * stretch_east, cross),
    ):
        parts.append(
            Rows(
                np.full(node.size, KINDS.index(kind)),
                node,
                _rotate(axes, unit_north, unit_east),
                unit_north * north + unit_east * east,
                variance,
                np.ones(node.size),
                observations.row,
            )
        )
    return stack(parts)


def _velocity_rows(
    observations: Observations,
    frame: Curvilinear,
    guide: Guide,
    *,
    latency: float,
    direction: Array,
    kind: str,
    value: Array,
    variance: Array,
) -> Rows:
    node, offset = guide.locate(observations.time - latency)
    stretch_north, stretch_east = frame.stretch(guide.latitude[node], guide.height[node])
    _, axes = taylor(offset)
    count = run_lengths(observations.value, observations.step)
    doubt = doubt_of(observations)
    return Rows(
        np.full(node.size, KINDS.index(kind)),
        node,
        _rotate(axes, np.cos(direction) * stretch_north, np.sin(direction) * stretch_east),
        value,
        variance * doubt,
        1.0 / count,
        observations.row,
    )


def speed_rows(
    observations: Observations, frame: Curvilinear, guide: Guide, latency: float
) -> Rows:
    """Ground speeds as the velocity along the direction of flight.

    Args:
        observations: Ground speed, m/s, shape (n,).
        frame: Scaled coordinates.
        guide: Linearisation.
        latency: Age of the velocity at its time stamp, s.

    Returns:
        One row a reading.
    """
    node, _ = guide.locate(observations.time - latency)
    count = run_lengths(observations.value, observations.step)
    return _velocity_rows(
        observations,
        frame,
        guide,
        latency=latency,
        direction=guide.direction[node],
        kind="ground_speed",
        value=observations.value,
        variance=nominal(observations, SPEED_SIGMA) ** 2 + count * observations.step**2 / 12.0,
    )


def track_rows(
    observations: Observations, frame: Curvilinear, guide: Guide, latency: float
) -> Rows:
    """Track angles as a velocity of zero across the direction read.

    Args:
        observations: Track angle, rad, shape (n,).
        frame: Scaled coordinates.
        guide: Linearisation.
        latency: Age of the velocity at its time stamp, s.

    Returns:
        One row a reading; below `SLOWEST` the rows carry next to nothing.
    """
    node, _ = guide.locate(observations.time - latency)
    count = run_lengths(observations.value, observations.step)
    spread = TRACK_SIGMA**2 + count * observations.step**2 / 12.0
    slow = np.where(guide.speed[node] < SLOWEST, DOUBT, 1.0)
    return _velocity_rows(
        observations,
        frame,
        guide,
        latency=latency,
        direction=observations.value + 0.5 * np.pi,
        kind="track_angle",
        value=np.zeros(node.size),
        variance=np.maximum(guide.speed[node], SLOWEST) ** 2 * spread * slow,
    )


def horizontal_rows(
    track: Track,
    frame: Curvilinear,
    guide: Guide,
    latency: float,
    steps: tuple[float, float],
) -> Rows:
    """All horizontal rows of a track.

    Args:
        track: The record.
        frame: Scaled coordinates.
        guide: Linearisation.
        latency: Age of the velocity at its time stamp, s.
        steps: Rounding of the positions north and east, m.

    Returns:
        Rows over (pn, vn, an, pe, ve, ae, sn, se).
    """
    if max(steps) > ROUNDED:
        parts = [rounded_position_rows(track.fixes, frame, guide, steps)]
    else:
        parts = [position_rows(track.fixes, frame, guide)]
    if track.ground_speed is not None:
        seen = track.ground_speed.by_step()
        parts += [speed_rows(part, frame, guide, latency) for part in seen]
    if track.track_angle is not None:
        seen = track.track_angle.by_step()
        parts += [track_rows(part, frame, guide, latency) for part in seen]
    return stack(parts)
