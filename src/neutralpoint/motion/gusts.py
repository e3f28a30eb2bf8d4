"""Gusts: how rough the air is, told by the loads, the wind they make, and loads no path holds.

A forecast gives the mean wind. What the airplane meets is the local wind: the airspeed it feels and
the angle it meets the air at differ from those of the mean wind by the gust. Gusts shake every
flight through the whole of it, hands only now and then, so the quieter part of a flight tells the
roughness.
"""

from __future__ import annotations

from functools import partial

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.signal import lfilter

from neutralpoint.earth import atmosphere
from neutralpoint.motion.lift import LiftData
from neutralpoint.motion.process import QUICK_TIME
from neutralpoint.motion.rows import KINDS, Rows, interval
from neutralpoint.motion.smoother import Smoother, level_window
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import GRAVITY
from neutralpoint.track import Observations

QUIET = 0.3  # quantile of the load by quick movement over the flight that is taken for gusts
# Gust over the load it makes on a stiff wing that meets it whole: gust alleviation of 0.6 to 0.8 at
# the mass ratios of small airplanes (14 CFR 25.341 as of 1964, eq. for K_g, from memory), less
# what hands put in. Analyst's choice.
RELIEF = 1.3
SPREAD = 0.4  # of the natural logarithm of the roughness
LEAST, LARGEST = 0.1, 6.0  # m/s root mean square: still air, severe turbulence (from memory)
# Lengths of the gusts along the path and upward, m. Source: order of MIL-F-8785C section 3.7 at
# medium height (533 m and less near the ground, from memory).
LENGTHS = (400.0, 400.0, 150.0)

UNSEEN_WIDTH = 0.5  # s, of the kernel that makes the unseen load from white noise
# Root mean square of the unseen acceleration over that of the vertical speed that the path does not
# follow, 1/s, at readings 1 s apart: about what fits simulated upsets in smooth and rough air
# (decisions/0006).
SCATTER_RATE = 3.7
# Variance of a vertical rate that is the reading's own, beside its rounding, (m/s)^2; recorded
# flights hardly exceed it (decisions/0006).
OWN_VARIANCE = 0.05
# Scatter this many times the usual one of the flight is its readings' own: what a rate scatters all
# the time is no load that comes and goes. Analyst's choice: local means of ten readings pass it by
# chance once in some hundred.
ORDINARY = 3.0
# Times of a flight are off by more than one sigma somewhere: up to so many sigma of them explain a
# rate before a load does. Analyst's choice.
LATE = 2.0
STILL_READINGS = 1.0  # without scatter, taken as read before the first. Analyst's choice


def scatter(
    rows: Rows, mean: Array, *, own: float, jitter: float, step: float, window: float
) -> Array:
    """Scatter of the vertical rates about the fitted path, beyond what is theirs.

    Args:
        rows: Rows of the vertical chain.
        mean: Its mean states, shape (m, d).
        own: Variance of a reading, (m/s)^2.
        jitter: Of the times and of the lag, s: it moves a rate by the acceleration.
        step: Grid step, s.
        window: Half width of the triangle it is averaged over, s.

    Returns:
        Mean square, (m/s)^2, at least 0, shape (m,); 0 where there are no vertical rates.
    """
    nodes, rate = mean.shape[0], rows.kind == KINDS.index("vertical_rate")
    square, weight = (rows.value - rows.predict(mean))[rate] ** 2, rows.weight[rate]
    node = rows.node[rate]
    excess = square - own - (LATE * jitter * mean[node, 2]) ** 2
    reach = max(1, round(window / step))
    shape = 1.0 - np.abs(np.arange(-reach, reach + 1)) / (reach + 1.0)

    def local(values: Array) -> Array:
        at_nodes = np.bincount(node, values, minlength=nodes)
        return np.convolve(at_nodes, shape)[reach : reach + nodes]

    return np.maximum(local(weight * excess), 0.0) / (STILL_READINGS + local(weight))


