"""Equations of motion of the rigid airplane: rates of change of the state, and the readings."""

from __future__ import annotations

from typing import NamedTuple

import jax.numpy as jnp

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics import aerodynamics
from neutralpoint.dynamics.aerodynamics import Flow, LinearCoefficients
from neutralpoint.dynamics.air import Air, gas, gravity_ned, height_above, speed_of_sound, wind
from neutralpoint.dynamics.column import column_pull
from neutralpoint.dynamics.once import once
from neutralpoint.dynamics.propulsion import all_thrust
from neutralpoint.dynamics.state import Gust, Inputs, Readings, State
from neutralpoint.dynamics.trim_motor import stabilizer_moment
from neutralpoint.dynamics.vectors import (
    Matrix,
    Scalar,
    Vector,
    add,
    body_to_ned,
    cross,
    rotate,
    rotate_back,
)
from neutralpoint.quantities import GRAVITY

CALM = Gust()


class Loads(NamedTuple):
    """Everything that acts at one instant, body axes, N and N m about the CG."""

    force: Vector
    moment: Vector
    elevator: Scalar
    pull: Scalar
    CL: Scalar
    CD: Scalar
    thrust: Scalar
    stabilizer_moment: Scalar


def elevator_and_alphadot(
    inputs: Inputs,
    airplane: Airplane,
    still: Scalar,
    lift_effect: Scalar,
    lift: LinearCoefficients,
    pull: LinearCoefficients,
) -> tuple[Scalar, Scalar]:
    """Elevator angle and rate of incidence that agree with each other.

    Two linear equations, solved exactly::

        alphadot = still - lift_effect (CL_elevator de + CL_alphadot alphadot)
        pull(de, alphadot) = column force          (only where the force is given)

    and the elevator is kept between its stops. Source: the definitions of the two coefficients'
    slopes; Cramer's rule.

    Args:
        inputs: Elevator or column force.
        airplane: Gives the stops.
        still: Rate of incidence without the lift of elevator and alphadot, rad/s.
        lift_effect: q S / (m V), 1/s.
        lift: CL.
        pull: Column pull, N.

    Returns:
        Elevator, rad; rate of incidence, rad/s.
    """
    # Lift that comes with the rate of incidence resists that rate, so both are solved together.
    resist = 1.0 + lift_effect * lift.alphadot
    per_elevator = lift_effect * lift.elevator
    if inputs.pitch_by == "elevator":
        elevator = inputs.elevator
    else:
        wanted = (inputs.column_force - pull.base) * resist - pull.alphadot * still
        elevator = wanted / (pull.elevator * resist - pull.alphadot * per_elevator)
        # A force beyond a stop is taken by the stop: the elevator stays there.
        control = airplane.pitch_control
        elevator = jnp.clip(elevator, control.elevator_min, control.elevator_max)
    return elevator, (still - per_elevator * elevator) / resist


def loads(
    airplane: Airplane,
    flow: Flow,
    velocity: Vector,
    gravity: Vector,
    state: State,
    inputs: Inputs,
) -> Loads:
    """Aerodynamic and engine force and moment about the CG.

    Source: lift across and drag along the flow in the plane of symmetry, moments moved from the
    reference point to the CG by statics; tan a = w / u differentiated for the rate of incidence.

    The rate of incidence is taken relative to air at rest in space: change of the wind along the
    path enters the motion but not the alphadot derivatives.

    Args:
        airplane: The airplane.
        flow: Air as met.
        velocity: Through the air, body axes, m/s.
        gravity: Body axes, m/s2.
        state: Gives the engines' output.
        inputs: Surfaces and CG shift.

    Returns:
        The loads.
    """
    u, v, w = velocity
    geometry, mass = airplane.geometry, airplane.mass
    CL, Cm, stalled = once(aerodynamics.lift_and_moment(airplane, flow, inputs), state.e0)
    CY, Cl, Cn = once(aerodynamics.lateral(airplane, flow, inputs), state.e0)
    pull = column_pull(airplane, flow, inputs, CL)
    push, twist, total = all_thrust(airplane, flow, state.power, inputs)
    area_pressure = flow.pressure * geometry.wing_area

    # Rate of incidence with the lift known so far; drag acts along the flow and does not turn it.
    p, q, r = flow.rates
    fx = push[0] / mass.mass + gravity[0]
    fz = push[2] / mass.mass + gravity[2]
    turn = (u * fz - w * fx - v * (p * u + r * w)) / (flow.plane_speed * flow.plane_speed)
    lift_effect = area_pressure / (mass.mass * flow.plane_speed)
    still = q + turn - lift_effect * CL.base
    elevator, alphadot = once(
        elevator_and_alphadot(inputs, airplane, still, lift_effect, CL, pull), state.e0
    )

    lift = CL.at(elevator, alphadot)
    CD = aerodynamics.drag(airplane.longitudinal, flow, lift, stalled, inputs)
    # Lift stands across the flow in the plane of symmetry; what sideslip adds is in CY alone.
    force = (
        area_pressure * (lift * flow.sin_alpha - CD * flow.cos_alpha),
        area_pressure * CY,
        -area_pressure * (lift * flow.cos_alpha + CD * flow.sin_alpha),
    )
    # From the CG to the reference point, forward, right and down; stations run aft.
    arm = (
        mass.cg_station + inputs.cg_shift - geometry.moment_station,
        0.0,
        geometry.moment_depth - mass.cg_depth,
    )
    own = (
        area_pressure * geometry.span * Cl,
        area_pressure * geometry.mean_chord * Cm.at(elevator, alphadot),
        area_pressure * geometry.span * Cn,
    )
    return Loads(
        force=add(force, push),
        moment=add(add(own, cross(arm, force)), twist),
        elevator=elevator,
        pull=pull.at(elevator, alphadot),
        CL=lift,
        CD=CD,
        thrust=total,
        stabilizer_moment=stabilizer_moment(airplane, flow, inputs, elevator, alphadot),
    )


