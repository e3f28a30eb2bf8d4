"""The motion of the airplane: joint sample paths with flags of what is observable."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from neutralpoint.earth.weather import Weather
from neutralpoint.errors import NeutralPointError
from neutralpoint.motion.age import altitude_age
from neutralpoint.motion.airdata import flight_paths
from neutralpoint.motion.height import STANDARD_PRESSURE, mean_sea_level_height
from neutralpoint.motion.lift import LiftData
from neutralpoint.motion.observability import (
    CIRCULAR,
    Resolution,
    observable,
    resolution_table,
)
from neutralpoint.motion.rows import KINDS, Rows
from neutralpoint.motion.smoother import Estimate, Smoothed, smooth
from neutralpoint.track import Track

Array = NDArray[np.float64]

LEAST_FIXES = 8  # twice the states of an axis: fewer show no noise level. Analyst's choice
OUTLIER = 4.5  # standardised residual beyond which a fix is listed; 1 in 150,000 normal ones
WRAPPED = CIRCULAR | {"longitude", "heading_of_air_velocity"}


# Uncompensated latency of positions lies within -0.2 to 0.4 s (George et al., arXiv 2008.06352).
POSITION_AGE = Estimate(0.1, 0.15)


@dataclass(frozen=True)
class Outlier:
    """A fix that the motion does not follow.

    Attributes:
        time: s after the epoch.
        row: Row of the source file.
        kind: What it reads.
        residual: Reading minus motion in standard deviations.
        weight: What is left of its weight.
    """

    time: float
    row: int
    kind: str
    residual: float
    weight: float


@dataclass(frozen=True)
class Motion:
    """What the airplane did.

    Attributes:
        time: s after the track's epoch, the fixes and a uniform grid, shape (m,).
        is_fix: True where `time` is a fix, shape (m,).
        paths: Sample paths by name, SI and radians, each shape (S, m).
        observable: Flags by the same names, each shape (m,).
        outliers: Fixes the motion does not follow.
        resolution: What windows of given length can resolve.
        noise: Estimated standard deviation of each kind of reading, in its SI unit.
        latency: Age of the velocity against the position, s; None without velocities.
        vertical_rate_lag: Time constant of the vertical rate, s; None without one.
        position_age: Age of positions at their time stamps, s: a prior, no fix shows it.
        altitude_age: Age of altitudes at their time stamps, s.
        settled: Whether the noise levels converged.
    """

    time: Array
    is_fix: NDArray[np.bool_]
    paths: dict[str, Array]
    observable: dict[str, NDArray[np.bool_]]
    outliers: list[Outlier]
    resolution: list[Resolution]
    noise: dict[str, float]
    latency: Estimate | None
    vertical_rate_lag: Estimate | None
    position_age: Estimate
    altitude_age: Estimate
    settled: bool


def _check(track: Track) -> None:
    position = track.position
    if position is None or len(position) < LEAST_FIXES:
        found = 0 if position is None else len(position)
        raise NeutralPointError(
            "track-too-short",
            f"A motion needs at least {LEAST_FIXES} positions; the track has {found}",
            where="track",
            hint="Check the column map and the time window of the case",
        )
    altitude = track.pressure_altitude or track.geometric_altitude
    if altitude is None or len(altitude) < LEAST_FIXES:
        found = 0 if altitude is None else len(altitude)
        raise NeutralPointError(
            "track-too-short",
            f"A motion needs at least {LEAST_FIXES} altitudes; the track has {found}",
            where="track",
            hint="Name a pressure or geometric altitude column in the column map",
        )


def _outliers(smoothed: Smoothed) -> list[Outlier]:
    found = []
    for chain, rows in zip(smoothed.chains, smoothed.rows, strict=True):
        for i in np.flatnonzero(np.abs(chain.residual) > OUTLIER):
            found.append(
                Outlier(
                    float(smoothed.time[rows.node[i]]),
                    int(rows.origin[i]),
                    KINDS[rows.kind[i]],
                    float(chain.residual[i]),
                    float(chain.levels.weights[i]),
                )
            )
    return sorted(found, key=lambda outlier: outlier.time)


def _noise(smoothed: Smoothed) -> dict[str, float]:
    """Median standard deviation of one reading of each kind present."""
    found: dict[str, float] = {}
    for chain, rows in zip(smoothed.chains, smoothed.rows, strict=True):
        found |= _levels(rows, chain.levels.kappa)
    return found


def _levels(rows: Rows, kappa: Array) -> dict[str, float]:
    sigma = np.sqrt(kappa[rows.kind] * rows.variance * rows.weight)
    return {KINDS[k]: float(np.median(sigma[rows.kind == k])) for k in np.unique(rows.kind)}


def _younger(paths: Array, age: Array, step: float) -> Array:
    """Each sample path as it was `age` seconds before its readings came in.

    Linear between nodes; beyond the ends the nearest node is carried on by its own rates.
    States come in groups of (value, rate, acceleration), a lagged rate after them.
    """
    _, nodes, size = paths.shape
    wanted = np.arange(nodes) + age / step
    inside = np.clip(wanted, 0.0, nodes - 1.0)
    left = np.minimum(inside.astype(np.intp), nodes - 2)[..., None]
    fraction = inside[..., None] - left
    moved = np.take_along_axis(paths, left, axis=1) * (1.0 - fraction)
    moved += np.take_along_axis(paths, left + 1, axis=1) * fraction
    beyond = (wanted - inside) * step
    for first in range(0, size - 2, 3):
        rate, acceleration = moved[..., first + 1], moved[..., first + 2]
        moved[..., first] += beyond * rate + 0.5 * beyond**2 * acceleration
        moved[..., first + 1] += beyond * acceleration
    return moved


def _without_age(
    smoothed: Smoothed, age: Estimate, lag: Estimate, rng: np.random.Generator, step: float
) -> Smoothed:
    """Paths at the time the airplane flew them, each with its own drawn ages.

    Args:
        smoothed: Paths at the time stamps.
        age: Age of the positions, s.
        lag: Further age of the altitudes, s.
        rng: Source of random numbers.
        step: Grid step, s.
    """
    normal = rng.standard_normal((2, smoothed.horizontal.shape[0], 1))
    position = age.value + age.sigma * normal[0]
    altitude = position + lag.value + lag.sigma * normal[1]
    return replace(
        smoothed,
        horizontal=_younger(smoothed.horizontal, position, step),
        vertical=_younger(smoothed.vertical, altitude, step),
    )


def _at_fixes(grid: Array, fixes: Array, paths: dict[str, Array]) -> dict[str, Array]:
    """Paths on the grid joined by linear interpolation at the fixes, in order of time."""
    step = grid[1] - grid[0]
    left = np.clip(((fixes - grid[0]) / step).astype(np.intp), 0, grid.size - 2)
    fraction = (fixes - grid[left]) / step
    order = np.argsort(np.r_[grid, fixes], kind="stable")
    joined = {}
    for name, values in paths.items():
        change = values[:, left + 1] - values[:, left]
        if name in WRAPPED:
            change = np.mod(change + np.pi, 2.0 * np.pi) - np.pi
        between = values[:, left] + fraction * change
        joined[name] = np.concatenate([values, between], axis=1)[:, order]
    return joined


def estimate_motion(
    track: Track,
    *,
    weather: Weather,
    lift: LiftData,
    rng: np.random.Generator,
    altimeter_setting: float = STANDARD_PRESSURE,
    position_age: Estimate = POSITION_AGE,
    samples: int = 200,
    step: float = 0.25,
) -> Motion:
    """Work out what the airplane did, as joint sample paths.

    Args:
        track: The record.
        weather: Wind and temperature with their uncertainty.
        lift: Mass and lift line.
        rng: Source of random numbers; the same one gives the same paths.
        altimeter_setting: Pressure reduced to mean sea level, Pa.
        position_age: Age of the positions at their time stamps, s.
        samples: Number of sample paths, S.
        step: Uniform grid step, s.

    Returns:
        The motion.

    Raises:
        NeutralPointError: `track-too-short`.
    """
    _check(track)
    smoothed = smooth(track, rng=rng, samples=samples, step=step)
    lag = altitude_age(
        smoothed.chains[0].mean, smoothed.chains[1].mean, weather=weather, lift=lift, step=step
    )
    smoothed = _without_age(smoothed, position_age, lag, rng, step)
    altitude = mean_sea_level_height(smoothed.vertical[..., 0], weather, altimeter_setting)
    paths = flight_paths(
        smoothed, weather=weather, altitude=altitude, lift=lift, rng=rng, step=step
    )
    flags = observable(paths, step)
    noise = _noise(smoothed)
    fixes = np.unique(track.position.time)
    fixes = fixes[(fixes > smoothed.time[0]) & (fixes < smoothed.time[-1])]
    time = np.r_[smoothed.time, fixes]
    order = np.argsort(time, kind="stable")
    nearest = np.rint((time[order] - smoothed.time[0]) / step).astype(np.intp)
    return Motion(
        time=time[order],
        is_fix=np.r_[np.zeros(smoothed.time.size, bool), np.ones(fixes.size, bool)][order],
        paths=_at_fixes(smoothed.time, fixes, paths),
        observable={name: values[nearest] for name, values in flags.items()},
        outliers=_outliers(smoothed),
        resolution=resolution_table(
            track,
            position_sigma=noise.get("position_cross", noise.get("position_rounded", np.nan)),
            altitude_sigma=noise["altitude"],
            vertical_rate_sigma=noise.get("vertical_rate", float("nan")),
        ),
        noise=noise,
        latency=smoothed.latency,
        vertical_rate_lag=smoothed.lag,
        position_age=position_age,
        altitude_age=Estimate(
            position_age.value + lag.value, float(np.hypot(position_age.sigma, lag.sigma))
        ),
        settled=all(chain.converged for chain in smoothed.chains),
    )
