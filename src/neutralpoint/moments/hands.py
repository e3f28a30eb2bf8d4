"""What hands on the column may add to a cause: nothing, only resistance, or anything."""

from __future__ import annotations

import numpy as np

from neutralpoint.moments.judgement import Hands
from neutralpoint.moments.needed import Needed
from neutralpoint.numerics.arrays import Array

# Before hands answer a fault, s: the shortest of the regulatory settings (AC 23-8, from memory).
HANDS_DELAY = 1.0
# What hands that resist may add anywhere, beside the noise of small column work: 5 lb. Analyst's
# estimate.
CORRECTIONS = 22.0  # N


def limits(
    hands: Hands, force: float, needed: Needed, made: Array, start: Array
) -> tuple[Array, Array]:
    """Least and most that the hands can add to each history, as a moment coefficient.

    Args:
        hands: What they are allowed to do.
        force: Most that they give, N.
        needed: The need.
        made: What the cause makes of itself, shape (c, k).
        start: When it begins, s, shape (c,).

    Returns:
        Each (c, k). Hands that resist cancel the fault after a delay, pull where the airplane is
        or soon will be below its trimmed path, push where it is above, and make small corrections
        anywhere.
    """
    worth = np.abs(needed.pull)
    most = np.broadcast_to(force * worth, made.shape)
    if hands is Hands.NONE:
        return np.zeros(made.shape), np.zeros(made.shape)
    if hands is Hands.ANYTHING:
        return -most, most
    small = min(CORRECTIONS, force) * worth
    awake = needed.time >= start[:, None] + HANDS_DELAY
    cancel = np.where(awake, -made, 0.0)
    low = np.where(needed.rising, -most, np.minimum(cancel, 0.0) - small)
    high = np.where(needed.falling, most, np.maximum(cancel, 0.0) + small)
    return np.maximum(low, -most), np.minimum(high, most)
