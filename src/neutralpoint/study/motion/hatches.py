"""Which test of the motion a quantity fails where it is not observable."""

from __future__ import annotations

from typing import Literal

import numpy as np

from neutralpoint.motion import CARRIED_BY_WHEELS
from neutralpoint.motion.attitude import LEAST_LIFT
from neutralpoint.motion.observability import LIMITS
from neutralpoint.numerics.arrays import Array, Flags

Failed = Literal["ground", "wide", "no-lift", "rolls"]


def failed_test(name: str, band: Array, load_factor: Array, ground: Flags) -> Failed:
    """Why a quantity is hidden in a stretch; as `motion.observability` decides it.

    Args:
        name: Of the quantity.
        band: Its 5, 25, 50, 75 and 95% there, SI, shape (5, n).
        load_factor: Median of the normal load factor there, shape (n,).
        ground: Where the airplane stands or rolls, shape (n,).

    Returns:
        The test that hides it.
    """
    if name in CARRIED_BY_WHEELS and ground.mean() > 0.5:
        return "ground"
    if np.mean(0.5 * (band[4] - band[0])) > LIMITS[name]:
        return "wide"
    return "no-lift" if np.abs(load_factor).min() < LEAST_LIFT else "rolls"
