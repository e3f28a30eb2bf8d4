"""What a hand feels at the column, and where the elevator goes when it is released or pulled."""

from __future__ import annotations

import jax.numpy as jnp

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics.aerodynamics import Flow, LinearCoefficients
from neutralpoint.dynamics.state import Inputs
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.quantities import GRAVITY


def hinge_force(gearing: Scalar, area: Scalar, chord: Scalar, pressure: Scalar, Ch: Scalar):
    """Column pull that balances a hinge moment: F = G S_e c_e q Ch.

    Source: Etkin and Reid (1996), eq. 2.6,1, friction left out; pull positive. Checked against:
    tests/against/test_dynamics_forces.py.

    Args:
        gearing: Elevator angle per column travel, rad/m.
        area: Of the elevator aft of the hinge, m2.
        chord: Of the elevator aft of the hinge, m.
        pressure: Dynamic pressure at the tail, Pa.
        Ch: Hinge moment coefficient.

    Returns:
        N.
    """
    return gearing * area * chord * pressure * Ch


def through_friction(before: Scalar, applied: Scalar, friction: Scalar) -> Scalar:
    """The part of a column force that gets past friction to the elevator.

    It stays what it was until what is applied differs from it by more than friction, and then
    follows by that much less. So a column that is released keeps up to that much, and a force
    within it moves nothing.

    Source: the play operator, Krasnosel'skii and Pokrovskii, Systems with Hysteresis (1989), from
    memory; that friction acts on the force is a simplification, common practice, no source.

    Args:
        before: The part so far, N.
        applied: By hands, servo and bodies, N.
        friction: Half-width of the band, N.

    Returns:
        N.
    """
    return jnp.clip(before, applied - friction, applied + friction)


def tail_incidence(airplane: Airplane, flow: Flow, inputs: Inputs) -> tuple[Scalar, Scalar]:
    """Angle of attack of the tailplane without downwash lag, and its slope with d(alpha)/dt.

    a_t = a + ih - e + q l_t / V, with the downwash e of the incidence l_t / V ago.
    Source: Etkin and Reid (1996), eq. 2.3,11 and section 5.5 (lag of downwash).

    Args:
        airplane: The airplane.
        flow: Air as met.
        inputs: Stabilizer and flap.

    Returns:
        rad, and rad per rad/s.
    """
    c = airplane.pitch_control
    # The air that meets the tail now left the wing this long ago, with the downwash of then.
    delay = airplane.geometry.tail_arm / flow.speed
    downwash = c.downwash_0 + c.downwash_alpha * flow.alpha + c.downwash_flap * inputs.flap
    base = flow.alpha + inputs.stabilizer - downwash + flow.rates[1] * delay
    return base, c.downwash_alpha * delay


def column_pull(
    airplane: Airplane, flow: Flow, inputs: Inputs, lift: LinearCoefficients
) -> LinearCoefficients:
    """Column pull, N, linear in elevator and rate of incidence.

    Source: `airplane.model.PitchControl`. The load factor at the bobweight is lift over weight.
    Friction is not in it: it widens the pull by its half-width to either side.

    Args:
        airplane: The airplane.
        flow: Air as met.
        inputs: Stabilizer, tab and flap.
        lift: CL.

    Returns:
        Pull as a linear function.
    """
    c = airplane.pitch_control
    # The linear parts stay apart: elevator and rate of incidence are solved for afterwards.
    per_lift = c.bobweight * flow.pressure * airplane.geometry.wing_area
    per_lift = per_lift / (airplane.mass.mass * GRAVITY)
    base, elevator, alphadot = (per_lift * part for part in lift)
    if c.reversible:
        pressure = c.tail_pressure_ratio * flow.pressure
        unit = hinge_force(c.gearing, c.elevator_area, c.elevator_chord, pressure, 1.0)
        tail, lag = tail_incidence(airplane, flow, inputs)
        base = base + unit * (c.Ch_0 + c.Ch_alpha * tail + c.Ch_tab * inputs.tab)
        elevator = elevator + unit * c.Ch_elevator
        alphadot = alphadot + unit * c.Ch_alpha * lag
    else:
        # Powered controls: no hinge moment comes back, and an artificial feel stiffens with speed.
        elevator = elevator + c.feel_rate * flow.pressure
    return LinearCoefficients(base + c.spring, elevator + c.spring_rate, alphadot)
