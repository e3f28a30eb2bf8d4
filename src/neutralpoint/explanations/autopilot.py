"""A simple autopilot: holds the climb by a servo of limited force and trims its load away."""

from __future__ import annotations

from dataclasses import dataclass

import jax
import jax.numpy as jnp

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.pilot import Seen, Task
from neutralpoint.quantities import GRAVITY


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Autopilot:
    """Servo and trim of the autopilot. Defaults are analyst's estimates.

    Args:
        engaged: 1 on at the start, 0 off.
        force: Most the servo gives at the column before it disconnects, N.
        trim_force: Servo load at which it starts to trim, N.
        crossover: Speed of its pitch loop, rad/s.
        outer: Speed of its vertical-speed loop, rad/s.
        holding: Speed of its load-factor loop, rad/s.
    """

    engaged: Scalar = 0.0
    force: Scalar = 180.0
    trim_force: Scalar = 20.0
    crossover: Scalar = 0.8
    outer: Scalar = 0.2
    holding: Scalar = 0.6


def servo_force(
    autopilot: Autopilot,
    servo: Scalar,
    seen: Seen,
    task: Task,
    force_per_g: Scalar,
    step: Scalar,
) -> tuple[Scalar, Scalar]:
    """Force of the servo and its memory.

    The law is that of the pilot without delay and muscles.
    Source: attitude within vertical speed, the analyst's gains.

    Args:
        autopilot: Gains.
        servo: Steady part so far, N.
        seen: What the sensors tell.
        task: What is to be held.
        force_per_g: Column pull per unit load factor, N.
        step: s.

    Returns:
        Force asked for, N, not limited; new steady part, N.
    """
    # Within 0.1 rad of pitch and 0.3 g below: an autopilot corrects gently. Analyst's estimate.
    late = autopilot.outer / autopilot.crossover * (task.climb - seen.climb) / seen.speed
    off = task.pitch + jnp.clip(late, -0.1, 0.1) - seen.pitch
    load = jnp.clip(autopilot.crossover * seen.speed / GRAVITY * off, -0.3, 0.3)
    # What load factor is missing adds up to a steady force, as the trim would.
    steady = servo + step * autopilot.holding * force_per_g * (1.0 + load - seen.load_factor)
    return force_per_g * load + steady, steady