def unseen_variance(fitted: Smoother, rate: Observations | None) -> Array:
    """Variance of the load factor that is too quick for the vertical rates.

    A rate that is good to a few tenths of a metre a second and scatters by a metre about any path
    that the airplane could fly from reading to reading is an airplane that moves quicker than the
    readings come. The smoother calls that scatter noise; here it counts as motion.

    Args:
        fitted: Both chains.
        rate: Vertical rates, m/s, or None.

    Returns:
        Shape (m,); 0 without vertical rates.

    Source: readings T apart show no frequency above f = 1/2T; acceleration of a flat spectrum
    beyond it is 2 pi sqrt(f f_c) times the vertical speed, with f_c the end of the spectrum, so
    the ratio falls with the root of T. Its size is fitted.
    Valid: readings 1 to 5 s apart; closer ones are taken for 1 s.
    Checked against: tests/recovery/test_motion_quick_loads.py.
    """
    if rate is None:
        return np.zeros(fitted.time.size)
    late = fitted.jitter if fitted.lag is None else float(np.hypot(fitted.jitter, fitted.lag.sigma))
    looked = partial(
        scatter,
        fitted.rows[1],
        fitted.chains[1].mean,
        jitter=late,
        step=fitted.step,
        window=level_window(rate.time),
    )
    usual = ORDINARY * float(np.median(looked(own=0.0)))
    seen = looked(own=max(OWN_VARIANCE + rate.step**2 / 12.0, usual))
    return seen * (SCATTER_RATE / GRAVITY) ** 2 / max(interval(rate.time), 1.0)


def unseen_load(
    rng: np.random.Generator, shape: tuple[int, int], variance: Array, step: float
) -> Array:
    """Load too quick for any path, of the variance that the scatter of the rates shows.

    Args:
        rng: Source of random numbers.
        shape: Paths and nodes, (S, m).
        variance: Of the load factor, shape (m,).
        step: Grid step, s.

    Returns:
        Load factor, shape (S, m).
    """
    if not variance.any():
        return np.zeros(shape)
    width = UNSEEN_WIDTH / step
    smooth = gaussian_filter1d(rng.standard_normal(shape), width, axis=1)
    # A Gaussian of standard deviation w has the sum of squares 1/(2 w sqrt(pi)).
    return np.sqrt(variance * 2.0 * width * np.sqrt(np.pi)) * smooth


def roughness(fitted: Smoother, lift: LiftData) -> float:
    """Root mean square gust of a flight.

    Args:
        fitted: Both chains.
        lift: Mass and wing.

    Returns:
        m/s.

    Source: load of a sharp gust, dn = rho V S C_La w/(2 m g) (any text on flight loads).
    Valid: where a part of the flight is flown without quick hands.
    """
    vertical, horizontal = fitted.chains[1], fitted.chains[0].mean
    variance = fitted.quick * vertical.levels.jerk * QUICK_TIME / 2.0
    height = vertical.mean[:-1, 0]
    speed = np.maximum(np.hypot(horizontal[:-1, 1], horizontal[:-1, 4]), 20.0)
    density = atmosphere.density(atmosphere.pressure(height), atmosphere.temperature(height))
    load = density * speed * lift.wing_area * lift.lift_slope / (2.0 * lift.mass)  # (m/s^2)/(m/s)
    gust = RELIEF * np.quantile(np.sqrt(variance) / load, QUIET)
    return float(np.clip(gust, LEAST, LARGEST))


def gust_wind(
    rng: np.random.Generator, shape: tuple[int, int], rough: float, speed: Array, step: float
) -> Array:
    """Gusts met by each path.

    Args:
        rng: Source of random numbers.
        shape: Paths and nodes, (S, m).
        rough: Root mean square gust, m/s.
        speed: Typical airspeed of each path, m/s, shape (S,).
        step: Grid step, s.

    Returns:
        Wind NED, m/s, shape (S, m, 3).

    Source: first-order (Dryden-like) gusts, correlation exp(-distance/length).
    """
    sigma = rough * np.exp(SPREAD * rng.standard_normal((shape[0], 1)))
    noise = rng.standard_normal((3, *shape))
    wind = np.empty((*shape, 3))
    for axis, length in enumerate(LENGTHS):
        keep = float(np.exp(-step * np.median(speed) / length))
        drive = np.sqrt(1.0 - keep**2) * noise[axis]
        drive[:, 0] = noise[axis][:, 0]
        wind[..., axis] = sigma * lfilter([1.0], [1.0, -keep], drive, axis=1)
    return wind
