"""The last trimmed flight: the reference that every change of moment is counted from."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from neutralpoint.moments.flight import MotionFlight

Array = NDArray[np.float64]

LENGTH = 12.0  # s of steady flight that a reference needs; analyst's
# Spread about steady flight that still counts as trimmed, one standard deviation. Analyst's.
LOAD_FACTOR_SPREAD = 0.06
SPEED_RATE = 0.6  # m/s^2
MARGIN = 2.0  # s kept between the reference and an onset


def unsteadiness(flight: MotionFlight) -> Array:
    """How far each moment is from steady flight, 1 being the limit of trimmed.

    Args:
        flight: Sample paths.

    Returns:
        Shape (m,), over windows of `LENGTH` centred on each node.
    """
    load = np.median(flight.normal_load_factor, axis=0)
    speed = np.median(flight.true_airspeed, axis=0)
    nodes = max(3, min(round(LENGTH / flight.step), load.size))
    mean = uniform_filter1d(load, nodes, mode="nearest")
    spread = np.sqrt(np.maximum(uniform_filter1d(load**2, nodes, mode="nearest") - mean**2, 0.0))
    slope = uniform_filter1d(np.gradient(speed, flight.step), nodes, mode="nearest")
    return np.hypot(spread / LOAD_FACTOR_SPREAD, slope / SPEED_RATE)


def last_trimmed(flight: MotionFlight, before: float | None = None) -> NDArray[np.bool_]:
    """The last steady stretch before a time; the steadiest one where none is steady enough.

    Args:
        flight: Sample paths.
        before: Onset of the upset, s; None looks at the whole flight.

    Returns:
        True in the reference, shape (m,).
    """
    score = unsteadiness(flight)
    half = 0.5 * LENGTH
    start, end = flight.time[0], flight.time[-1]
    latest = (end if before is None else before) - MARGIN - half
    allowed = (flight.time >= min(start + half, latest)) & (flight.time <= latest)
    if not allowed.any():
        allowed = flight.time <= max(latest, start + half)
    steady = allowed & (score <= 1.0)
    centre = (
        flight.time[np.flatnonzero(steady)[-1]]
        if steady.any() and before is not None
        else flight.time[np.flatnonzero(allowed)[np.argmin(score[allowed])]]
    )
    return np.abs(flight.time - centre) <= half
