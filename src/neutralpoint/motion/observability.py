"""What these data can resolve: which curves may be shown, and where."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import uniform_filter1d

from neutralpoint.motion.attitude import LEAST_LIFT
from neutralpoint.motion.rows import interval
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.numerics.intervals import circular_half_width, half_width
from neutralpoint.quantities import DEGREE, GRAVITY
from neutralpoint.track import Observations, Track
from neutralpoint.vocabulary.quantity import CIRCULAR, MOTION

# Half width of the 90% band beyond which a curve says too little to be drawn.
LIMITS: dict[str, float] = {q.name: q.limit for q in MOTION if q.limit is not None}
FASTEST_ROLL = 60.0 * DEGREE  # rad/s; beyond it the airplane rolls and the lift does not lead
GUARD = 1.5  # s, either side of where the bank is lost
# Where fixes are seconds apart a band may be narrow for a moment within a stretch where it is too
# wide to say anything. That moment is chance: widths count as their mean over so many fixes either
# side (decisions/0012). Analyst's choices.
AROUND, CLOSE = 2.0, 1.5  # fixes; s, up to which each moment is told apart


@dataclass(frozen=True)
class Resolution:
    """What one window length can resolve with these data, standard deviations.

    Attributes:
        window: s.
        fixes: Fixes in the window.
        vertical_acceleration_altitude: From altitudes alone, g.
        vertical_acceleration_rate: From transmitted vertical rates alone, g; None without them.
        horizontal_acceleration: From positions alone, g.
    """

    window: float
    fixes: float
    vertical_acceleration_altitude: float
    vertical_acceleration_rate: float | None
    horizontal_acceleration: float


def _widen(flags: Flags, reach: int) -> Flags:
    """True wherever a True lies within `reach` nodes."""
    window = np.ones(2 * reach + 1)
    return np.convolve(flags.astype(float), window, mode="same") > 0.5


def _bank_lost(paths: dict[str, Array], step: float) -> Flags:
    """Where the lift is too small, or turns too fast, for its direction to be the bank."""
    lift = np.abs(paths["normal_load_factor"])
    small = np.median(lift, axis=0) < LEAST_LIFT
    turn = np.diff(np.unwrap(paths["bank_angle"], axis=1), axis=1) / step
    rate = np.median(np.abs(turn), axis=0)
    fast = np.r_[rate, rate[-1:]] > FASTEST_ROLL
    return _widen(small | fast, max(1, round(GUARD / step)))


def observable(
    paths: dict[str, Array], step: float, grid: Flags, fix_interval: float = 1.0
) -> dict[str, Flags]:
    """Flags by variable: True where the 90% band is narrow enough to say something.

    Args:
        paths: Sample paths by name, each of shape (S, m).
        step: Step of the uniform grid, s.
        grid: True at the nodes of the uniform grid, False at fixes between them, shape (m,).
        fix_interval: Usual time between fixes, s.

    Returns:
        Flags of shape (m,) by name, for every variable given.
    """
    flags: dict[str, Flags] = {}
    here = np.maximum(np.cumsum(grid) - 1, 0)
    for name, values in paths.items():
        if name not in LIMITS:
            flags[name] = np.ones(grid.size, dtype=bool)
            continue
        width = circular_half_width(values) if name in CIRCULAR else half_width(values)
        if fix_interval > CLOSE:
            reach = 2 * round(AROUND * fix_interval / step) + 1
            width = uniform_filter1d(np.asarray(width, float)[grid], reach, mode="nearest")[here]
        flags[name] = width <= LIMITS[name]
    on_grid = {name: paths[name][:, grid] for name in ("normal_load_factor", "bank_angle")}
    lost = _bank_lost(on_grid, step)
    flags["bank_angle"] &= ~lost[here]
    return flags


def acceleration_sigma(sigma: float, fixes: float, window: float) -> float:
    """Standard deviation of an acceleration from a parabola through positions.

    Args:
        sigma: Standard deviation of one position.
        fixes: Number of fixes in the window.
        window: Window length, s.

    Returns:
        Standard deviation of the acceleration, in the unit of sigma per s^2.

    Source: least squares for equally spaced positions, sigma sqrt(720/N)/T^2; derived in
    docs/explanation/method.md and checked by simulation in tests/unit/test_motion_resolution.py.
    """
    return sigma * float(np.sqrt(720.0 / max(fixes, 3.0))) / window**2


def rate_sigma(sigma: float, fixes: float, window: float) -> float:
    """Standard deviation of an acceleration from a line through rates.

    Args:
        sigma: Standard deviation of one rate.
        fixes: Number of rates in the window.
        window: Window length, s.

    Returns:
        Standard deviation of the acceleration, in the unit of sigma per s.

    Source: slope of a line by least squares, sigma sqrt(12/N)/T.
    """
    return sigma * float(np.sqrt(12.0 / max(fixes, 2.0))) / window


def _interval(channel: Observations) -> float:
    return interval(channel.time)


def resolution_table(
    track: Track, *, position_sigma: float, altitude_sigma: float, vertical_rate_sigma: float
) -> list[Resolution]:
    """What windows of 2 to 16 s can resolve with this track.

    Args:
        track: The record.
        position_sigma: Estimated error of a position across the path, m.
        altitude_sigma: Estimated error of an altitude, quantization included, m.
        vertical_rate_sigma: Estimated error of a vertical rate, quantization included, m/s.

    Returns:
        One row a window; windows with fewer than three fixes say infinity.
    """
    rows = []
    for window in (2.0, 4.0, 8.0, 16.0):
        fixes = window / _interval(track.fixes)
        heights = window / _interval(track.altitudes)
        enough, enough_heights = fixes >= 3.0, heights >= 3.0
        rate = None
        if track.vertical_rate is not None:
            rates = window / _interval(track.vertical_rate)
            rate = rate_sigma(vertical_rate_sigma, rates, window) / GRAVITY
        rows.append(
            Resolution(
                window,
                fixes,
                acceleration_sigma(altitude_sigma, heights, window) / GRAVITY
                if enough_heights
                else float("inf"),
                rate,
                acceleration_sigma(position_sigma, fixes, window) / GRAVITY
                if enough
                else float("inf"),
            )
        )
    return rows
