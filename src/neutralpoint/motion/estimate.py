"""The motion of the airplane: joint sample paths with flags of what is observable."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from neutralpoint.earth.weather import Weather
from neutralpoint.errors import NeutralPointError
from neutralpoint.motion.age import altitude_age
from neutralpoint.motion.airdata import flight_paths
from neutralpoint.motion.attitude import HELD_TIME, steadied, stilled
from neutralpoint.motion.bounds import check_bounds
from neutralpoint.motion.chain import NotResolvedError
from neutralpoint.motion.gusts import roughness, unseen_variance
from neutralpoint.motion.height import (
    height_error,
    height_ratio,
    in_pressure_altitude,
    mean_sea_level_height,
    static_shift,
)
from neutralpoint.motion.lift import LiftData
from neutralpoint.motion.observability import (
    Resolution,
    observable,
    resolution_table,
)
from neutralpoint.motion.parameter import ParameterEstimate
from neutralpoint.motion.regimes import Turbulence
from neutralpoint.motion.rows import KINDS, Rows, interval
from neutralpoint.motion.smoother import Paths, Smoother
from neutralpoint.numerics.arrays import Array, Flags, Index
from neutralpoint.quantities import SEA_LEVEL_PRESSURE
from neutralpoint.track import Observations, Track, without_copies
from neutralpoint.vocabulary import CIRCULAR

LEAST_FIXES = 8  # twice the states of an axis: fewer show no noise level. Analyst's choice
OUTLIER = 4.5  # standardised residual beyond which a fix is listed; 1 in 150,000 normal ones
EXACT = frozenset({"latitude", "longitude"})  # the rest is kept in single precision
STEP = 0.25  # s, of the grid; an airplane's short period takes 1 to 5 s. Analyst's choice
MOST_NODES = 21_600  # an hour and a half of them
# Paths of a long record are fewer, so that nodes times paths, and with them time, memory and file,
# stay bounded; 50 still give the edges of a 90% band, to a tenth of its width.
USUAL_SAMPLES, LEAST_SAMPLES, MOST_VALUES = 200, 50, 1.4e6


# Uncompensated latency of positions lies within -0.2 to 0.4 s (George et al., arXiv 2008.06352).
POSITION_AGE = ParameterEstimate(0.1, 0.15)
# Root mean square of the geoid over the world is about 30 m (EGM96, from memory).
GEOID_HEIGHT = ParameterEstimate(0.0, 30.0)
NO_STATIC_ERROR = ParameterEstimate(0.0, 0.0)
# m, of each axis: 95% of horizontal errors within 8 m, global average (GPS Standard Positioning
# Service Performance Standard, 5th ed., 2020, table 3.8-3, from memory), over 2.45 in two axes.
SATELLITE_SIGMA = 3.3


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
        is_fix: True where `time` is a fix, shape (m,); on the coarse grid of a long record some.
        fix_interval: Usual time between fixes, s.
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
        fitted: What the paths were drawn from.
    """

    time: Array
    is_fix: Flags
    fix_interval: float
    paths: dict[str, Array]
    observable: dict[str, Flags]
    outliers: list[Outlier]
    resolution: list[Resolution]
    noise: dict[str, float]
    latency: ParameterEstimate | None
    vertical_rate_lag: ParameterEstimate | None
    position_age: ParameterEstimate
    altitude_age: ParameterEstimate
    settled: bool
    fitted: Smoother


def _check(track: Track) -> None:
    position = track.position
    if position is None or len(position) < LEAST_FIXES:
        found = 0 if position is None else len(position)
        raise NeutralPointError(
            "track-too-short",
            f"A motion needs at least {LEAST_FIXES} positions; the track has {found}",
            where="track",
            hint="Check the column map, and `analysis.start` and `end` of the case",
        )
    check_bounds(track)
    altitude = track.pressure_altitude or track.geometric_altitude
    if altitude is None or len(altitude) < LEAST_FIXES:
        found = 0 if altitude is None else len(altitude)
        raise NeutralPointError(
            "track-too-short",
            f"A motion needs at least {LEAST_FIXES} altitudes; the track has {found}",
            where="track",
            hint="Name a pressure or geometric altitude column in the column map",
        )


