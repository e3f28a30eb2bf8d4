"""Bank and signed load factor from the direction of the lift.

Without sideslip the part of the specific force across the flight path is the lift and lies in the
airplane's plane of symmetry. Its direction is known only up to its sign: the same force is an
upright airplane pushed to negative load factor or an inverted one pulled to positive. Which of the
two is settled by the roll rate each would need.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neutralpoint.quantities import GRAVITY

Array = NDArray[np.float64]

# Roll rate that costs one unit of log odds per second squared, and the log odds per second of
# flying at negative load factor. Ordinary airplanes roll at 10 to 60 degrees per second and are
# rarely flown inverted. Analyst's choices.
ROLL_RATE = 0.7  # rad/s
NEGATIVE_COST = 1.0  # 1/s


@dataclass(frozen=True)
class LiftDirection:
    """Direction and size of the force across the path.

    Attributes:
        bank: Bank angle about the flight path, rad, shape (S, m).
        load_factor: Signed normal load factor, shape (S, m).
        along: Longitudinal load factor, shape (S, m).
    """

    bank: Array
    load_factor: Array
    along: Array


def _signs(angle: Array, size: Array, step: float) -> Array:
    """Sign of the lift on each path: the cheaper history of roll rate and negative lift.

    Two histories (upright, inverted) are followed along each path and the cheaper one is traced
    back; all paths at once.
    """
    turn = np.mod(np.diff(angle, axis=1) + np.pi, 2.0 * np.pi) - np.pi
    flipped = np.pi - np.abs(turn)  # roll if the sign changes instead
    # Where the force is near zero its direction says nothing, and turning it costs nothing.
    trust = np.clip(np.minimum(size[:, 1:], size[:, :-1]) / 0.5, 0.05, 1.0)
    scale = trust**2 / (ROLL_RATE**2 * step)
    stay, change = turn**2 * scale, flipped**2 * scale + 1e-6
    negative = NEGATIVE_COST * step
    paths, nodes = angle.shape
    cost = np.zeros((2, paths))
    cost[1] = np.log(1e3)  # a flight hardly starts inverted
    choice = np.zeros((nodes - 1, 2, paths), dtype=bool)  # True: came from the other sign
    for k in range(nodes - 1):
        keep, swap = cost + stay[:, k], cost[::-1] + change[:, k]
        choice[k] = swap < keep
        cost = np.where(choice[k], swap, keep)
        cost[1] += negative
    sign = np.empty((paths, nodes), dtype=np.int8)
    state = (cost[1] < cost[0]).astype(np.intp)
    sign[:, -1] = 1 - 2 * state
    index = np.arange(paths)
    for k in range(nodes - 2, -1, -1):
        state = np.where(choice[k, state, index], 1 - state, state)
        sign[:, k] = 1 - 2 * state
    return sign.astype(float)


def lift_direction(force_ned: Array, direction_ned: Array, step: float) -> LiftDirection:
    """Split the specific force along and across the flight path.

    Args:
        force_ned: Specific force, m/s^2, shape (S, m, 3).
        direction_ned: Unit vector of the air velocity, shape (S, m, 3).
        step: Grid step, s.

    Returns:
        Bank and load factors.

    Source: method of coordinated flight, decisions/0003; n = |f_perpendicular|/g.
    Valid: sideslip small; bank undefined where the load factor is near 0.
    """
    along = np.einsum("...i,...i->...", force_ned, direction_ned)
    across = force_ned - along[..., None] * direction_ned
    up = np.zeros_like(direction_ned)
    up[..., 2] = -1.0
    up += direction_ned[..., 2:3] * direction_ned
    up /= np.maximum(np.linalg.norm(up, axis=-1, keepdims=True), 1e-6)
    right = np.cross(direction_ned, up)
    angle = np.arctan2(
        np.einsum("...i,...i->...", across, right),
        np.einsum("...i,...i->...", across, up),
    )
    size = np.linalg.norm(across, axis=-1) / GRAVITY
    sign = _signs(angle, size, step)
    bank = np.where(sign > 0, angle, angle + np.pi)
    bank = np.mod(bank + np.pi, 2.0 * np.pi) - np.pi
    return LiftDirection(bank, sign * size, along / GRAVITY)
