"""Where the airplane stood or rolled on the ground: too slow for its wing to carry it, and level.

On the ground wheels carry what the lift does not, so that angle of attack, pitch, bank and the
required moment mean nothing there. A roll at flying speed cannot be told from level flight by a
track; the seconds about lift-off and touchdown are therefore counted as ground until the airplane
is clear of it.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from neutralpoint.motion.lift import LiftData
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import GRAVITY

# Dynamic pressure over that of the stall without flaps. Full flap lifts the largest coefficient to
# at most about 1.6 times that of the clean wing on the airplanes meant here, so that below this no
# level flight is possible. Analyst's estimate.
SLOW = 0.55
AGREED = 0.9  # share of the paths that must be that slow; analyst's
LEVEL = 1.5  # m/s of vertical speed that still counts as level; analyst's
LASTING = 5.0  # s, longer than a zoom can stay slow and level; analyst's
CLEAR = 10.0  # m above the ground from which the airplane is surely flying: 35 ft, 14 CFR 25.113
ROLLING = 1.8  # the same for a roll: 1.35 times the stall speed; analyst's
ROLL = 60.0  # s that a roll at flying speed and the climb to CLEAR may take; analyst's
BETWEEN = 300.0  # s between two stretches of ground without a flight between them; analyst's
# What the wheels make meaningless.
CARRIED_BY_WHEELS = ("angle_of_attack", "lift_coefficient", "pitch_angle", "bank_angle")


def on_ground(time: Array, paths: dict[str, Array], lift: LiftData) -> Flags:
    """Where the airplane was on the ground.

    Args:
        time: s, shape (m,).
        paths: Sample paths by name, shape (S, m).
        lift: Mass and largest lift coefficient.

    Returns:
        True on the ground, shape (m,).

    Valid: take-offs and landings in a track that holds some seconds at less than three quarters of
    the stall speed.
    """
    least = lift.mass * GRAVITY / (lift.wing_area * lift.maximum_lift)
    slow = (paths["dynamic_pressure"] < SLOW * least).mean(axis=0) >= AGREED
    fast = np.median(paths["dynamic_pressure"], axis=0) > ROLLING * least
    level = np.abs(np.median(paths["vertical_speed"], axis=0)) < LEVEL
    height = np.median(paths["pressure_altitude"], axis=0)
    ground = np.zeros(time.size, dtype=bool)
    rolls = [(a, b) for a, b in stretches(slow & level) if time[b] - time[a] >= LASTING]
    for a, b in rolls:
        ground[_reach(time, height, fast, a, -1) : _reach(time, height, fast, b, 1) + 1] = True
    for (_, before), (after, _) in pairwise(rolls):
        top = max(height[before], height[after]) + CLEAR
        if time[after] - time[before] < BETWEEN and height[before:after].max() < top:
            ground[before:after] = True
    return ground


def stretches(flags: Flags) -> list[tuple[int, int]]:
    """First and last node of each run of true flags.

    Args:
        flags: Shape (m,).

    Returns:
        Pairs in order of time.
    """
    edges = np.flatnonzero(np.diff(np.r_[False, flags, False].astype(np.int8)))
    return [(int(a), int(b) - 1) for a, b in edges.reshape(-1, 2)]


def _reach(time: Array, height: Array, fast: Flags, node: int, way: int) -> int:
    """The last node, from one on the ground, at which the airplane is not clear of it yet."""
    nodes = np.arange(node, time.size) if way > 0 else np.arange(node, -1, -1)
    clear = (height[nodes] > height[node] + CLEAR) | (np.abs(time[nodes] - time[node]) > ROLL)
    clear |= fast[nodes]
    return int(nodes[np.argmax(clear) - 1 if clear.any() else -1])
