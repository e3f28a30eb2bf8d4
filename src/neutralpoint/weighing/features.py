"""What is compared between the flight as seen and a simulated one: quantities at knots in time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.signal import savgol_filter

from neutralpoint.moments.flight import smoothing_nodes
from neutralpoint.quantities import GRAVITY
from neutralpoint.weighing.course import Course

Array = NDArray[np.float64]

# Quantities that a flight is compared in. Bank enters as the sideways and the upright share of the
# lift, so that it needs no unwrapping and fades where the load factor does.
NAMES = (
    "lift up",
    "lift sideways",
    "along the path",
    "speed",
    "path angle",
    "energy height",
)
KNOTS = 14  # at most; analyst's
SPACING = 2.0  # s between knots at least; analyst's
UNLISTED_SIZES = (0.4, 2.0)  # of the cloud of the unlisted cause; analyst's


def knots(duration: float, window: float) -> Array:
    """Times of comparison.

    Args:
        duration: s of flight after the reference.
        window: Smoothing window, s: knots lie no closer.

    Returns:
        s after the reference, shape (k,), from half a window to the end.
    """
    count = int(np.clip(duration / max(window, SPACING), 4, KNOTS))
    return np.linspace(min(0.5 * window, 0.25 * duration), duration, count)


def features(course: Course, at: Array, window: float) -> Array:
    """Feature vectors.

    Speed, path angle and energy height count from the end of the reference, so that what is
    compared is the change.

    Args:
        course: Flights.
        at: Knots, s, shape (k,).
        window: Smoothing window, s.

    Returns:
        Shape (S, 6 k), the knots of one quantity together.

    Source: energy height h + V^2 / 2g, from memory of Rutowski, J. Aeronaut. Sci. 21 (1954).
    """
    count = course.time.size
    nodes = min(smoothing_nodes(course.step, window), 2 * ((count - 1) // 2) + 1)

    def smooth(values: Array) -> Array:
        return savgol_filter(values, nodes, min(2, nodes - 1), axis=1, mode="interp")

    lift, bank = course.normal_load_factor, course.bank_angle
    energy = course.altitude + course.true_airspeed**2 / (2.0 * GRAVITY)
    index = np.clip(np.searchsorted(course.time, at), 0, count - 1)
    found = [
        smooth(lift * np.cos(bank))[:, index],
        smooth(lift * np.sin(bank))[:, index],
        smooth(course.longitudinal_load_factor)[:, index],
    ]
    for values in (course.true_airspeed, course.flight_path_angle, energy):
        curve = smooth(values)
        found.append(curve[:, index] - curve[:, :1])
    return np.concatenate(found, axis=1)


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
    are the analyst's.
    """
    first, second, third = rng.integers(0, len(listed), (3, count))
    size = rng.uniform(*UNLISTED_SIZES, (count, 1))
    return listed[first] + size * (listed[second] - listed[third])
