"""Forces against printed values: hinge moment, lift slope, momentum theory, trim chain."""

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
import pytest
from scipy.optimize import brentq

from neutralpoint.airplane import model
from neutralpoint.dynamics.aerodynamics import compressibility
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.column import hinge_force
from neutralpoint.dynamics.equilibrium import Condition, find_equilibrium
from neutralpoint.dynamics.incidence import angle_of_attack
from neutralpoint.dynamics.modes import frequency_and_damping, identify_modes, linearize
from neutralpoint.dynamics.propulsion import altitude_law, propeller_thrust
from neutralpoint.quantities import KNOT


def test_hinge_moment_to_stick_force():
    """H = 25.0 N m, F = 23.25 N.

    Source: formuladen.com, Formula-9746, and calculatoratoz.com, Calc-9746 (seen 2026-11-28):
        23.2558 N at 0.215 m, 0.5 rad of stick for 0.1 rad of elevator give 25 N m.
    """
    pressure = 0.5 * 1.225 * 60.0**2
    moment = hinge_force(1.0, 0.02454, 0.6, pressure, 0.770358)
    assert moment == pytest.approx(25.0, abs=0.05)
    assert hinge_force(0.93, 0.02454, 0.6, pressure, 0.770358) == pytest.approx(
        23.25, abs=0.015
    )  # from 25.0 rounded


def test_lift_slope_with_mach():
    """The DATCOM formula's printed row A 7, M .4, kappa .95: 4.8636; limit Prandtl-Glauert.

    Source: USAF DATCOM sec. 4.1.3.2, from memory (authorities/lift_slope.toml).
    """
    A, kappa = 7.0, 0.95
    a2 = (A / kappa) ** 2
    slope0 = 2.0 * np.pi * A / (2.0 + np.sqrt(4.0 + a2))

    def lon(aspect, mach):
        return model.LongitudinalAerodynamics(
            CL_0=0.0,
            CL_alpha=1.0,
            CD_0=0.0,
            CD_lift=0.0,
            Cm_0=0.0,
            Cm_alpha=0.0,
            mach=mach,
            compressibility_aspect_ratio=aspect,
        )

    assert slope0 * float(compressibility(lon(A / kappa, 0.0), 0.4)) == pytest.approx(
        4.8636, abs=5e-5
    )
    assert float(compressibility(lon(1e6, 0.0), 0.6)) == pytest.approx(1.25, rel=1e-5)
    assert float(compressibility(lon(7.0, 0.5), 0.5)) == 1.0


def test_propeller_against_momentum_theory():
    """The cubic T (V + v) = P, T = 2 rho A (V + v) v solved by bisection, 0 to 200 m/s.

    Source: momentum theory of the disk, McCormick (1995), ch. 6, from memory; solved here.
    """
    engine = model.Engine(kind="turboprop", rating=6e5, propeller_efficiency=0.85, disc_area=4.5)
    power = 0.85 * 4e5
    for speed in (0.0, 10.0, 30.0, 60.0, 120.0, 200.0):
        swirl = brentq(
            lambda v, V=speed: 2 * 1.1 * 4.5 * (V + v) ** 2 * v - power, 1e-9, 200.0, xtol=1e-12
        )
        exact = power / (speed + swirl)
        assert float(propeller_thrust(engine, 4e5, 1.1, speed)) == pytest.approx(exact, rel=0.01)


def test_altitude_laws():
    """Gagg and Farrar at half density: .5 - .5 / 7.55 = .4338; flat rating holds to its height.

    Source: Gagg and Farrar, SAE Transactions 29 (1934), from memory.
    """
    piston = model.Engine(kind="piston", rating=1.0)
    assert float(altitude_law(piston, 0.6125)) == pytest.approx(0.4338, abs=1e-4)
    flat = model.Engine(kind="turboprop", rating=1.0, flat_rating=1.5, altitude_exponent=0.7)
    assert float(altitude_law(flat, 1.1)) == 1.0
    assert float(altitude_law(flat, 0.4)) == pytest.approx(1.5 * (0.4 / 1.225) ** 0.7)


def test_incidence_is_the_arc_tangent():
    """Source: definition of the angle of attack, ISO 1151-1, from memory."""
    angle = np.linspace(-np.pi, np.pi, 4001)[1:-1]
    u, w = 60.0 * np.cos(angle), 60.0 * np.sin(angle)
    assert np.allclose(angle_of_attack(u, w, 60.0), angle, atol=1e-14)


