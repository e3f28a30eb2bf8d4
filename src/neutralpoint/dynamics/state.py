"""The state of one flight, what is done to the airplane, and what can be read off it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import jax
import jax.numpy as jnp

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics.vectors import Scalar, body_to_ned


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class State:
    """Where the airplane is and how it moves; every field one scalar (or a batch of them).

    Args:
        north: Position in the local tangent frame, m.
        east: m.
        down: m; the frame's origin lies at height 0.
        velocity_north: Over the ground, m/s.
        velocity_east: m/s.
        velocity_down: m/s.
        e0: Quaternion from body to NED, scalar part.
        e1: Body x part.
        e2: Body y part.
        e3: Body z part.
        roll_rate: Body axes, rad/s.
        pitch_rate: rad/s.
        yaw_rate: rad/s.
        power: Output of each engine, share of its full output at that height.
    """

    north: Scalar
    east: Scalar
    down: Scalar
    velocity_north: Scalar
    velocity_east: Scalar
    velocity_down: Scalar
    e0: Scalar
    e1: Scalar
    e2: Scalar
    e3: Scalar
    roll_rate: Scalar
    pitch_rate: Scalar
    yaw_rate: Scalar
    # A scalar for each engine: the equations walk through the engines, which may differ in kind.
    power: tuple[Scalar, ...]


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Inputs:
    """What is done to the airplane at one instant.

    Args:
        pitch_by: "elevator" holds the elevator angle, "force" gives the column force and lets the
            elevator find its place. Static.
        elevator: rad; read when `pitch_by` is "elevator".
        column_force: N, pull positive; read when `pitch_by` is "force".
        aileron: rad.
        rudder: rad.
        stabilizer: rad from its reference setting.
        tab: rad.
        flap: 0 (up) to 1 (full).
        gear: 0 (up) to 1 (down).
        lever: One per engine, 0 (idle) to 1.
        feather: One per engine, 0 (turning) to 1 (feathered or stopped).
        cg_shift: Centre of gravity moved aft in flight, m.
        Cm_extra: Pitching moment coefficient from outside the model.
        Cl_extra: Rolling moment coefficient from outside the model.
    """

    # Static, for these are two programs: a batch of flights holds either angles or forces.
    pitch_by: Literal["elevator", "force"] = field(metadata={"static": True}, default="elevator")
    elevator: Scalar = 0.0
    column_force: Scalar = 0.0
    aileron: Scalar = 0.0
    rudder: Scalar = 0.0
    stabilizer: Scalar = 0.0
    tab: Scalar = 0.0
    flap: Scalar = 0.0
    gear: Scalar = 0.0
    lever: tuple[Scalar, ...] = ()
    feather: tuple[Scalar, ...] = ()
    cg_shift: Scalar = 0.0
    Cm_extra: Scalar = 0.0
    Cl_extra: Scalar = 0.0


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Gust:
    """Velocity of the air beside the mean wind, body axes: m/s and, for roll, rad/s."""

    forward: Scalar = 0.0
    side: Scalar = 0.0
    downward: Scalar = 0.0
    roll: Scalar = 0.0


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Readings:
    """What instruments and hands would tell at one instant.

    Args:
        height: Above the surface of reference, m.
        true_airspeed: m/s.
        dynamic_pressure: rho V^2 / 2, Pa.
        mach: Mach number.
        angle_of_attack: rad.
        sideslip: rad.
        forward_load_factor: Specific force along body x over standard gravity.
        side_load_factor: Along body y.
        normal_load_factor: Against body z: 1 in level flight.
        elevator: rad.
        column_force: N, pull positive.
        lift_coefficient: CL.
        thrust: Sum of the engines along their thrust lines, N.
        stabilizer_moment: Of the air on the stabilizer about its pivot, N m, leading edge up
            positive.
    """

    height: Scalar
    true_airspeed: Scalar
    dynamic_pressure: Scalar
    mach: Scalar
    angle_of_attack: Scalar
    sideslip: Scalar
    forward_load_factor: Scalar
    side_load_factor: Scalar
    normal_load_factor: Scalar
    elevator: Scalar
    column_force: Scalar
    lift_coefficient: Scalar
    thrust: Scalar
    stabilizer_moment: Scalar


def make_inputs(airplane: Airplane, *, lever: Scalar = 0.0, **fields) -> Inputs:
    """Inputs with the same lever for every engine, none feathered, and whatever else is named.

    Args:
        airplane: Gives the number of engines.
        lever: 0 (idle) to 1.
        **fields: Any other field of `Inputs`.

    Returns:
        The inputs.
    """
    count = len(airplane.engines)
    tuples = {"lever": (lever,) * count, "feather": (0.0,) * count}
    return Inputs(**(tuples | fields))


def quaternion(*, bank: Scalar, pitch: Scalar, heading: Scalar) -> tuple[Scalar, ...]:
    """Quaternion of the angles of yaw, pitch and roll, turned in that order.

    Source: Etkin, Dynamics of Atmospheric Flight (1972), section 5.2.

    Args:
        bank: rad.
        pitch: rad.
        heading: rad.

    Returns:
        (e0, e1, e2, e3), body to NED.
    """
    # Half angles, because the quaternion stands on both sides of the vector that it turns.
    c, s = (lambda x: jnp.cos(0.5 * x)), (lambda x: jnp.sin(0.5 * x))
    cb, sb, cp, sp, ch, sh = c(bank), s(bank), c(pitch), s(pitch), c(heading), s(heading)
    return (
        ch * cp * cb + sh * sp * sb,
        ch * cp * sb - sh * sp * cb,
        ch * sp * cb + sh * cp * sb,
        sh * cp * cb - ch * sp * sb,
    )


def ground_velocity(state: State) -> tuple[Scalar, Scalar, Scalar]:
    """Velocity over the ground.

    Args:
        state: The state.

    Returns:
        North, east, down, m/s.
    """
    return state.velocity_north, state.velocity_east, state.velocity_down


def attitude(state: State) -> tuple[Scalar, Scalar, Scalar]:
    """Bank, pitch and heading of a state.

    Args:
        state: The state.

    Returns:
        rad; heading from -pi to pi.
    """
    m = body_to_ned(state.e0, state.e1, state.e2, state.e3)
    bank = jnp.arctan2(m[2][1], m[2][2])
    # Rounding may carry the sine past 1, where the angle would be no number.
    pitch = -jnp.arcsin(jnp.clip(m[2][0], -1.0, 1.0))
    return bank, pitch, jnp.arctan2(m[1][0], m[0][0])
