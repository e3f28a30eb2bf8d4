"""A flight in the terms of a reconstructed one: loads along and across the path, bank, speed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import jax.numpy as jnp
from jax import Array

from neutralpoint.dynamics.state import attitude
from neutralpoint.dynamics.vectors import Scalar, body_to_ned
from neutralpoint.explanations import CauseFlight
from neutralpoint.numerics.arrays import Floats
from neutralpoint.quantities import GRAVITY

COLUMNS = (
    "normal_load_factor",
    "longitudinal_load_factor",
    "bank_angle",
    "true_airspeed",
    "flight_path_angle",
    "altitude",
)
# What a reconstructed flight does not have; place counts from the start, heading north.
BESIDE = ("trim", "column_force", "pitch", "north", "east")


@dataclass(frozen=True)
class Course:
    """A batch of flights on one uniform grid, SI and radians.

    Attributes:
        time: s after the end of the reference, rising from about 0, shape (m,).
        normal_load_factor: Across the path in the plane of the lift, signed, shape (S, m).
        longitudinal_load_factor: Along the path, shape (S, m).
        bank_angle: Of the lift about the path, rad, shape (S, m).
        true_airspeed: Through air that moves with the mean wind, m/s, shape (S, m).
        flight_path_angle: Air-relative, rad, shape (S, m).
        altitude: m, shape (S, m).
    """

    time: Floats
    normal_load_factor: Floats
    longitudinal_load_factor: Floats
    bank_angle: Floats
    true_airspeed: Floats
    flight_path_angle: Floats
    altitude: Floats

    @property
    def step(self) -> float:
        """Grid step, s."""
        return float(self.time[1] - self.time[0])


class StaticError(NamedTuple):
    """Error of the static source.

    Args:
        share: Of the static pressure over dynamic pressure, height too high positive.
        speed: At which it is right, m/s.
    """

    share: Scalar = 0.0
    speed: Scalar = 0.0


RIGHT = StaticError()


def columns_of(flight: CauseFlight, static: StaticError = RIGHT) -> Array:
    """A simulated flight in the terms of a reconstructed one.

    The static source is right at the start; in a dive its error grows with dynamic pressure and
    moves the height and the path angle that a track shows.

    Args:
        flight: Of one cause in air without mean wind, n records.
        static: Error of the height that is read.

    Returns:
        The `COLUMNS`, then the `BESIDE`, shape (n, 11).

    Source: turned from body axes to the path by the angle of attack; bank is the angle of the
    lift's direction from the vertical plane through the path. Gusts and shear are no part of the
    airspeed here: a reconstruction knows the mean wind alone, so its airspeed is the velocity over
    the ground less that. A static pressure k q too low reads k V^2 / 2g too high, which changes
    by k V V' / g a second, with V' = g (n_x - sin gamma) along the path; its second derivative, in
    the load factor, is left out.
    Valid: without sideslip. Checked against: tests/recovery/test_weighing.py.
    """
    r, s = flight.readings, flight.state
    cos, sin = jnp.cos(r.angle_of_attack), jnp.sin(r.angle_of_attack)
    # From body axes to those of the path, as the smoother sees loads.
    across = r.normal_load_factor * cos + r.forward_load_factor * sin
    along = r.forward_load_factor * cos - r.normal_load_factor * sin
    speed = jnp.sqrt(s.velocity_north**2 + s.velocity_east**2 + s.velocity_down**2)
    way = jnp.stack([s.velocity_north, s.velocity_east, s.velocity_down], -1) / speed[:, None]
    matrix = body_to_ned(s.e0, s.e1, s.e2, s.e3)
    roof = -jnp.stack([matrix[0][2], matrix[1][2], matrix[2][2]], -1)
    up = jnp.array([0.0, 0.0, -1.0])
    # Bank as a reconstruction has it: the turn of the airplane's roof about its path, from upright.
    steep = up - (way @ up)[:, None] * way
    # The floor: straight down, where no direction across the path is up.
    steep = steep / jnp.maximum(jnp.linalg.norm(steep, axis=-1, keepdims=True), 1e-9)
    bank = jnp.arctan2(jnp.sum(roof * jnp.cross(way, steep), -1), jnp.sum(roof * steep, -1))
    sine = jnp.clip(-way[:, 2], -1.0, 1.0)
    misread = static.share * (speed**2 - static.speed**2) / (2.0 * GRAVITY)
    return jnp.stack(
        [
            across,
            along,
            bank,
            speed,
            jnp.arcsin(sine) + static.share * (along - sine),
            r.height + misread,
            flight.trim,
            flight.applied_force,
            attitude(s)[1],
            s.north,
            s.east,
        ],
        axis=-1,
    )
