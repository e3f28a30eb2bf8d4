"""The pull that holding on would take, along a flight, and who could give it."""

from __future__ import annotations

import dataclasses

import jax
import jax.numpy as jnp
from jax import Array

from neutralpoint.dynamics.equilibrium import Condition, find_pull_up
from neutralpoint.dynamics.quickly import quickly
from neutralpoint.explanations.flight import CauseFlight
from neutralpoint.explanations.setting import Setting, with_procedure


@quickly
def pull_to_hold(setting: Setting, flight: CauseFlight) -> Array:
    """Column pull for unaccelerated flight across the path, at each record as it then is.

    Speed, height, path angle, power, trim and loading are those of the record, and the load factor
    is the cosine of the path angle. Source: the flight model's steady pull-up.

    Args:
        setting: Of the flight.
        flight: One flight, leaves (n,).

    Returns:
        (n,) N, pull positive; not a number where no such flight exists.
    """
    kind = setting.airplane.trim_drive.kind

    def at(speed, climb, height, trim, lever, shift):
        path = jnp.arcsin(jnp.clip(climb / speed, -0.999, 0.999))
        condition = Condition(
            speed=speed,
            height=height,
            path_angle=path,
            lever=lever,
            flap=setting.inputs.flap,
            gear=setting.inputs.gear,
            cg_shift=shift,
            stabilizer=trim if kind == "stabilizer" else setting.inputs.stabilizer,
            tab=trim if kind == "tab" else setting.inputs.tab,
        )
        found = find_pull_up(setting.airplane, setting.air, condition, jnp.cos(path))
        force = found.readings.column_force
        return jnp.where((found.outcome == 0) | (found.outcome == 2), force, jnp.nan)

    return jax.vmap(at)(
        flight.readings.true_airspeed,
        -flight.state.velocity_down,
        flight.readings.height,
        flight.trim,
        flight.lever,
        flight.cg_shift,
    )


def without_hands(setting: Setting) -> Setting:
    """The same setting with a pilot too weak to matter.

    Args:
        setting: Any.

    Returns:
        A setting in which the fault flies alone.
    """
    weak = dataclasses.replace(setting.pilot, strength=1e-3, trims=0.0)
    return with_procedure(dataclasses.replace(setting, pilot=weak), ())