def glider(commuter, **longitudinal):
    """The hand-built airplane without thrust line, compressibility or elevator lift."""
    lon = dataclasses.replace(
        commuter.longitudinal, compressibility_aspect_ratio=0.0, CL_elevator=0.0, **longitudinal
    )
    engines = tuple(dataclasses.replace(e, depth=0.0, windmill_drag=0.0) for e in commuter.engines)
    return dataclasses.replace(commuter, longitudinal=lon, engines=engines)


@pytest.mark.parametrize(("knots", "period"), [(120.0, 27.97), (200.0, 46.61)])
def test_phugoid_period(commuter, knots, period):
    """Lanchester: T = sqrt2 pi V / g, for little drag and much static stability and damping.

    Source: Lanchester, Aerodonetics (1908), as in Etkin and Reid (1996), ch. 6, from memory.
    """
    airplane = glider(commuter, Cm_alpha=-30.0, CD_0=0.002, CD_lift=0.002, Cm_q=0.0, CL_q=0.0)
    air = make_air()
    air = dataclasses.replace(air, gravity=9.80665)
    found, A = _trim_and_linearize(airplane, air, knots * KNOT)
    assert float(found.residual) < 1e-9  # the elevator may pass its stop: only trim is needed
    frequency, damping = frequency_and_damping(identify_modes(A).phugoid)
    damped = frequency * np.sqrt(1.0 - damping**2)
    # Heave lag leaves a part in (g / V Zw)^2, below 1 % at these speeds.
    assert 2.0 * np.pi / damped == pytest.approx(period, rel=0.01)


@jax.jit
def _trim_and_linearize(airplane, air, speed):
    found = find_equilibrium(airplane, air, Condition(speed=speed, height=0.0))
    return found, linearize(airplane, found.state, found.inputs, air)[0]


def test_textbook_trim_chain(commuter):
    """Anderson, Introduction to Flight, chapter 7 examples: elevator to trim -2.01 deg unrounded.

    a .08 /deg, dCm/dalpha -.0133 /deg, Cm0 .0598, V_H .34, dCLt/dde .04 /deg; W 2.27e4 N, S 19 m2,
    61 m/s at sea level.

    Source: Anderson, Introduction to Flight, ch. 7, worked examples.
    """
    per_degree = 180.0 / np.pi
    lon = dataclasses.replace(
        commuter.longitudinal,
        CL_0=0.0,
        CL_alpha=0.08 * per_degree,
        Cm_0=0.0598,
        Cm_alpha=-0.0133 * per_degree,
        Cm_elevator=-0.34 * 0.04 * per_degree,
        CD_0=1e-9,  # no thrust, so that lift alone carries the weight
        CD_lift=0.0,
    )
    airplane = glider(dataclasses.replace(commuter, longitudinal=lon))
    airplane = dataclasses.replace(
        airplane,
        geometry=dataclasses.replace(airplane.geometry, wing_area=19.0),
        mass=dataclasses.replace(airplane.mass, mass=2.27e4 / 9.80665),
    )
    air = dataclasses.replace(make_air(), gravity=9.80665)
    found = jax.jit(find_equilibrium)(airplane, air, Condition(speed=61.0, height=0.0))
    assert float(found.readings.lift_coefficient) == pytest.approx(0.52, abs=0.005)
    assert np.degrees(float(found.inputs.elevator)) == pytest.approx(-2.01, abs=0.1)


def test_dropping_through_the_stall(commuter):
    """Lift is linear below the stall, peaks near it and falls; the slope inside is untouched.

    Source: common practice, no source: the shape of a lift curve.
    """
    from neutralpoint.dynamics.aerodynamics import lift_and_moment, meet
    from neutralpoint.dynamics.state import make_inputs

    alpha = jnp.linspace(-0.4, 0.6, 401)
    inputs = make_inputs(commuter)

    def lift(a):
        flow = meet((60.0 * jnp.cos(a), 0.0, 60.0 * jnp.sin(a)), (0.0, 0.0, 0.0), 1.2, 340.0)
        return lift_and_moment(commuter, flow, inputs)[0].base

    CL = np.asarray(jax.vmap(lift)(alpha))
    lon = commuter.longitudinal
    inside = (alpha < lon.stall_angle - lon.stall_width) & (alpha > -0.19)
    slope = np.gradient(CL, alpha)[inside][2:-2]
    assert np.ptp(slope) < 1e-9
    top = alpha[np.argmax(CL)]
    assert abs(top - lon.stall_angle) < lon.stall_width
    assert CL[-1] < CL.max()
