"""Joint sample paths of position, velocity and acceleration from a track."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from neutralpoint.motion.chain import Chain, Levels, fit_chain, log_evidence, sample_chain
from neutralpoint.motion.curvilinear import Curvilinear
from neutralpoint.motion.horizontal import (
    SLOWEST,
    TIME_SIGMA,
    Guide,
    horizontal_rows,
    position_steps,
)
from neutralpoint.motion.process import Process, horizontal_process, vertical_process
from neutralpoint.motion.rows import KINDS, Rows, stack
from neutralpoint.motion.vertical import altitude_rows, rate_rows
from neutralpoint.track import Track

Array = NDArray[np.float64]

HORIZONTAL_PRIOR = np.array([1e6, 400.0, 10.0, 1e6, 400.0, 10.0])  # m, m/s, m/s^2: no information
VERTICAL_PRIOR = np.array([3e4, 150.0, 10.0, 150.0])  # m, m/s, m/s^2, m/s: likewise
LEVEL_WINDOW = 3.0  # s
# Least jerk levels, (m/s^3)^2/Hz: accelerations wandering by 0.05 and 0.03 m/s^2 within half a
# second, which is what recorded flights show in calm air
# (benchmarks/motion_on_recorded_flights.py).
CALM_VERTICAL = 0.005
CALM_HORIZONTAL = 0.002
DRAWS = 8  # draws of the noise levels; the paths are shared out among them
LATENCIES = np.linspace(-0.8, 1.6, 9)  # s, searched; 91.227 allows 0.6 s uncompensated (memory)
LAGS = np.array([0.1, 0.2, 0.4, 0.7, 1.1, 1.7, 2.5, 4.0])  # s, searched


@dataclass(frozen=True)
class Estimate:
    """A parameter of the data with its standard deviation.

    Attributes:
        value: Most likely value.
        sigma: Standard deviation from the curvature of the log likelihood.
    """

    value: float
    sigma: float


@dataclass(frozen=True)
class Smoothed:
    """What the smoother hands on.

    Attributes:
        time: Grid, s, shape (m,).
        horizontal: Sample paths of (pn, vn, an, pe, ve, ae), shape (S, m, 6).
        vertical: Sample paths of (H, H', H'', lagged rate), shape (S, m, 4).
        frame: Scaled coordinates of the horizontal paths.
        chains: The fitted horizontal and vertical chains.
        rows: The rows behind them.
        latency: Age of the velocity against the position, s.
        lag: Lag of the vertical rate, s; None without one.
    """

    time: Array
    horizontal: Array
    vertical: Array
    frame: Curvilinear
    chains: tuple[Chain, Chain]
    rows: tuple[Rows, Rows]
    latency: Estimate | None
    lag: Estimate | None


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
    position = track.position
    latitude = np.interp(grid, position.time, position.value[:, 0])
    altitude = track.pressure_altitude or track.geometric_altitude
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


def _refine(guide: Guide, frame: Curvilinear, mean: Array) -> Guide:
    """The guide about a fitted chain."""
    stretch_north, stretch_east = frame.stretch(guide.latitude, guide.height)
    north, east = mean[:, 1] * stretch_north, mean[:, 4] * stretch_east
    latitude, _ = frame.to_geographic(mean[:, 0], mean[:, 3])
    speed = np.hypot(north, east)
    moving = speed > SLOWEST
    direction = np.where(moving, np.arctan2(east, north), guide.direction)
    return replace(guide, direction=direction, speed=speed, latitude=latitude)


def peak(grid: Array, log_likelihood: Array) -> Estimate:
    """Maximum and curvature of a log likelihood known on a grid.

    Args:
        grid: Increasing parameter values, shape (n,).
        log_likelihood: Shape (n,).

    Returns:
        Estimate by the parabola through the best point and its neighbours; at an edge of the
        grid the sigma is at least the width of the last cell.
    """
    best = int(np.argmax(log_likelihood))
    inner = min(max(best, 1), grid.size - 2)
    around = slice(inner - 1, inner + 2)
    shape = np.polyfit(grid[around] - grid[inner], log_likelihood[around], 2)
    cell = float(grid[inner + 1] - grid[inner - 1]) / 2.0
    if shape[0] >= 0.0 or best != inner:
        return Estimate(float(grid[best]), cell)
    shift = float(np.clip(-shape[1] / (2.0 * shape[0]), -cell, cell))
    return Estimate(float(grid[inner]) + shift, float(np.sqrt(-0.5 / shape[0])))


def level_window(time: Array) -> float:
    """Half width of the window of the local jerk level.

    Args:
        time: Times of the fixes, s, shape (n,).

    Returns:
        Two fix intervals, at least `LEVEL_WINDOW`, s.
    """
    return max(LEVEL_WINDOW, 2.0 * float(np.median(np.diff(time))))


class _Horizontal:
    """The horizontal chain of a track, refitted as its linearisation improves."""

    def __init__(self, track: Track, frame: Curvilinear, guide: Guide) -> None:
        self.track, self.frame, self.guide = track, frame, guide
        self.process = horizontal_process(guide.step)
        self.window = level_window(track.position.time)
        self.latency: Estimate | None = None
        self.steps = position_steps(track.position, frame)
        self.rows = self.build(0.0)

    def build(self, latency: float) -> Rows:
        """Rows about the present guide."""
        return horizontal_rows(self.track, self.frame, self.guide, latency, self.steps)

    def extra(self, mean: Array, kappa: Array) -> Array:
        """Variance of velocity rows from time jitter: what the acceleration moves them."""
        jitter = TIME_SIGMA**2 * kappa[KINDS.index("position_along")]
        acceleration = (mean[:, 2] ** 2 + mean[:, 5] ** 2)[self.rows.node]
        moving = self.rows.kind >= KINDS.index("ground_speed")
        return np.where(moving, acceleration * jitter, 0.0)

    def fit(self, start: Levels | None) -> Chain:
        floor = np.full(len(KINDS), 0.02)
        return fit_chain(
            self.process,
            self.rows,
            HORIZONTAL_PRIOR,
            step=self.guide.step,
            window=self.window,
            nodes=self.guide.direction.size,
            floor=floor,
            calm=CALM_HORIZONTAL,
            extra=self.extra,
            start=start,
        )

    def relinearise(self, chain: Chain) -> None:
        self.guide = _refine(self.guide, self.frame, chain.mean)
        latency = 0.0 if self.latency is None else self.latency.value
        self.rows = self.build(latency)

    def find_latency(self, chain: Chain) -> None:
        if self.track.ground_speed is None and self.track.track_angle is None:
            return
        levels = chain.levels
        scores = []
        for latency in LATENCIES:
            rows = self.build(float(latency))
            variance = levels.kappa[rows.kind] * rows.variance / levels.weights
            scores.append(log_evidence(self.process, rows, HORIZONTAL_PRIOR, levels.jerk, variance))
        self.latency = peak(LATENCIES, np.array(scores))


class _Vertical:
    """The vertical chain of a track."""

    def __init__(self, track: Track, guide: Guide, jitter: float, scale: Array) -> None:
        self.track, self.guide, self.jitter, self.scale = track, guide, jitter, scale
        self.lag: Estimate | None = None
        altitude = track.pressure_altitude or track.geometric_altitude
        self.window = level_window(altitude.time)
        self.build(0.3)

    def build(self, lag: float) -> None:
        altitude = self.track.pressure_altitude or self.track.geometric_altitude
        parts = [altitude_rows(altitude, self.guide)]
        if self.track.vertical_rate is not None:
            parts.append(rate_rows(self.track.vertical_rate, self.guide, lag=lag, scale=self.scale))
        self.process: Process = vertical_process(self.guide.step, lag)
        self.rows = stack(parts)

    def extra(self, mean: Array, kappa: Array) -> Array:
        """Variance from time jitter: what the rate moves an altitude, the acceleration a rate."""
        rate = self.rows.kind == KINDS.index("vertical_rate")
        slope = np.where(rate, mean[self.rows.node, 2], mean[self.rows.node, 1])
        return (slope * self.jitter) ** 2

    def fit(self, start: Levels | None) -> Chain:
        floor = np.full(len(KINDS), 0.5)
        return fit_chain(
            self.process,
            self.rows,
            VERTICAL_PRIOR,
            step=self.guide.step,
            window=self.window,
            nodes=self.guide.direction.size,
            floor=floor,
            calm=CALM_VERTICAL,
            extra=self.extra,
            start=start,
        )

    def find_lag(self, chain: Chain) -> None:
        if self.track.vertical_rate is None:
            return
        levels = chain.levels
        scores = []
        for lag in LAGS:
            self.build(float(lag))
            added = self.extra(chain.mean, levels.kappa)
            variance = (levels.kappa[self.rows.kind] * self.rows.variance + added) / levels.weights
            scores.append(
                log_evidence(self.process, self.rows, VERTICAL_PRIOR, levels.jerk, variance)
            )
        found = peak(np.log(LAGS), np.array(scores))
        lag = float(np.exp(found.value))
        self.lag = Estimate(lag, lag * found.sigma)
        self.build(lag)


def smooth(
    track: Track,
    *,
    rng: np.random.Generator,
    samples: int,
    step: float,
    height_ratio: Array | None = None,
) -> Smoothed:
    """Fit both chains and draw joint sample paths.

    Args:
        track: The record, with positions and one kind of altitude.
        rng: Source of random numbers.
        samples: Number of paths, S, a multiple of `DRAWS`.
        step: Grid step, s.
        height_ratio: Geometric height per pressure altitude on the grid, used where the vertical
            rate is geometric; 1 where None.

    Returns:
        Paths on the grid.
    """
    position = track.position
    start = float(position.time[0])
    nodes = int(np.floor((float(position.time[-1]) - start) / step + 0.5)) + 1
    frame = Curvilinear(*np.median(position.value, axis=0).tolist())
    guide = first_guide(track, frame, start, step, nodes)

    horizontal = _Horizontal(track, frame, guide)
    chain_h = horizontal.fit(None)
    horizontal.relinearise(chain_h)
    horizontal.find_latency(chain_h)
    horizontal.relinearise(chain_h)
    chain_h = horizontal.fit(chain_h.levels)
    horizontal.relinearise(chain_h)

    jitter = TIME_SIGMA * float(np.sqrt(chain_h.levels.kappa[KINDS.index("position_along")]))
    ratio = np.ones(nodes) if height_ratio is None else height_ratio
    vertical = _Vertical(track, horizontal.guide, jitter, ratio)
    chain_v = vertical.fit(None)
    vertical.find_lag(chain_v)
    chain_v = vertical.fit(chain_v.levels)

    share = samples // DRAWS
    paths_h, paths_v = [], []
    for _ in range(DRAWS):
        if horizontal.latency is not None:
            drawn = rng.normal(horizontal.latency.value, horizontal.latency.sigma)
            horizontal.rows = horizontal.build(float(drawn))
        if vertical.lag is not None:
            spread = vertical.lag.sigma / vertical.lag.value
            vertical.build(float(vertical.lag.value * np.exp(spread * rng.standard_normal())))
        for part, prior, chain, paths in (
            (horizontal, HORIZONTAL_PRIOR, chain_h, paths_h),
            (vertical, VERTICAL_PRIOR, chain_v, paths_v),
        ):
            paths.append(
                sample_chain(
                    part.process,
                    part.rows,
                    prior,
                    chain,
                    step=step,
                    window=part.window,
                    rng=rng,
                    count=share,
                    extra=part.extra,
                )
            )
    return Smoothed(
        time=start + step * np.arange(nodes),
        horizontal=np.concatenate(paths_h),
        vertical=np.concatenate(paths_v),
        frame=frame,
        chains=(chain_h, chain_v),
        rows=(horizontal.rows, vertical.rows),
        latency=horizontal.latency,
        lag=vertical.lag,
    )
