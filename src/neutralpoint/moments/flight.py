"""What the required moment is worked out from: smoothed flight quantities of each sample path."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.signal import lfilter, savgol_filter

from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import GRAVITY

# Mean direction of the bank over the sample paths, 1 where all agree: below this (a spread of 18
# deg) the lift is too small to show it. Analyst's choice.
AGREED = 0.95
# Light turbulence at medium height: the vertical air motion of +- 0.8 m/s (95%) that the motion
# takes as ordinary, with the scale length of MIL-F-8785C, 1750 ft.
GUST_SIGMA = 0.4  # m/s
GUST_LENGTH = 533.4  # m


@dataclass(frozen=True)
class MotionFlight:
    """One flight as sample paths on a uniform grid, SI and radians.

    Attributes:
        time: s, shape (m,).
        true_airspeed: m/s, shape (S, m).
        dynamic_pressure: Pa, shape (S, m).
        mach: Shape (S, m).
        density: kg/m^3, shape (S, m).
        normal_load_factor: Signed, shape (S, m).
        longitudinal_load_factor: Along the path, shape (S, m).
        path_rate: Turn of the flight path in the plane of the lift, rad/s, shape (S, m).
        gust_angle: Part of the angle of attack that gusts make, rad, shape (S, m). The lift shows
            all of the angle of attack; only the rest of it is attitude less path.
    """

    time: Array
    true_airspeed: Array
    dynamic_pressure: Array
    mach: Array
    density: Array
    normal_load_factor: Array
    longitudinal_load_factor: Array
    path_rate: Array
    gust_angle: Array

    @property
    def step(self) -> float:
        """Grid step, s."""
        return float(self.time[1] - self.time[0])


def smoothing_nodes(step: float, window: float) -> int:
    """Odd number of nodes in a smoothing window, at least five.

    Args:
        step: Grid step, s.
        window: Window length, s.

    Returns:
        Number of nodes.
    """
    return max(5, 2 * round(0.5 * window / step) + 1)


def flight_from_paths(
    time: Array, is_fix: Flags, paths: dict[str, Array], window: float
) -> MotionFlight:
    """Flight quantities at the resolution the fixes have.

    A sample path of a load factor is rougher than any airplane between fixes. The moments need its
    second derivative, so the paths are smoothed by a local parabola over a window that the fixes
    can resolve; what happens faster is averaged.

    Args:
        time: s, shape (m,).
        is_fix: True where `time` is a fix and not on the uniform grid, shape (m,).
        paths: Sample paths of the motion by name, shape (S, m).
        window: Smoothing window, s.

    Returns:
        The flight on the uniform grid.

    Source: Savitzky and Golay, Analytical Chemistry 36 (1964) 1627-1639.
    """
    grid = ~is_fix
    uniform = time[grid]
    nodes = min(
        smoothing_nodes(float(uniform[1] - uniform[0]), window), 2 * ((uniform.size - 1) // 2) + 1
    )

    def smooth(name: str) -> Array:
        values = paths[name][:, grid].astype(np.float64)
        return np.asarray(savgol_filter(values, nodes, 2, axis=1, mode="interp"))

    speed = np.maximum(smooth("true_airspeed"), 1.0)
    pressure = np.maximum(smooth("dynamic_pressure"), 1.0)
    load, bank = carried_bank(
        uniform,
        paths["normal_load_factor"][:, grid].astype(np.float64),
        paths["bank_angle"][:, grid].astype(np.float64),
    )
    load_factor = np.asarray(savgol_filter(load, nodes, 2, axis=1, mode="interp"))
    level = np.cos(smooth("flight_path_angle")) * np.cos(bank)
    return MotionFlight(
        time=uniform,
        true_airspeed=speed,
        dynamic_pressure=pressure,
        mach=smooth("mach"),
        density=2.0 * pressure / speed**2,
        normal_load_factor=load_factor,
        longitudinal_load_factor=smooth("longitudinal_load_factor"),
        path_rate=GRAVITY / speed * (load_factor - level),
        gust_angle=np.zeros_like(speed),
    )


def carried_bank(time: Array, load_factor: Array, bank: Array) -> tuple[Array, Array]:
    """Bank carried through moments with hardly any lift, and the load factor along it.

    The direction of the lift shows the bank, and near zero lift shows nothing: there the sample
    paths scatter over all directions, and the turn of the path in the airplane's plane of symmetry
    with them. Roll rates being bounded, the bank is taken from either side of such a moment.

    Args:
        time: s, shape (m,).
        load_factor: Signed, shape (S, m).
        bank: rad, shape (S, m).

    Returns:
        Load factor along the carried bank, and that bank, each (S, m).
    """
    direction = np.exp(1j * bank)
    shown = np.flatnonzero(np.abs(direction.mean(axis=0)) > AGREED)
    if shown.size in (0, time.size):
        return load_factor, bank
    place = np.interp(time, time[shown], np.arange(shown.size))
    before = np.minimum(place.astype(int), shown.size - 1)
    after = np.minimum(before + 1, shown.size - 1)
    share = place - before
    carried = np.angle(
        (1.0 - share) * direction[:, shown[before]] + share * direction[:, shown[after]]
    )
    return load_factor * np.cos(bank - carried), carried


def with_gusts(flight: MotionFlight, rng: np.random.Generator, window: float) -> MotionFlight:
    """The flight in light turbulence that no track shows, another on each path.

    Args:
        flight: Sample paths.
        rng: Source of random numbers.
        window: Smoothing window of the flight, s.

    Returns:
        The flight with vertical gusts, exponentially correlated along the path and smoothed like
        the paths.

    Source: scale of MIL-F-8785C, 3.7.2.1; first-order filter, Etkin, Dynamics of Atmospheric
    MotionFlight (1972), section 13.2.
    """
    keep = float(np.exp(-flight.step * np.median(flight.true_airspeed) / GUST_LENGTH))
    shocks = rng.standard_normal(flight.true_airspeed.shape)
    # The first shock keeps its full size: the gust is then stationary from the first node on.
    shocks[:, 1:] *= np.sqrt(1.0 - keep**2)
    gust = GUST_SIGMA * np.asarray(lfilter([1.0], [1.0, -keep], shocks, axis=1))
    nodes = min(smoothing_nodes(flight.step, window), 2 * ((flight.time.size - 1) // 2) + 1)
    smooth = np.asarray(savgol_filter(gust, nodes, 2, axis=1, mode="interp"))
    return replace(flight, gust_angle=smooth / flight.true_airspeed)


def rates(values: Array, step: float, window: float) -> tuple[Array, Array]:
    """First and second derivative by a local parabola.

    Args:
        values: Shape (S, m).
        step: Grid step, s.
        window: Window, s.

    Returns:
        First and second derivative, shape (S, m).
    """
    nodes = min(smoothing_nodes(step, window), 2 * ((values.shape[1] - 1) // 2) + 1)
    first, second = (
        np.asarray(savgol_filter(values, nodes, 2, deriv=order, delta=step, axis=1, mode="interp"))
        for order in (1, 2)
    )
    return first, second
