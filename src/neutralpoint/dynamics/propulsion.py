"""Thrust of one engine from its output, the height and the speed."""

from __future__ import annotations

import jax.numpy as jnp

from neutralpoint.airplane.model import Airplane, Engine
from neutralpoint.dynamics.aerodynamics import Flow
from neutralpoint.dynamics.state import Inputs
from neutralpoint.dynamics.vectors import Scalar, Vector, add, cross
from neutralpoint.quantities import SEA_LEVEL_DENSITY


def altitude_law(engine: Engine, density: Scalar) -> Scalar:
    """Full output at a density over the rating.

    Source: piston, Gagg and Farrar, SAE Transactions 29 (1934): s - (1 - s) / 7.55; turbine,
    density ratio to a power, flat rated: Mattingly, Elements of Propulsion (2006), from memory.

    Args:
        engine: The engine.
        density: kg/m3.

    Returns:
        Share of the rating, at most 1.
    """
    ratio = density / SEA_LEVEL_DENSITY
    if engine.kind == "piston":
        law = ratio - (1.0 - ratio) / 7.55
    else:
        law = jnp.exp(engine.altitude_exponent * jnp.log(ratio))
    return jnp.minimum(engine.flat_rating * law, 1.0)


def propeller_thrust(engine: Engine, shaft_power: Scalar, density: Scalar, speed: Scalar) -> Scalar:
    """Thrust of a propeller that turns shaft power into a jet through its disc.

    Source: momentum theory, P = T (V + v), T = 2 rho A (V + v) v: Glauert, The Elements of Aerofoil
    and Airscrew Theory (1947), ch. 15, with P the useful share of shaft power.
    With z = (V + v) / v0, x = V / v0 and v0 = (P / 2 rho A)^(1/3), this reads z^2 (z - x) = 1; one
    Newton step from sqrt(1 + x^2) is within 1%.
    Checked against: tests/against/test_dynamics_forces.py.

    Args:
        engine: The engine.
        shaft_power: W.
        density: kg/m3.
        speed: True airspeed, m/s.

    Returns:
        N.
    """
    useful = engine.propeller_efficiency * shaft_power
    floor = 1e-3 * engine.rating  # keeps the cube root smooth at idle
    # Cube root by logarithm: the library's is a scalar call on the CPU.
    load = jnp.maximum(useful, floor) / (2.0 * density * engine.disc_area)
    v0 = jnp.exp(jnp.log(load) / 3.0)
    x = speed / v0
    z = jnp.sqrt(1.0 + x * x)
    z = z - (z * z * (z - x) - 1.0) / (z * (3.0 * z - 2.0 * x))
    return useful / (v0 * z)


def thrust(engine: Engine, flow: Flow, power: Scalar, feather: Scalar) -> Scalar:
    """Thrust along the thrust line, less the drag of a propeller or fan without power.

    Source: parabola in Mach number for fans, as in Mattingly, Elements of Propulsion (2006), from
    memory; drag areas and their fading with power are the airplane's own data.

    Args:
        engine: The engine.
        flow: Air as met.
        power: Output as share of full output at this height.
        feather: 0 turning, 1 feathered or stopped.

    Returns:
        N.
    """
    output = power * engine.rating * altitude_law(engine, flow.density) * (1.0 - feather)
    if engine.kind == "turbofan":
        m = flow.mach
        pull = output * (1.0 + m * (engine.mach_slope + engine.mach_curve * m))
    else:
        pull = propeller_thrust(engine, output, flow.density, flow.speed)
    # The drag of a propeller without power fades as power comes, so that thrust makes no jump.
    idle = jnp.maximum(1.0 - power / engine.windmill_power, 0.0)
    area = (1.0 - feather) * idle * engine.windmill_drag + feather * engine.feather_drag
    return pull - flow.pressure * engine.disc_area * area


def all_thrust(
    airplane: Airplane, flow: Flow, power: tuple[Scalar, ...], inputs: Inputs
) -> tuple[Vector, Vector, Scalar]:
    """Force and moment of all engines about the CG, body axes.

    Source: statics.

    Args:
        airplane: The airplane.
        flow: Air as met.
        power: Output of each engine.
        inputs: Feathering and the CG shift.

    Returns:
        Force N, moment N m, sum of thrusts N.
    """
    force = moment = (0.0, 0.0, 0.0)
    total = 0.0
    cg_station = airplane.mass.cg_station + inputs.cg_shift
    for engine, output, feather in zip(airplane.engines, power, inputs.feather, strict=True):
        pull = thrust(engine, flow, output, feather)
        # A line that points up in front lifts: against body z.
        line = (
            pull * jnp.cos(engine.incidence),
            0.0,
            -pull * jnp.sin(engine.incidence),
        )
        # Stations run aft and depths down; body axes point forward, right and down.
        arm = (cg_station - engine.station, engine.side, engine.depth - airplane.mass.cg_depth)
        force, moment, total = add(force, line), add(moment, cross(arm, line)), total + pull
    return force, moment, total
