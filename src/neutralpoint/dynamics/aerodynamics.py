"""Coefficients of force and moment from incidence, rates, surfaces and Mach number.

Lift and moment stay linear in elevator and in the rate of incidence, so the equations of motion
can solve for both exactly; `LinearCoefficients` keeps the slopes.
"""

from __future__ import annotations

from typing import NamedTuple

import jax.numpy as jnp

from neutralpoint.airplane.model import Airplane, LateralAerodynamics, LongitudinalAerodynamics
from neutralpoint.dynamics.incidence import angle_of_attack
from neutralpoint.dynamics.state import Inputs
from neutralpoint.dynamics.vectors import Scalar, Vector

# The lift-slope formula fails near Mach 1; its factor is frozen from here on. Common practice, no
# source (drag-divergence Mach numbers of the airplanes meant lie well below).
FROZEN_MACH = 0.9


class Flow(NamedTuple):
    """The air as the airplane meets it: m/s, rad, Pa, kg/m3; rates in rad/s."""

    speed: Scalar
    plane_speed: Scalar
    alpha: Scalar
    sin_alpha: Scalar
    cos_alpha: Scalar
    sin_beta: Scalar
    density: Scalar
    mach: Scalar
    pressure: Scalar
    rates: Vector


class LinearCoefficients(NamedTuple):
    """A coefficient as base + elevator * de + alphadot * d(alpha)/dt (the last in s)."""

    base: Scalar
    elevator: Scalar
    alphadot: Scalar

    def at(self, elevator: Scalar, alphadot: Scalar) -> Scalar:
        """Value at an elevator angle and rate of incidence. Source: linearity.

        Args:
            elevator: rad.
            alphadot: rad/s.

        Returns:
            The coefficient.
        """
        return self.base + self.elevator * elevator + self.alphadot * alphadot


def meet(velocity: Vector, rates: Vector, density: Scalar, sound: Scalar) -> Flow:
    """The flow for a velocity through the air in body axes.

    Source: angles as in Etkin and Reid (1996), eq. 1.5,1: tan a = w / u, sin b = v / V.

    Args:
        velocity: Of the airplane relative to the air, body axes, m/s.
        rates: Body rates relative to the air, rad/s.
        density: kg/m3.
        sound: Speed of sound, m/s.

    Returns:
        The flow. Speeds carry a floor of 1e-6 m/s so that standing still is defined.
    """
    u, v, w = velocity
    # The floor keeps the derivative finite too: Newton and the filters differentiate through it.
    plane2 = u * u + w * w + 1e-12
    speed2 = plane2 + v * v
    plane, speed = jnp.sqrt(plane2), jnp.sqrt(speed2)
    return Flow(
        speed=speed,
        plane_speed=plane,
        alpha=angle_of_attack(u, w, plane),
        sin_alpha=w / plane,
        cos_alpha=u / plane,
        sin_beta=v / speed,
        density=density,
        mach=speed / sound,
        pressure=0.5 * density * speed2,
        rates=rates,
    )


def compressibility(lon: LongitudinalAerodynamics, mach: Scalar) -> Scalar:
    """Factor on lift and moment derivatives between their own Mach number and another.

    Source: ratio of the Helmbold / DATCOM lift slope without sweep,
    2 pi A / (2 + sqrt(4 + A^2 (1 - M^2))), which tends to Prandtl-Glauert for large A.
    Valid: below Mach 0.9. Checked against: tests/against/test_dynamics_forces.py.

    Args:
        lon: Gives the aspect ratio and the Mach number of the derivatives.
        mach: Mach number.

    Returns:
        The factor, 1 at the derivatives' own Mach number.
    """
    a2 = lon.compressibility_aspect_ratio**2

    def denominator(m):
        return 2.0 + jnp.sqrt(4.0 + a2 * (1.0 - jnp.minimum(m * m, FROZEN_MACH**2)))

    return denominator(lon.mach) / denominator(mach)


def separation(lon: LongitudinalAerodynamics, alpha: Scalar, flap: Scalar) -> Scalar:
    """Share of the wing that is stalled, 0 to 1: exactly 0 away from the stall, C2 throughout.

    Source: quintic smooth step, a modelling choice; the end states are the attached and the plate
    values.

    Args:
        lon: Gives the stall angles.
        alpha: Angle of attack, rad.
        flap: 0 to 1.

    Returns:
        0 to 1.
    """

    # Newton differentiates through the stall: at a kink its steps would jump to and fro.
    def step(x):
        t = jnp.clip(0.5 + 0.5 * x / lon.stall_width, 0.0, 1.0)
        return t * t * t * (10.0 + t * (6.0 * t - 15.0))

    upper = step(alpha - lon.stall_angle - lon.stall_angle_flap * flap)
    return upper + step(lon.negative_stall_angle - alpha)


def beyond_limits(lon: LongitudinalAerodynamics, flow: Flow) -> Scalar:
    """How far the flow is beyond the never-exceed speed or Mach number; 0 within them.

    Source: definition in `airplane.model.LongitudinalAerodynamics`.

    Args:
        lon: Gives both.
        flow: Air as met.

    Returns:
        Dynamic pressure, or Mach number squared, over its limit, less 1.
    """
    fast = flow.mach / lon.fast_mach
    return jnp.maximum(jnp.maximum(flow.pressure / lon.fast_pressure, fast * fast) - 1.0, 0.0)


