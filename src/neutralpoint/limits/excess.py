"""The rate of energy height of a path, against what the engines could have given."""

from __future__ import annotations

from dataclasses import dataclass

from neutralpoint.numerics.arrays import Array


@dataclass(frozen=True)
class Excess:
    """Rates of energy height along the path, m/s, each of shape (S, m).

    Attributes:
        flown: Of the path itself.
        full: That the engines at full lever would have given there, at the same drag.
        idle: At idle.
    """

    flown: Array
    full: Array
    idle: Array


def specific_excess(
    along: Array, speed: Array, *, thrust: Array, full: Array, idle: Array, weight: Array
) -> Excess:
    """Specific excess power of the path, and with other thrust at the same speed and load factor.

    Args:
        along: Load factor along the path, (T - D) / W, shape (S, m).
        speed: True airspeed, m/s, shape (S, m).
        thrust: That the path needed, N, shape (S, m).
        full: At full lever, N, shape (S, m).
        idle: At idle, N, shape (S, m).
        weight: N, shape (S, 1).

    Returns:
        The rates.

    Source: P = V (T - D) / W, the rate of h + V^2 / 2g in still air; drag is thrust needed less
    W n_x and stays as flown. Rutowski, J. Aeronautical Sciences 21 (1954) 187, eq. 3, from memory.
    """
    return Excess(
        flown=speed * along,
        full=speed * (along + (full - thrust) / weight),
        idle=speed * (along + (idle - thrust) / weight),
    )
