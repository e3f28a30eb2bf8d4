"""When a simulated flight passes ultimate load: from there on its path is not that of a model."""

from __future__ import annotations

import numpy as np

from neutralpoint.numerics.arrays import Array
from neutralpoint.vocabulary import CauseName
from neutralpoint.vocabulary.limit import ULTIMATE
from neutralpoint.weighing.flights import Flown


def broke_at(flown: Flown) -> Array:
    """When each flight first passes ultimate load.

    Flights of a structural failure break by their own cause, are simulated without what they lost,
    and go on being flown.

    Args:
        flown: Flights of one cause.

    Returns:
        s after the reference, infinite where it does not, shape (n,).

    Source: ultimate load is 1.5 times the limit load of the airplane file, 14 CFR 23.303 and
    25.303; strength has scatter, so that a flight may break earlier or later.
    """
    load = flown.course.normal_load_factor
    if flown.cause == CauseName.STRUCTURAL_FAILURE:
        return np.full(len(load), np.inf)
    limits = flown.plan.airplane.limits
    high, low = (ULTIMATE * float(x) for x in (limits.load_factor_max, limits.load_factor_min))
    beyond = (load > high) | (load < low)
    first = flown.course.time[beyond.argmax(axis=1)]
    return np.where(beyond.any(axis=1), first, np.inf)
