"""Bank and signed load factor from the direction of the lift.

Without sideslip the part of the specific force across the flight path is the lift and lies in the
airplane's plane of symmetry. Its direction is known only up to its sign: the same force is an
upright airplane pushed to negative load factor or an inverted one pulled to positive. Which of the
two is settled by the roll rate each would need.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter1d

from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.numerics.intervals import circular_mean
from neutralpoint.quantities import GRAVITY

# Roll rate that costs one unit of log odds per second, and the log odds per second of flying at
# negative load factor. Ordinary airplanes roll at 10 to 60 degrees per second and are rarely flown
# inverted. Analyst's choices.
ROLL_RATE = 0.7  # rad/s
NEGATIVE_COST = 1.0  # 1/s
LEAST_LIFT = 0.25  # load factor below which the direction of the lift means nothing
# Nobody rolls to and fro within a second: what is not known of the bank changes as slowly as a bank
# that is held by hand, at 0.7 rad/s or so. On flights of another truth the error of the bank falls
# to half within 1.0 s at 1 Hz and 2.1 s by radar, that of a path within 0.5 and 0.5 to 1 s
# (decisions/0012). Standard deviation of the kernel, analyst's choice.
BANK_TIME = 1.5  # s
# Where fixes a second apart have told a bank that is held, what is left of its error lasts longer:
# its ends come out right more often, at the same bands (decisions/0012). Analyst's choice.
HELD_TIME = 3.0  # s
AROUND = 1.5  # of `BANK_TIME`, over which movement and error are compared. Analyst's choice
# Exponent of the power that the paths lose with their quick part, by which they are spread again:
# half of it, by logarithms of the spread. With 0 four recorded flights held 83 to 98 % at 1 Hz
# where 90 to 99 were held (decisions/0012). Analyst's choice.
SPREAD_KEPT = 0.25
UPSIDE = 0.5 * np.pi  # rad: paths further than this from the mean bank are told apart, not averaged


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


def steadied(bank: Array, step: float, over: float = BANK_TIME) -> Array:
    """Bank paths whose deviations change as slowly as a bank does, at the same spread.

    The mean and the spread at each time, and with them the bands, stay; the largest and smallest
    bank of each path come nearer to what one airplane can have flown.

    Args:
        bank: rad, shape (S, m).
        step: Grid step, s.
        over: Standard deviation of the kernel, s.

    Returns:
        rad, shape (S, m).
    """
    middle = circular_mean(bank)
    apart = _turned(bank - middle)
    near = (np.abs(apart) < UPSIDE).astype(float)
    slow = _slowly(apart, near, over / step)
    slow = slow * np.sqrt(_power(apart, near) / np.maximum(_power(slow, near), 1e-18))
    return _turned(middle + np.where(near > 0.0, slow, apart))


def stilled(bank: Array, step: float) -> Array:
    """Bank paths without the quick movement that is no more than their error.

    Where hands or an autopilot hold a bank, the mean of the paths swings about it by as much as the
    paths do about the mean. Of what is quicker than `BANK_TIME` that share is kept, of the mean and
    of each path, by which its power in the mean is above that of the error: none where a bank is
    held, nearly all of a roll.

    Args:
        bank: rad, of readings a second or so apart, shape (S, m).
        step: Grid step, s.

    Returns:
        rad, shape (S, m).

    Source: N. Wiener's gain, signal over signal and noise, with powers taken about each moment;
    what it comes to is in decisions/0012.
    """
    middle = np.unwrap(circular_mean(bank))
    apart = _turned(bank - middle)
    near = (np.abs(apart) < UPSIDE).astype(float)
    held = gaussian_filter1d(middle, BANK_TIME / step, mode="nearest")
    slow = _slowly(apart, near, BANK_TIME / step)
    error, seen = (
        gaussian_filter1d(power, AROUND * BANK_TIME / step, mode="nearest")
        for power in (_power(apart - slow, near), (middle - held) ** 2)
    )
    kept = np.clip(1.0 - error / np.maximum(seen, 1e-18), 0.0, 1.0)
    left = slow + kept * (apart - slow)
    left *= (_power(apart, near) / np.maximum(_power(left, near), 1e-18)) ** SPREAD_KEPT
    found = held + kept * (middle - held) + left
    return _turned(np.where(near > 0.0, found, bank))


def _slowly(apart: Array, near: Array, width: float) -> Array:
    """Deviations of each path over so many nodes, of those alone that are not told apart."""
    reach = np.maximum(gaussian_filter1d(near, width, axis=1, mode="nearest"), 1e-6)
    return gaussian_filter1d(near * apart, width, axis=1, mode="nearest") / reach


def _power(values: Array, near: Array) -> Array:
    """Mean square at each time of the paths that are not told apart."""
    return (near * values**2).sum(axis=0) / np.maximum(near.sum(axis=0), 1.0)


def _turned(angle: Array) -> Array:
    """An angle moved by whole turns into [-pi, pi)."""
    return np.mod(angle + np.pi, 2.0 * np.pi) - np.pi


def _cheapest(stay: Array, change: Array, negative: Array) -> Flags:
    """Whether the lift is negative, by the cheaper of two histories traced back; all paths at once.

    Args:
        stay: Cost of keeping the sign at each event, shape (S, k).
        change: Cost of changing it, shape (S, k).
        negative: Cost of negative lift before the first event and after each, shape (S, k + 1).

    Returns:
        Before the first event and after each, shape (S, k + 1).
    """
    paths, events = stay.shape
    cost = np.zeros((2, paths))
    cost[1] = np.log(1e3) + negative[:, 0]  # a flight hardly starts inverted
    choice = np.zeros((events, 2, paths), dtype=bool)  # True: came from the other sign
    for k in range(events):
        keep, swap = cost + stay[:, k], cost[::-1] + change[:, k]
        choice[k] = swap < keep
        cost = np.where(choice[k], swap, keep)
        cost[1] += negative[:, k + 1]
    state = np.empty((paths, events + 1), dtype=np.intp)
    state[:, -1] = cost[1] < cost[0]
    index = np.arange(paths)
    for k in range(events - 1, -1, -1):
        after = state[:, k + 1]
        state[:, k] = np.where(choice[k, after, index], 1 - after, after)
    return state.astype(bool)


def _signs(angle: Array, size: Array, step: float) -> Array:
    """Sign of the lift on each path: the cheaper history of roll rate and negative lift.

    Where the lift is next to nothing its direction says nothing. The roll from the last direction
    that can be trusted to the next may take the whole time between them, and no less. The sign is
    in question only where the force turns by more than a quarter.
    """
    nodes = angle.shape[1]
    trusted = size >= LEAST_LIFT
    last = np.maximum.accumulate(np.where(trusted, np.arange(nodes), 0), axis=1)
    before, sure = last[:, :-1], trusted[:, 1:]
    roll = np.abs(_turned(angle[:, 1:] - np.take_along_axis(angle, before, axis=1)))
    events = np.flatnonzero((sure & (roll > 0.5 * np.pi)).any(axis=0))
    flown = np.cumsum(np.where(sure, NEGATIVE_COST * step, 0.0), axis=1)
    bounds = np.r_[0, events, nodes - 2]
    at, roll, sure = before[:, events], roll[:, events], sure[:, events]
    scale = 1.0 / (ROLL_RATE**2 * step * (events + 1 - at))
    negative = _cheapest(
        np.where(sure, roll**2 * scale, 0.0),
        np.where(sure, (np.pi - roll) ** 2 * scale, np.inf),
        np.diff(flown[:, bounds], axis=1),
    )[:, np.searchsorted(events + 1, np.arange(nodes), side="right")]
    # Between trusted directions the lift keeps the side of the airplane it was seen from last.
    seen = np.take_along_axis(angle + np.pi * negative, last, axis=1)
    return np.where(np.cos(angle - seen) >= 0.0, 1.0, -1.0)


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
    return LiftDirection(_turned(bank), sign * size, along / GRAVITY)
