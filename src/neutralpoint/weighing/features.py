"""What is compared between the flight as seen and a simulated one: quantities at knots in time."""

from __future__ import annotations

import numpy as np
from scipy.signal import savgol_filter

from neutralpoint.moments.flight import smoothing_nodes
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import GRAVITY
from neutralpoint.weighing.course import Course

# Quantities that a flight is compared in. Bank enters as the sideways and the upright share of the
# lift, so that it needs no unwrapping and fades where the load factor does. The pull that the trim
# of the start would ask for says whether hands at ordinary force could have flown it.
NAMES = (
    "lift up",
    "lift sideways",
    "along the path",
    "speed",
    "path angle",
    "energy height",
    "pull at the trim of the start",
)
LOADS = ("lift up", "pull at the trim of the start")  # that the load factor enters as it is
SIDEWAYS = NAMES.index("lift sideways")
KNOTS = 28  # at most; twice as many as told the causes apart less well
SPACING, OVERLAP = 1.4, 0.7  # s between knots at least, and windows; analyst's
UNLISTED_SIZES = (0.4, 2.0)  # of the cloud of the unlisted cause; analyst's


def knots(duration: float, window: float) -> Array:
    """Times of comparison.

    Args:
        duration: s of flight after the reference.
        window: Smoothing window, s: knots lie hardly closer.

    Returns:
        s after the reference, shape (k,), from half a window to the end.
    """
    count = int(np.clip(duration / max(OVERLAP * window, SPACING), 4, KNOTS))
    return np.linspace(min(0.5 * window, 0.25 * duration), duration, count)


def features(course: Course, at: Array, window: float) -> Array:
    """Feature vectors.

    Speed, path angle and energy height count from the end of the reference, so that what is
    compared is the change. The pull is n - (V / V0)^2: with the trim left where it was, the steady
    column force is that times the force per g without pitch damping.

    Args:
        course: Flights.
        at: Knots, s, shape (k,).
        window: Smoothing window, s.

    Returns:
        Shape (S, 7 k), the knots of one quantity together.

    Source: energy height h + V^2 / 2g, from memory of Rutowski, J. Aeronaut. Sci. 21 (1954);
    column force against speed and load factor at fixed trim, from memory of Perkins and Hage,
    Airplane Performance Stability and Control (1949), chapter 6.
    Valid: the pull without compressibility, at small changes of height.
    """
    count = course.time.size
    nodes = min(smoothing_nodes(course.step, window), 2 * ((count - 1) // 2) + 1)

    def smooth(values: Array) -> Array:
        return np.asarray(savgol_filter(values, nodes, min(2, nodes - 1), axis=1, mode="interp"))

    def sampled(values: Array) -> Array:
        return smooth(values)[:, index]

    lift, bank = course.normal_load_factor, course.bank_angle
    energy = course.altitude + course.true_airspeed**2 / (2.0 * GRAVITY)
    index = np.clip(np.searchsorted(course.time, at), 0, count - 1)
    found = [
        sampled(lift * np.cos(bank)),
        sampled(lift * np.sin(bank)),
        sampled(course.longitudinal_load_factor),
    ]
    for values in (course.true_airspeed, course.flight_path_angle, energy):
        curve = smooth(values)
        found.append(curve[:, index] - curve[:, :1])
    first = smooth(course.true_airspeed)[:, :1]
    found.append(sampled(lift - (course.true_airspeed / first) ** 2))
    return np.concatenate(found, axis=1)


def mirrored(count: int) -> Array:
    """Signs that turn features into those of the mirror image of a flight.

    Args:
        count: How many features, a multiple of the number of quantities.

    Returns:
        Shape (count,), 1 or -1.
    """
    signs = np.ones((len(NAMES), count // len(NAMES)))
    signs[SIDEWAYS] = -1.0
    return signs.ravel()


def unlisted(listed: Array, rng: np.random.Generator, count: int) -> Array:
    """Features that a cause nobody has listed might leave: a broad cloud around all listed ones.

    A listed flight is moved by a multiple of the difference of two others, so the cloud is wider
    than the listed flights in every direction and nowhere empty near them.

    Args:
        listed: Features of all causes, shape (n, f).
        rng: Source of chance.
        count: How many.

    Returns:
        Shape (count, f).

    Source: the move is that of ter Braak, Statistics and Computing 16 (2006) 239-249; its sizes
    are an analyst's choice.
    """
    first, second, third = rng.integers(0, len(listed), (3, count))
    size = rng.uniform(*UNLISTED_SIZES, (count, 1))
    return listed[first] + size * (listed[second] - listed[third])