def _outliers(smoothed: Smoother) -> list[Outlier]:
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


def _noise(smoothed: Smoother) -> dict[str, float]:
    """Median standard deviation of one reading of each kind present."""
    found: dict[str, float] = {}
    for chain, rows in zip(smoothed.chains, smoothed.rows, strict=True):
        found |= _levels(rows, chain.levels.kappa)
    return found


def _levels(rows: Rows, kappa: Array) -> dict[str, float]:
    sigma = np.sqrt(kappa[rows.kind] * rows.variance * rows.weight)
    return {KINDS[k]: float(np.median(sigma[rows.kind == k])) for k in np.unique(rows.kind)}


def _younger(paths: Array, ages: Array, step: float) -> Array:
    """Each sample path as it was `ages` seconds before its readings came in.

    Linear between nodes; beyond the ends the nearest node is carried on by its own rates.
    States come in groups of (value, rate, acceleration), a lagged rate after them.

    Args:
        paths: Shape (S, m, d).
        ages: s, shape (S,).
        step: Grid step, s.
    """
    _, nodes, size = paths.shape
    moved = np.empty_like(paths)
    for path, age, result in zip(paths, ages, moved, strict=True):
        wanted = np.arange(nodes) + age / step
        inside = np.clip(wanted, 0.0, nodes - 1.0)
        left = np.minimum(inside.astype(np.intp), nodes - 2)
        fraction = (inside - left)[:, None]
        result[:] = path[left] * (1.0 - fraction) + path[left + 1] * fraction
        ends = np.flatnonzero(wanted != inside)
        beyond = (wanted - inside)[ends] * step
        for first in range(0, size - 2, 3):
            rate, acceleration = result[ends, first + 1], result[ends, first + 2]
            result[ends, first] += beyond * rate + 0.5 * beyond**2 * acceleration
            result[ends, first + 1] += beyond * acceleration
    return moved


def _without_age(
    paths: Paths,
    age: ParameterEstimate,
    lag: ParameterEstimate,
    rng: np.random.Generator,
    step: float,
) -> Paths:
    """Paths at the time the airplane flew them, each with its own drawn ages.

    Args:
        paths: Paths at the time stamps.
        age: Age of the positions, s.
        lag: Further age of the altitudes, s.
        rng: Source of random numbers.
        step: Grid step, s.
    """
    normal = rng.standard_normal((2, paths.horizontal.shape[0]))
    position = age.value + age.sigma * normal[0]
    altitude = position + lag.value + lag.sigma * normal[1]
    return replace(
        paths,
        horizontal=_younger(paths.horizontal, position, step),
        vertical=_younger(paths.vertical, altitude, step),
    )


def _bias(position: Observations, noise: dict[str, float]) -> float:
    """Standard deviation of what all positions are off by, of each axis, m.

    An error that lasts shows in no reading: what is stated is taken, else that of satellite
    positions, or of one reading where that is larger.
    """
    known = [] if position.sigma is None else position.sigma[np.isfinite(position.sigma)]
    if len(known):
        return float(np.median(known))
    read = noise.get("position_cross", noise.get("position_rounded", 0.0))
    return max(SATELLITE_SIGMA, read)


def _moved(paths: Paths, shift: Array) -> Paths:
    """Paths each of which lies further north and east by metres of its own, (2, S)."""
    horizontal = paths.horizontal.copy()
    horizontal[..., 0] += shift[0][:, None]
    horizontal[..., 3] += shift[1][:, None]
    return replace(paths, horizontal=horizontal)


def _shifted(paths: Paths, shift: Array) -> Paths:
    """Paths each of which is higher by a number of metres of its own, (S,)."""
    vertical = paths.vertical.copy()
    vertical[..., 0] += shift[:, None]
    return replace(paths, vertical=vertical)


def _corrected(paths: Paths, error: ParameterEstimate, rng: np.random.Generator) -> Paths:
    """Paths without the error of the static source, each with its own draw of it."""
    moving = np.linalg.norm(paths.horizontal[..., [1, 4]], axis=-1)
    speed = np.hypot(moving, paths.vertical[..., 1])
    drawn = rng.normal(error.value, error.sigma, len(speed))
    vertical = paths.vertical.copy()
    vertical[..., 0] -= static_shift(speed, drawn)
    return replace(paths, vertical=vertical)


