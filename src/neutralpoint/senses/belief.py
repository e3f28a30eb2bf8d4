"""Whether what could be perceived supplies what two flown causes take as given.

A push against an illusion believes a felt pitch; a spiral takes it as given that nobody notices the
bank. Both are asked of simulated flights of the cause, with what the observers make of the same
flights.
"""

from __future__ import annotations

import numpy as np

from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import DEGREE
from neutralpoint.senses.observer import Perceived
from neutralpoint.senses.seat import Ride

# Over this long after its begin a push is compared with what could be felt, s. Analyst's choice.
PUSH = 10.0
# A bank counts as hidden where less than half of it is perceived when it first reaches this, or is
# largest: standard rate turns are flown at 15 to 25 deg of bank. Analyst's choice.
BANK, HIDDEN = 30.0 * DEGREE, 0.5
BANK_WITHIN = 30.0  # s after the begin that a bank is looked at; analyst's


def lagged(values: Array, step: float, constant: float) -> Array:
    """A first-order lag that starts settled.

    Args:
        values: Shape (n, m).
        step: s.
        constant: Time constant, s.

    Returns:
        Shape (n, m).
    """
    kept = np.exp(-step / constant)
    found = np.empty_like(values)
    found[:, 0] = values[:, 0]
    for at in range(1, values.shape[1]):
        found[:, at] = values[:, at] + kept * (found[:, at - 1] - values[:, at])
    return found


def enough_felt(
    ride: Ride, perceived: Perceived, *, begin: Array, belief: Array, lag: float
) -> Flags:
    """Whether the observers perceive as much nose-up pitch as a flown push believed.

    Args:
        ride: Of n flights.
        perceived: Of the same.
        begin: When the push begins, s after the first record, shape (n,).
        belief: Share of the felt pitch that was believed, shape (n,).
        lag: Time constant of the felt pitch on these flights, s.

    Returns:
        True where the whole of what an observer perceives is at least what was believed, on the
        mean over `PUSH`, shape (2, n).
    """
    away = lagged(ride.tilt, ride.step, lag) - ride.pitch
    time = ride.step * np.arange(ride.pitch.shape[1])
    inside = (time >= begin[:, None]) & (time <= begin[:, None] + PUSH)
    count = np.maximum(inside.sum(axis=1), 1)
    needed = belief * (away * inside).sum(axis=1) / count
    given = ((perceived.pitch - ride.pitch) * inside).sum(axis=2) / count
    return np.asarray(given >= needed) & inside.any(axis=1)


def hidden_bank(ride: Ride, perceived: Perceived, begin: Array) -> Flags:
    """Whether the observers perceive less than half of the bank of a flown spiral.

    Args:
        ride: Of n flights.
        perceived: Of the same.
        begin: When nobody looks after the bank any more, s after the first record, shape (n,).

    Returns:
        Shape (2, n).
    """
    time = ride.step * np.arange(ride.bank.shape[1])
    inside = (time >= begin[:, None]) & (time <= begin[:, None] + BANK_WITHIN)
    flown = np.where(inside, np.abs(ride.bank), 0.0)
    reached = flown >= BANK
    at = np.where(reached.any(axis=1), reached.argmax(axis=1), flown.argmax(axis=1))
    rows = np.arange(len(flown))
    seen = np.sign(ride.bank[rows, at]) * perceived.bank[:, rows, at]
    return np.asarray(seen < HIDDEN * flown[rows, at]) & inside.any(axis=1)
