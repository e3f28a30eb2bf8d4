"""One airplane as given and drawn, side by side: steady flights, force per g and modes of all.

Leaves carry a leading axis (d,): row 0 is the airplane as given, the others are draws.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import jax
import jax.numpy as jnp
import numpy as np

from neutralpoint.airplane.model import Airplane, Multipliers, apply_multipliers
from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.dynamics.aerodynamics import lift_and_moment, meet
from neutralpoint.dynamics.air import Air, gas
from neutralpoint.dynamics.equilibrium import (
    Condition,
    Equilibrium,
    find_equilibrium,
    find_pull_up,
)
from neutralpoint.dynamics.modes import frequency_and_damping, identify_modes, linearize
from neutralpoint.dynamics.quickly import quickly
from neutralpoint.dynamics.state import make_inputs
from neutralpoint.earth.airspeed import cas_from_mach, mach_from_cas
from neutralpoint.quantities import GRAVITY, HEAT_RATIO

Array = np.ndarray
_FUNCTIONS: dict[str, Callable] = {}


def make_fleet(airplane: Airplane, uncertainty: Uncertainty, draws: int, seed: int) -> Airplane:
    """The airplane as given and draws of its uncertainty.

    Args:
        airplane: As given.
        uncertainty: Its standard deviations.
        draws: How many.
        seed: Of the draws.

    Returns:
        The airplane with leaves (1 + draws,).
    """
    drawn = uncertainty.draw(np.random.default_rng(seed), draws)
    every = jax.tree.map(
        lambda given, more: jnp.concatenate([jnp.array([float(given)]), more]),
        Multipliers(),
        drawn,
    )
    airplane = jax.tree.map(lambda leaf: jnp.asarray(leaf, float), airplane)
    return jax.vmap(apply_multipliers, (None, 0))(airplane, every)


def stall_speed(airplane: Airplane, air: Air, height: float) -> float:
    """Level-flight stall speed, flaps up, m/s calibrated, where the lift coefficient is largest.

    Args:
        airplane: The airplane.
        air: The column of air.
        height: m.

    Returns:
        m/s.
    """
    density, pressure, _ = (float(x) for x in gas(air, height))
    sound = float(np.sqrt(HEAT_RATIO * pressure / density))

    def lift(alpha):
        velocity = (50.0 * jnp.cos(alpha), 0.0, 50.0 * jnp.sin(alpha))
        flow = meet(velocity, (0.0, 0.0, 0.0), density, sound)
        return lift_and_moment(airplane, flow, make_inputs(airplane))[0].base

    top = airplane.longitudinal.stall_angle + airplane.longitudinal.stall_width
    greatest = float(jnp.max(lift(jnp.linspace(0.0, top, 400))))
    weight = float(airplane.mass.mass) * GRAVITY
    speed = np.sqrt(2.0 * weight / (density * float(airplane.geometry.wing_area) * greatest))
    return float(cas_from_mach(speed / sound, pressure))


Find = Literal["elevator", "trim", "speed"]


def true_airspeed(calibrated: Array, air: Air, height: float) -> Array:
    """True airspeed, m/s, of calibrated airspeeds (n,) m/s at a height, m."""
    density, pressure, _ = (float(x) for x in gas(air, height))
    return mach_from_cas(calibrated, pressure) * np.sqrt(HEAT_RATIO * pressure / density)


def solve(
    fleet: Airplane, air: Air, height: float, find: Find, speed: Array, trim: float | Array
) -> Equilibrium:
    """Steady level flight of every airplane (d,) at every speed (n,); leaves (d, n)."""
    count = len(np.asarray(fleet.mass.mass))
    setting = np.broadcast_to(np.asarray(trim, float).reshape(-1, 1), (count, len(speed)))
    return _grid(find)(fleet, air, jnp.asarray(height), jnp.asarray(speed), jnp.asarray(setting))


def _grid(find: Find):
    def one(airplane, air, height, speed, trim):
        kind = "stabilizer" if airplane.trim_drive.kind == "none" else airplane.trim_drive.kind
        condition = Condition(find=find, speed=speed, height=height, **{kind: trim})
        return find_equilibrium(airplane, air, condition)

    by_speed = jax.vmap(one, (None, None, None, 0, 0))
    return _compiled(find, jax.vmap(by_speed, (0, None, None, None, 0)))


def _compiled(name: str, function: Callable) -> Callable:
    """The compiled function of a name, made once in a process."""
    return _FUNCTIONS.setdefault(name, quickly(function))


def known(found: Equilibrium, value) -> Array:
    """Values, NaN where no steady flight was found or the wing is beyond its stall."""
    outcome = np.asarray(found.outcome)
    return np.where((outcome == 1) | (outcome == 3), np.nan, np.asarray(value))


def force_per_g(fleet: Airplane, air: Air, reference: Equilibrium) -> Array:
    """Column force per unit load factor about n = 1, N, by a central difference over 0.2 g."""
    inputs, speed = reference.inputs, reference.readings.true_airspeed
    pair = _compiled("per g", jax.vmap(_pulls, (0, 0, 0, 0, None, None)))(
        fleet, reference.state.down, inputs, speed, jnp.array([0.9, 1.1]), air
    )
    found = np.asarray(pair)
    return (found[:, 1] - found[:, 0]) / 0.2


def _pulls(airplane, down, inputs, speed, load_factors, air):
    """Column force of one airplane at load factors."""
    condition = Condition(
        speed=speed,
        height=-down,
        lever=inputs.lever[0],
        stabilizer=inputs.stabilizer,
        tab=inputs.tab,
    )

    def pull(load_factor):
        return find_pull_up(airplane, air, condition, load_factor).readings.column_force

    return jax.vmap(pull)(load_factors)


def modes_of(fleet: Airplane, air: Air, reference: Equilibrium) -> dict[str, Array]:
    state, inputs = reference.state, reference.inputs
    one = jax.vmap(lambda a, s, i, air: linearize(a, s, i, air)[0], (0, 0, 0, None))
    matrices = _compiled("modes", one)(fleet, state, inputs, air)
    rows = []
    for matrix in np.asarray(matrices):
        modes = identify_modes(matrix)
        row = {"roll root": modes.roll.real, "spiral root": modes.spiral.real}
        for name in ("short_period", "phugoid", "dutch_roll"):
            frequency, damping = frequency_and_damping(getattr(modes, name))
            row[f"{name.replace('_', ' ')} frequency"] = frequency
            row[f"{name.replace('_', ' ')} damping"] = damping
        rows.append(row)
    return {name: np.array([row[name] for row in rows]) for name in rows[0]}