@dataclass(frozen=True)
class _Axis:
    """The uniform grid and the fixes between its nodes, in order of time.

    Attributes:
        time: Grid and fixes, s, shape (m,).
        is_fix: Shape (m,).
        left: Node before each fix, shape (f,).
        fraction: Of the step after it, shape (f,).
    """

    time: Array
    is_fix: Flags
    left: Index
    fraction: Array

    def joined(self, name: str, values: Array) -> Array:
        """Values on the grid, shape (S, nodes), with values at the fixes between them."""
        change = values[:, self.left + 1] - values[:, self.left]
        if name in CIRCULAR:
            change = np.mod(change + np.pi, 2.0 * np.pi) - np.pi
        both = np.empty((values.shape[0], self.time.size), values.dtype)
        both[:, ~self.is_fix] = values
        both[:, self.is_fix] = values[:, self.left] + self.fraction * change
        return both


def _axis(grid: Array, fixes: Array, step: float) -> _Axis:
    fixes = np.unique(fixes)
    fixes = fixes[(fixes > grid[0]) & (fixes < grid[-1])]
    if step > STEP:  # on a coarse grid, a fix in every four steps tells the same
        place = ((fixes - grid[0]) / (4.0 * step)).astype(np.intp)
        fixes = fixes[np.unique(place, return_index=True)[1]]
    time = np.r_[grid, fixes]
    order = np.argsort(time, kind="stable")
    left = np.clip(((fixes - grid[0]) / step).astype(np.intp), 0, grid.size - 2)
    return _Axis(
        time[order],
        order >= grid.size,
        left,
        (fixes - grid[left]) / step,
    )


def grid_step(time: Array) -> float:
    """The grid step of a record.

    Args:
        time: Of the positions, s, shape (n,).

    Returns:
        s.
    """
    return STEP * float(max(1.0, np.ceil((time[-1] - time[0]) / STEP / MOST_NODES)))


def sample_count(time: Array) -> int:
    """How many sample paths a record gets.

    Args:
        time: Of the positions, s, shape (n,).

    Returns:
        `USUAL_SAMPLES` up to 23 minutes at 1 Hz, fewer on longer records.
    """
    nodes = (time[-1] - time[0]) / grid_step(time) + time.size
    return int(np.clip(MOST_VALUES / nodes, LEAST_SAMPLES, USUAL_SAMPLES))


def estimate_motion(
    track: Track,
    *,
    weather: Weather,
    lift: LiftData,
    rng: np.random.Generator,
    altimeter_setting: float = SEA_LEVEL_PRESSURE,
    altimeter_sigma: float = 0.0,
    static_error: ParameterEstimate = NO_STATIC_ERROR,
    position_age: ParameterEstimate = POSITION_AGE,
    geoid_height: ParameterEstimate = GEOID_HEIGHT,
    turbulence: Turbulence | None = None,
    samples: int = USUAL_SAMPLES,
    step: float | None = None,
) -> Motion:
    """Work out what the airplane did, as joint sample paths.

    Args:
        track: The record.
        weather: Wind and temperature with their uncertainty.
        lift: Mass and lift line.
        rng: Source of random numbers; the same one gives the same paths.
        altimeter_setting: Pressure reduced to mean sea level, Pa.
        altimeter_sigma: Its standard deviation, Pa.
        static_error: Altitude read less true pressure altitude at the usual speed, m.
        position_age: Age of the positions at their time stamps, s.
        geoid_height: Of the geoid above the ellipsoid, m; used where there is no pressure altitude.
        turbulence: As somebody reported it; counts where altitudes are too far apart to tell it.
        samples: Number of sample paths, S.
        step: Uniform grid step, s; None = `STEP`, a multiple of it for a record that would take
            more than `MOST_NODES`.

    Returns:
        The motion.

    Raises:
        NeutralPointError: `track-too-short`, `motion-not-resolved`.
    """
    _check(track)
    try:
        return _estimated(
            without_copies(track),
            weather=weather,
            lift=lift,
            rng=rng,
            altimeter_setting=altimeter_setting,
            altimeter_sigma=altimeter_sigma,
            static_error=static_error,
            position_age=position_age,
            geoid_height=geoid_height,
            turbulence=turbulence,
            samples=samples,
            step=step,
        )
    except NotResolvedError:
        raise NeutralPointError(
            "motion-not-resolved",
            "The readings of this track contradict each other so far that no motion follows them",
            where="track",
            hint="Leave out the stretch that is damaged by `analysis.start` and `end` of the case, "
            "or the column that is, in the column map",
        ) from None


