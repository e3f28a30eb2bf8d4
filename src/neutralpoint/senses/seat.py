"""The specific force at the pilot's seat, and how the seat turns, from paths of a flight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import GRAVITY

LEAST = 1e-9  # keeps a division off zero


@dataclass(frozen=True)
class Ride:
    """What the seat goes through, on a uniform grid; body axes are forward, right, down.

    Attributes:
        step: Of the grid, s.
        rate: Angular velocity in body axes, rad/s, shape (S, m, 3).
        felt: Gravity less the acceleration of the seat, m/s2, shape (S, m, 3): straight down, and
            of the size of gravity, in a seat at rest.
        pitch: Nose above the horizontal, rad, shape (S, m).
        bank: Of the wings about the body, right wing down positive, rad, shape (S, m).
        turn: Rate of turn about the vertical, rad/s, shape (S, m).
    """

    step: float
    rate: Array
    felt: Array
    pitch: Array
    bank: Array
    turn: Array

    @property
    def load(self) -> Array:
        """Size of the specific force over standard gravity, shape (S, m)."""
        return np.linalg.norm(self.felt, axis=-1) / GRAVITY

    @property
    def tilt(self) -> Array:
        """Pitch at which a seat at rest would be pressed the same way, rad, shape (S, m).

        Source: the gravito-inertial direction atan2(f_x, f_z) that Groen et al., Safety 8 (2022)
        85, compare their models with.
        """
        return np.arctan2(-self.felt[..., 0], self.felt[..., 2])


def turned_to_body(heading: Array, path_angle: Array, bank: Array, incidence: Array) -> Array:
    """Axes of the body in north, east, down: columns are forward, right, down.

    Args:
        heading: Of the air velocity, rad, any shape.
        path_angle: Air-relative, rad, same shape.
        bank: About the air velocity, rad, same shape.
        incidence: Angle of attack, rad, same shape.

    Returns:
        Rotation matrices, the same shape followed by (3, 3).

    Source: R = Rz(heading) Ry(path angle) Rx(bank) Ry(incidence), without sideslip; Etkin, Dynamics
    of Atmospheric Flight (1972), section 4.5, from memory.
    Checked against: tests/against/test_senses_seat.py, by SciPy's rotations.
    """
    ch, sh = np.cos(heading), np.sin(heading)
    cg, sg = np.cos(path_angle), np.sin(path_angle)
    cb, sb = np.cos(bank), np.sin(bank)
    ca, sa = np.cos(incidence), np.sin(incidence)
    along = np.stack([ch * cg, sh * cg, -sg], -1)
    right = np.stack([ch * sg * sb - sh * cb, sh * sg * sb + ch * cb, cg * sb], -1)
    below = np.stack([ch * sg * cb + sh * sb, sh * sg * cb - ch * sb, cg * cb], -1)
    forward = ca[..., None] * along - sa[..., None] * below
    down = sa[..., None] * along + ca[..., None] * below
    return np.stack([forward, right, down], -1)


def incidence_of(pitch: Array, path_angle: Array, bank: Array) -> Array:
    """Angle of attack of an attitude without sideslip.

    Args:
        pitch: rad, any shape.
        path_angle: Air-relative, rad.
        bank: About the air velocity, rad.

    Returns:
        rad, same shape; the solution nearest to zero.

    Source: sin pitch = sin gamma cos alpha + cos gamma cos mu sin alpha, solved for alpha.
    """
    up, level = np.sin(path_angle), np.cos(path_angle) * np.cos(bank)
    reach = np.maximum(np.hypot(up, level), LEAST)
    whole = np.arcsin(np.clip(np.sin(pitch) / reach, -1.0, 1.0))
    phase = np.arctan2(up, level)
    first, other = whole - phase, np.pi - whole - phase
    both = np.stack([first, other])
    both = np.mod(both + np.pi, 2.0 * np.pi) - np.pi
    return np.where(np.abs(both[0]) <= np.abs(both[1]), both[0], both[1])


def rates_of(matrix: Array, step: float) -> Array:
    """Angular velocity of turning axes, in these axes.

    Args:
        matrix: Of `turned_to_body`, shape (S, m, 3, 3), m at least 3.
        step: s.

    Returns:
        rad/s, shape (S, m, 3).

    Source: the skew part of R^T dR/dt; central differences, one-sided at the ends.
    """
    change = np.gradient(matrix, step, axis=1)
    skew = np.swapaxes(matrix, -1, -2) @ change
    return 0.5 * np.stack(
        [
            skew[..., 2, 1] - skew[..., 1, 2],
            skew[..., 0, 2] - skew[..., 2, 0],
            skew[..., 1, 0] - skew[..., 0, 1],
        ],
        -1,
    )


def ride_of(
    *,
    heading: Array,
    path_angle: Array,
    bank: Array,
    incidence: Array,
    across: Array,
    along: Array,
    seat: Array,
    step: float,
) -> Ride:
    """What the seat of each path goes through.

    Args:
        heading: Of the air velocity, rad, shape (S, m).
        path_angle: Air-relative, rad, shape (S, m).
        bank: About the air velocity, rad, shape (S, m).
        incidence: Angle of attack, rad, shape (S, m).
        across: Load factor across the path, in the plane of the lift, shape (S, m).
        along: Load factor along the path, shape (S, m).
        seat: Place of the head ahead of, right of and below the center of gravity, m, shape (S, 3).
        step: Of the grid, s.

    Returns:
        The ride.

    Source: acceleration of a point of a rigid body, a + w' x r + w x (w x r).
    """
    matrix = turned_to_body(heading, path_angle, bank, incidence)
    rate = rates_of(matrix, step)
    spin = np.gradient(rate, step, axis=1)
    arm = np.broadcast_to(seat[:, None, :], rate.shape)
    beside = np.cross(spin, arm) + np.cross(rate, np.cross(rate, arm))
    ca, sa = np.cos(incidence), np.sin(incidence)
    forward, up = along * ca + across * sa, across * ca - along * sa
    felt = GRAVITY * np.stack([-forward, np.zeros_like(up), up], -1) - beside
    down = matrix[..., 2, :]
    turn = np.sum(rate * down, -1)
    return Ride(
        step,
        rate,
        felt,
        np.arcsin(np.clip(-down[..., 0], -1.0, 1.0)),
        np.arctan2(down[..., 1], down[..., 2]),
        turn,
    )
