"""What a pilot knows of the airplane: forces, trim and speeds, worked out once for a flight."""

from __future__ import annotations

from typing import NamedTuple

import jax.numpy as jnp

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics.air import (
    Air,
    gas,
    speed_of_sound,
)
from neutralpoint.dynamics.authority import pull_per_g
from neutralpoint.dynamics.column import hinge_force
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.change import nose_down_sign
from neutralpoint.quantities import DEGREE, GRAVITY, POUND_FORCE, SEA_LEVEL_DENSITY

# Stall warning this far short of the stall: 5 kt or 5% before it, 14 CFR 23.207 from memory, is
# 2 deg at the lift slopes meant here.
WARNING = 2.0 * DEGREE
# A pilot expects at least this force per g: 6 lb/g, MIL-F-8785C, level 1, from memory.
LEAST_FORCE_PER_G = 6.0 * POUND_FORCE
# Where the steady pull-up is not found the answers stay finite: least incidence per g, rad, and
# force per trim, N/rad.
LEAST_INCIDENCE, LEAST_PER_TRIM = 0.01, 1.0


class Handling(NamedTuple):
    """How the airplane answers about its trimmed flight, as somebody used to it knows it.

    Args:
        force_per_g: Column pull per unit load factor, N.
        incidence_per_g: Angle of attack per unit load factor, rad.
        path_lag: Lag of the path behind the pitch, s.
        force_per_trim: Pull that a nose-down trim asks for, N/rad.
        trim_stuck: Trim per unit load factor with the elevator stuck, rad, nose down positive.
        trim_loose: The same with the column letting go of the elevator.
        speed: Equivalent airspeed of the trimmed flight, m/s.
        stall: At 1 g, equivalent, m/s.
        glide: Of the flattest glide, equivalent, m/s.
        fastest: Never to be exceeded, equivalent, m/s.
    """

    force_per_g: Scalar
    incidence_per_g: Scalar
    path_lag: Scalar
    force_per_trim: Scalar
    trim_stuck: Scalar
    trim_loose: Scalar
    speed: Scalar
    stall: Scalar
    glide: Scalar
    fastest: Scalar


def _trim_answers(airplane: Airplane, pressure: Scalar, elevator_per_g: Scalar, pull: Scalar):
    """Pull per trim, and trim per g with the elevator stuck and loose, nose down positive.

    Moment and column force of a turned trim surface, balanced by the elevator, by the elevator's
    absence, or by an elevator that floats. Source: `airplane.model.PitchControl`, linear.
    """
    kind, lon, c = airplane.trim_drive.kind, airplane.longitudinal, airplane.pitch_control
    if kind == "none":
        return jnp.inf, 0.0, 0.0
    own = lon.Cm_stabilizer if kind == "stabilizer" else lon.Cm_tab
    hinge, per_elevator = 0.0, c.spring_rate
    if c.reversible:
        unit = hinge_force(
            c.gearing, c.elevator_area, c.elevator_chord, c.tail_pressure_ratio * pressure, 1.0
        )
        hinge = unit * (c.Ch_alpha if kind == "stabilizer" else c.Ch_tab)
        per_elevator = per_elevator + unit * c.Ch_elevator
    else:
        per_elevator = per_elevator + c.feel_rate * pressure
    sign = nose_down_sign(airplane)
    # How far the free elevator floats per rad of trim, the other way: to where no force is left.
    floats = hinge / per_elevator
    per_trim = sign * (hinge - per_elevator * own / lon.Cm_elevator)
    stuck = sign * elevator_per_g * lon.Cm_elevator / own
    loose = sign * pull / per_elevator * lon.Cm_elevator / (own - lon.Cm_elevator * floats)
    # A pilot's gain divides by it: never zero, whatever the airplane.
    return jnp.maximum(per_trim, LEAST_PER_TRIM), stuck, loose


def _speeds(airplane: Airplane, condition: Condition) -> tuple[Scalar, Scalar]:
    """Equivalent airspeeds of the stall at 1 g and of the flattest glide without power, m/s.

    Source: L = W; least D / L of CD = CD_0 + k (CL - CL_m)^2 at CL^2 = CD_0 / k + CL_m^2, Etkin and
    Reid (1996), section 7.2 with the vertex moved; windmilling drag is in CD_0.
    """
    lon, c = airplane.longitudinal, condition
    top = lon.CL_0 + lon.CL_flap * c.flap
    top = top + lon.CL_alpha * (lon.stall_angle + lon.stall_angle_flap * c.flap)
    # Without power the propellers brake: their drag area, spread over the wing's.
    dead = sum(e.windmill_drag * e.disc_area for e in airplane.engines)
    least = lon.CD_0 + lon.CD_flap * c.flap + lon.CD_gear * c.gear
    least = least + dead / airplane.geometry.wing_area
    best = jnp.minimum(jnp.sqrt(least / lon.CD_lift + lon.CL_min_drag**2), top)
    load = 2.0 * airplane.mass.mass * GRAVITY
    load = load / (SEA_LEVEL_DENSITY * airplane.geometry.wing_area)
    return jnp.sqrt(load / top), jnp.sqrt(load / best)


def known_handling(airplane: Airplane, air: Air, condition: Condition) -> Handling:
    """What a pilot knows of an airplane in a steady flight.

    Source: the flight model's steady pull-up, and statics.

    Args:
        airplane: The airplane.
        air: The column of air.
        condition: Of the steady flight, trim and lever included.

    Returns:
        What is known.
    """
    c, per_g = condition, pull_per_g(airplane, air, condition)
    density, _, temperature = gas(air, c.height)
    # To equivalent airspeed, which is what the needle shows to a pilot.
    thin = jnp.sqrt(density / SEA_LEVEL_DENSITY)
    speed = c.speed * thin
    stall, glide = _speeds(airplane, c)
    per_trim, stuck, loose = _trim_answers(
        airplane, 0.5 * density * c.speed**2, per_g.elevator_per_g, per_g.force_per_g
    )
    incidence = jnp.maximum(per_g.alpha_per_g, LEAST_INCIDENCE)
    limits = airplane.limits
    by_mach = limits.never_exceed_mach * speed_of_sound(temperature) * thin
    return Handling(
        force_per_g=jnp.maximum(per_g.force_per_g, LEAST_FORCE_PER_G),
        incidence_per_g=incidence,
        path_lag=incidence * c.speed / GRAVITY,
        force_per_trim=per_trim,
        trim_stuck=stuck,
        trim_loose=loose,
        speed=speed,
        stall=stall,
        # Nobody glides at less than 1.2 stall speeds, nor calls the trimmed speed too fast.
        # Analyst's estimate.
        glide=jnp.maximum(glide, 1.2 * stall),
        fastest=jnp.maximum(jnp.minimum(limits.never_exceed_speed, by_mach), 1.05 * speed),
    )