def _estimated(
    track: Track,
    *,
    weather: Weather,
    lift: LiftData,
    rng: np.random.Generator,
    altimeter_setting: float,
    altimeter_sigma: float,
    static_error: ParameterEstimate,
    position_age: ParameterEstimate,
    geoid_height: ParameterEstimate,
    turbulence: Turbulence | None,
    samples: int,
    step: float | None,
) -> Motion:
    position_age = ParameterEstimate(
        position_age.value, float(np.hypot(position_age.sigma, track.time_sigma))
    )
    above_ellipsoid = track.pressure_altitude is None
    track = in_pressure_altitude(track, weather, altimeter_setting, geoid_height.value)
    step = grid_step(track.fixes.time) if step is None else step
    geometric = track.vertical_rate_source == "geometric"
    smoothed = Smoother(
        track,
        step=step,
        height_ratio=partial(height_ratio, weather=weather) if geometric else np.ones_like,
        turbulence=turbulence,
    )
    lag = altitude_age(
        smoothed.chains[0].mean, smoothed.chains[1].mean, weather=weather, lift=lift, step=step
    )
    axis = _axis(smoothed.time, track.fixes.time, step)
    noise = _noise(smoothed)
    bias = _bias(track.fixes, noise)
    (apart,) = rng.spawn(1)
    rough = roughness(smoothed, lift)
    unseen = unseen_variance(smoothed, track.vertical_rate)
    paths: dict[str, Array] = {}
    for group in np.array_split(np.arange(samples), min(smoothed.draws, samples)):
        drawn = smoothed.draw(rng, group.size)
        drawn = _without_age(drawn, position_age, lag, rng, step)
        drawn = _moved(drawn, bias * apart.standard_normal((2, group.size)))
        if above_ellipsoid:
            drawn = _shifted(drawn, geoid_height.sigma * rng.standard_normal(group.size))
        if static_error != NO_STATIC_ERROR:
            drawn = _corrected(drawn, static_error, apart)
        altitude = mean_sea_level_height(drawn.vertical[..., 0], weather, altimeter_setting)
        altitude += height_error(apart, group.size, altitude, weather, altimeter_sigma)
        flown = flight_paths(
            drawn,
            weather=weather,
            altitude=altitude,
            lift=lift,
            rng=rng,
            step=step,
            rough=rough if drawn.gust is None else drawn.gust,
            unseen=unseen,
        )
        for name, values in flown.items():
            kind = np.float64 if name in EXACT else np.float32
            whole = paths.setdefault(name, np.empty((samples, axis.time.size), kind))
            whole[group] = axis.joined(name, values)
    # By the roll rates that the data leave open, and by those that they show.
    shown = observable(paths, step, ~axis.is_fix, interval(track.fixes.time))
    bank = steadied(paths["bank_angle"][:, ~axis.is_fix].astype(float), step)
    bank = bank if smoothed.slow else steadied(stilled(bank, step), step, HELD_TIME)
    paths["bank_angle"] = axis.joined("bank_angle", bank).astype(np.float32)
    return Motion(
        time=axis.time,
        is_fix=axis.is_fix,
        fix_interval=interval(track.fixes.time),
        paths=paths,
        observable=shown,
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
        altitude_age=ParameterEstimate(
            position_age.value + lag.value, float(np.hypot(position_age.sigma, lag.sigma))
        ),
        settled=all(chain.converged for chain in smoothed.chains),
        fitted=smoothed,
    )
