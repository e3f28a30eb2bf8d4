"""Hand against trim: forces in steady flight and where strength runs out.

All of it is `equilibrium` asked in four ways; outcomes and residuals come along.
"""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

import jax
import jax.numpy as jnp
from jax import Array

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics.air import Air
from neutralpoint.dynamics.equilibrium import (
    Condition,
    Equilibrium,
    find_equilibrium,
    find_pull_up,
)
from neutralpoint.dynamics.vectors import Scalar


class PullUp(NamedTuple):
    """What one more g costs about n = 1.

    Args:
        force_per_g: Column pull per unit load factor, N.
        elevator_per_g: Elevator per unit load factor, rad (trailing edge up negative).
        alpha_per_g: Angle of attack per unit load factor, rad.
    """

    force_per_g: Scalar
    elevator_per_g: Scalar
    alpha_per_g: Scalar


def force_against_speed(
    airplane: Airplane, air: Air, condition: Condition, speed: Array
) -> Equilibrium:
    """Steady flight at many speeds with the trim left where it is.

    Args:
        airplane: The airplane.
        air: The column of air.
        condition: Trim and everything else; its speed is not read.
        speed: (n,) true airspeeds, m/s.

    Returns:
        Equilibria, leaves (n,); `readings.column_force` is the pull that holds each.
    """

    def at(v):
        wanted = dataclasses.replace(condition, find="elevator", speed=v)
        return find_equilibrium(airplane, air, wanted)

    return jax.vmap(at)(speed)


def pull_per_g(airplane: Airplane, air: Air, condition: Condition) -> PullUp:
    """Force, elevator and incidence per g in a steady pull-up, from n = 0.9 to 1.1.

    Source: Etkin and Reid (1996), sections 3.1 and 3.2. Checked against:
    tests/unit/test_dynamics_authority.py.

    Args:
        airplane: The airplane.
        air: The column of air.
        condition: Speed, height, lever and trim.

    Returns:
        The gradients.
    """

    def at(n):
        r = find_pull_up(airplane, air, condition, n).readings
        return PullUp(r.column_force, r.elevator, r.angle_of_attack)

    # A difference, not a derivative through the solver: linear here, and far quicker to compile.
    pair = jax.vmap(at)(jnp.array([0.9, 1.1]))
    return jax.tree.map(lambda x: (x[1] - x[0]) / 0.2, pair)


def holdable_mistrim(
    airplane: Airplane, air: Air, condition: Condition, pull: Scalar
) -> tuple[Scalar, Equilibrium]:
    """How far the trim may be off before holding the condition takes this pull.

    Args:
        airplane: With a stabilizer or tab drive.
        air: The column of air.
        condition: Speed, height, path; its trim is the first guess.
        pull: Column force available, N, pull positive.

    Returns:
        Trim at that pull minus trim for no force, rad (0 friction); the equilibrium at that pull.
        Outcome 2 there means that the elevator stop comes before the pull does.
    """

    def at(force):
        wanted = dataclasses.replace(condition, find="trim", column_force=force)
        return find_equilibrium(airplane, air, wanted)

    # The trim for no force is the zero that a mistrim counts from; both are solved by one program.
    both = jax.vmap(at)(jnp.stack([jnp.zeros_like(pull), pull]))
    trim = getattr(both.inputs, airplane.trim_drive.kind)
    return trim[1] - trim[0], jax.tree.map(lambda leaf: leaf[1], both)


def crossover_speed(
    airplane: Airplane, air: Air, condition: Condition, pull: Scalar
) -> Equilibrium:
    """The speed beyond which holding the condition takes more than this pull, trim as it is.

    Force grows with dynamic pressure, so past this speed strength cannot win.

    Args:
        airplane: The airplane.
        air: The column of air.
        condition: Trim as it stands; its speed is the first guess.
        pull: Column force available, N.

    Returns:
        The equilibrium at that speed; outcome 1 where no speed asks for exactly this pull.
    """
    wanted = dataclasses.replace(condition, find="speed", column_force=pull)
    return find_equilibrium(airplane, air, wanted)