def lift_and_moment(
    airplane: Airplane, flow: Flow, inputs: Inputs
) -> tuple[LinearCoefficients, LinearCoefficients, Scalar]:
    """Lift and pitching moment coefficients, and the stalled share.

    Source: definitions in `airplane.model.LongitudinalAerodynamics`. Checked against:
    tests/against/test_modes.py, through the modes.

    Args:
        airplane: The airplane.
        flow: Air as met.
        inputs: Surfaces; the elevator is not used.

    Returns:
        CL, Cm about the moment reference, stalled share.
    """
    lon = airplane.longitudinal
    factor = compressibility(lon, flow.mach)
    stalled = separation(lon, flow.alpha, inputs.flap)
    attached = 1.0 - stalled
    # Half a chord over the speed: rates count as the textbooks make them dimensionless.
    chord_time = airplane.geometry.mean_chord / (2.0 * flow.speed)
    rate = flow.rates[1] * chord_time
    # Derivatives hold at their own Mach number; what changes with it counts from there.
    mach = flow.mach - lon.mach
    beyond = beyond_limits(lon, flow)
    # Beyond the limit speed the elevator loses power and the wing keeps its lift.
    held = factor / (1.0 + lon.fade * beyond)
    lift = attached * (lon.CL_0 + lon.CL_alpha * flow.alpha)
    # A stalled wing is a plate: its lift goes with sin(2 alpha), so it is gone at 90 deg.
    lift = lift + stalled * 2.0 * lon.CL_plate * flow.sin_alpha * flow.cos_alpha
    moment = lon.Cm_0 + lon.Cm_alpha * (attached * flow.alpha + stalled * flow.sin_alpha)
    # The stall pitches the nose back towards the flow, from either side.
    moment = moment + stalled * lon.Cm_stall * jnp.sign(flow.sin_alpha)
    lift = lift + lon.CL_q * rate + lon.CL_stabilizer * inputs.stabilizer
    lift = lift + lon.CL_tab * inputs.tab + lon.CL_flap * inputs.flap
    moment = moment + lon.Cm_q * rate + lon.Cm_stabilizer * inputs.stabilizer
    moment = moment + lon.Cm_tab * inputs.tab + lon.Cm_flap * inputs.flap
    moment = moment + lon.Cm_gear * inputs.gear
    return (
        LinearCoefficients(
            factor * lift + lon.CL_mach * mach,
            held * lon.CL_elevator,
            factor * lon.CL_alphadot * chord_time,
        ),
        LinearCoefficients(
            factor * moment + lon.Cm_mach * mach + lon.tuck * beyond + inputs.Cm_extra,
            held * lon.Cm_elevator,
            factor * lon.Cm_alphadot * chord_time,
        ),
        stalled,
    )


def drag(
    lon: LongitudinalAerodynamics, flow: Flow, lift: Scalar, stalled: Scalar, inputs: Inputs
) -> Scalar:
    """Drag coefficient.

    Source: parabolic polar; wave drag 20 (M - Mcr)^4, Lock's empirical law as in Hilton, High Speed
    Aerodynamics (1952), from memory.

    Args:
        lon: The polar.
        flow: Air as met.
        lift: CL.
        stalled: Stalled share of the wing.
        inputs: Flap and gear.

    Returns:
        CD.
    """
    wave = jnp.maximum(flow.mach - lon.critical_mach, 0.0) ** 2
    polar = lon.CD_0 + lon.CD_lift * (lift - lon.CL_min_drag) ** 2
    # A plate has drag by the square of the sine: all of it across the flow.
    plate = stalled * lon.CD_plate * flow.sin_alpha * flow.sin_alpha
    extra = lon.CD_flap * inputs.flap + lon.CD_gear * inputs.gear
    return polar + plate + extra + lon.CD_mach * (flow.mach - lon.mach) + 20.0 * wave * wave


def lateral(airplane: Airplane, flow: Flow, inputs: Inputs) -> Vector:
    """CY, Cl and Cn about the moment reference; sideslip enters by its sine, so it stays bounded.

    Source: definitions in `airplane.model.LateralAerodynamics`. Checked against:
    tests/against/test_modes.py, through the modes.

    Args:
        airplane: The airplane.
        flow: Air as met.
        inputs: Aileron, rudder and `Cl_extra`.

    Returns:
        CY, Cl, Cn.
    """
    a: LateralAerodynamics = airplane.lateral
    # Half of the span, not of the chord, makes rates of roll and yaw dimensionless.
    span_time = airplane.geometry.span / (2.0 * flow.speed)
    p, r = flow.rates[0] * span_time, flow.rates[2] * span_time
    beta, da, dr = flow.sin_beta, inputs.aileron, inputs.rudder
    return (
        a.CY_beta * beta + a.CY_p * p + a.CY_r * r + a.CY_aileron * da + a.CY_rudder * dr,
        a.Cl_beta * beta
        + a.Cl_p * p
        + a.Cl_r * r
        + a.Cl_aileron * da
        + a.Cl_rudder * dr
        + inputs.Cl_extra,
        a.Cn_beta * beta + a.Cn_p * p + a.Cn_r * r + a.Cn_aileron * da + a.Cn_rudder * dr,
    )