def angular_acceleration(airplane: Airplane, rates: Vector, moment: Vector) -> Vector:
    """Euler's equations with one plane of symmetry.

    Source: Etkin and Reid (1996), eq. 4.5,9, engine rotors left out.

    Args:
        airplane: Gives the inertias.
        rates: Body rates, rad/s.
        moment: About the CG, N m.

    Returns:
        rad/s2.
    """
    m = airplane.mass
    xx, yy, zz, xz = m.roll_inertia, m.pitch_inertia, m.yaw_inertia, m.cross_inertia
    p, q, r = rates
    roll = moment[0] - q * r * (zz - yy) + xz * p * q
    pitch = moment[1] - r * p * (xx - zz) - xz * (p * p - r * r)
    yaw = moment[2] - p * q * (yy - xx) - xz * q * r
    # The plane of symmetry couples roll with yaw alone: two equations to solve, pitch by itself.
    determinant = xx * zz - xz * xz
    return (zz * roll + xz * yaw) / determinant, pitch / yy, (xz * roll + xx * yaw) / determinant


def meet_air(state: State, air: Air, gust: Gust) -> tuple[Flow, Vector, Vector, Matrix, Scalar]:
    """The flow at a state. Source: velocity through the air = over the ground - wind.

    Args:
        state: Of the airplane.
        air: The column of air.
        gust: Beside the mean wind.

    Returns:
        Flow; velocity through the air and gravity, both body axes; body to NED; height, m.
    """
    matrix = body_to_ned(state.e0, state.e1, state.e2, state.e3)
    height = height_above(air, state.north, state.east, state.down)
    density, _, temperature = gas(air, height)
    blow = wind(air, height)
    ground = (state.velocity_north, state.velocity_east, state.velocity_down)
    u, v, w = rotate_back(matrix, tuple(a - b for a, b in zip(ground, blow, strict=True)))
    # A gust moves the air, so what the airplane meets is less by it.
    velocity = (u - gust.forward, v - gust.side, w - gust.downward)
    rates = (state.roll_rate - gust.roll, state.pitch_rate, state.yaw_rate)
    flow = aerodynamics.meet(velocity, rates, density, speed_of_sound(temperature))
    gravity = rotate_back(matrix, gravity_ned(air, state.north, state.east, height))
    return flow, velocity, gravity, matrix, height


def evaluate(
    airplane: Airplane, state: State, inputs: Inputs, air: Air, gust: Gust = CALM
) -> tuple[State, Readings]:
    """Rates of change of a state, and what could be read off it.

    Source: Newton's law in the local frame, Euler's in body axes, quaternion kinematics of Etkin
    (1972), section 5.2, with a pull towards unit length. Checked against:
    tests/against/test_modes.py, tests/unit/test_dynamics_flight.py.

    Args:
        airplane: The airplane.
        state: Its state.
        inputs: What is done to it.
        air: The column of air.
        gust: Beside the mean wind.

    Returns:
        Derivative with respect to time (a `State` of rates), readings.
    """
    flow, velocity, gravity, matrix, height = once(meet_air(state, air, gust), state.e0)
    acting = once(loads(airplane, flow, velocity, gravity, state, inputs), state.e0)
    specific = tuple(f / airplane.mass.mass for f in acting.force)
    # Gravity was turned into body axes for the rate of incidence; turn the sum back once.
    acceleration = rotate(matrix, add(specific, gravity))
    p, q, r = rates = (state.roll_rate, state.pitch_rate, state.yaw_rate)
    spin = angular_acceleration(airplane, rates, acting.moment)
    e0, e1, e2, e3 = state.e0, state.e1, state.e2, state.e3
    # Steps and rounding stretch the quaternion; this brings it back with a time constant of 0.5 s.
    restore = 1.0 - (e0 * e0 + e1 * e1 + e2 * e2 + e3 * e3)
    rate = State(
        north=state.velocity_north,
        east=state.velocity_east,
        down=state.velocity_down,
        velocity_north=acceleration[0],
        velocity_east=acceleration[1],
        velocity_down=acceleration[2],
        e0=0.5 * (-e1 * p - e2 * q - e3 * r) + restore * e0,
        e1=0.5 * (e0 * p + e2 * r - e3 * q) + restore * e1,
        e2=0.5 * (e0 * q + e3 * p - e1 * r) + restore * e2,
        e3=0.5 * (e0 * r + e1 * q - e2 * p) + restore * e3,
        roll_rate=spin[0],
        pitch_rate=spin[1],
        yaw_rate=spin[2],
        power=tuple(
            (lever - power) / engine.lag
            for lever, power, engine in zip(
                inputs.lever, state.power, airplane.engines, strict=True
            )
        ),
    )
    readings = Readings(
        height=height,
        true_airspeed=flow.speed,
        dynamic_pressure=flow.pressure,
        mach=flow.mach,
        angle_of_attack=flow.alpha,
        sideslip=jnp.arcsin(flow.sin_beta),
        forward_load_factor=specific[0] / GRAVITY,
        side_load_factor=specific[1] / GRAVITY,
        normal_load_factor=-specific[2] / GRAVITY,
        elevator=acting.elevator,
        # With the angle given, the pull that holds it; with the force given, a stop takes what is
        # left.
        column_force=acting.pull if inputs.pitch_by == "elevator" else inputs.column_force,
        lift_coefficient=acting.CL,
        thrust=acting.thrust,
        stabilizer_moment=acting.stabilizer_moment,
    )
    return rate, readings
