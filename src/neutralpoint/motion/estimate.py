"""The motion of the airplane: joint sample paths with flags of what is observable."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neutralpoint.earth.weather import Weather
from neutralpoint.errors import NeutralPointError
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

LEAST_FIXES = 8
OUTLIER = 4.5  # standardised residual beyond which a fix is listed; 1 in 150,000 normal ones
WRAPPED = CIRCULAR | {"longitude", "heading_of_air_velocity"}
# Age differences between altitude and position are not seen by any fix: total uncompensated
# latency spreads over -200 to +400 ms between aircraft (George et al., arXiv 2008.06352).
ALTITUDE_AGE_SIGMA = 0.15  # s


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


def _shift_age(smoothed: Smoothed, rng: np.random.Generator) -> None:
    """Move the vertical path of each sample by an unknown age of its altitudes."""
    vertical = smoothed.vertical
    age = ALTITUDE_AGE_SIGMA * rng.standard_normal((vertical.shape[0], 1))
    rate, acceleration = vertical[..., 1].copy(), vertical[..., 2]
    vertical[..., 0] += age * rate + 0.5 * age**2 * acceleration
    vertical[..., 1] += age * acceleration


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
        samples: Number of sample paths, S.
        step: Uniform grid step, s.

    Returns:
        The motion.

    Raises:
        NeutralPointError: `track-too-short`.
    """
    _check(track)
    smoothed = smooth(track, rng=rng, samples=samples, step=step)
    _shift_age(smoothed, rng)
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
            position_sigma=noise["position_cross"],
            altitude_sigma=noise["altitude"],
            vertical_rate_sigma=noise.get("vertical_rate", float("nan")),
        ),
        noise=noise,
        latency=smoothed.latency,
        vertical_rate_lag=smoothed.lag,
        settled=all(chain.converged for chain in smoothed.chains),
    )
