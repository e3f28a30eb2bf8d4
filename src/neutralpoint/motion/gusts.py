"""The part of the load factor that is quicker than the fixes and so stands in no path."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.special import erfc

from neutralpoint.motion.rows import KINDS, Rows, interval
from neutralpoint.motion.smoother import Smoother, level_window
from neutralpoint.quantities import GRAVITY
from neutralpoint.track import Observations

Array = NDArray[np.float64]

# Load factor of gusts: what recorded flights show in calm to light air, a factor of 2 between
# flights (benchmarks/motion_on_recorded_flights.py). Analyst's choices.
GUST_SIGMA = 0.02
GUST_SPREAD = 0.6  # of its natural logarithm
GUST_WIDTH = 0.5  # s, of the kernel that makes it from white noise
# Root mean square of the unseen acceleration over that of the vertical speed that the path does not
# follow, 1/s, at readings 1 s apart: about what fits simulated upsets in smooth and rough air
# (decisions/0006).
SCATTER_RATE = 3.7
# Variance of a vertical rate that is the reading's own, beside its rounding, (m/s)^2; recorded
# flights hardly exceed it (decisions/0006).
OWN_VARIANCE = 0.05
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
        jitter: Of the times, s: it moves a rate by the acceleration.
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
    seen = scatter(
        fitted.rows[1],
        fitted.chains[1].mean,
        own=OWN_VARIANCE + rate.step**2 / 12.0,
        jitter=fitted.jitter,
        step=fitted.step,
        window=level_window(rate.time),
    )
    return seen * (SCATTER_RATE / GRAVITY) ** 2 / max(interval(rate.time), 1.0)


def gusts(
    rng: np.random.Generator, shape: tuple[int, int], interval: float, step: float, unseen: Array
) -> Array:
    """The part of the load factor that is too quick for the altitudes to show.

    Args:
        rng: Source of random numbers.
        shape: Paths and nodes, (S, m).
        interval: Between altitudes, s.
        step: Grid step, s.
        unseen: Variance that the scatter of the vertical rates shows, shape (m,).

    Returns:
        Load factor, shape (S, m): in air without such scatter next to nothing at 1 s, two thirds of
        the variance of light gusts at 5 s.

    Source: readings an interval T apart show no period below 2 T (sampling theorem); a Gaussian
    kernel of width w leaves the share erfc(2 pi f w) of the variance beyond the frequency f.
    """
    width = GUST_WIDTH / step
    share = erfc(np.pi * GUST_WIDTH / interval)
    sigma = GUST_SIGMA * np.exp(GUST_SPREAD * rng.standard_normal((shape[0], 1)))
    smooth = gaussian_filter1d(rng.standard_normal(shape), width, axis=1)
    # A Gaussian of standard deviation w has the sum of squares 1/(2 w sqrt(pi)).
    return np.sqrt((share * sigma**2 + unseen) * 2.0 * width * np.sqrt(np.pi)) * smooth
