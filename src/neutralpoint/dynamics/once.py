"""A hint to the compiler: compute this once."""

from __future__ import annotations

from typing import TypeVar

import jax
from jax import Array

from neutralpoint.dynamics.vectors import Scalar

Tree = TypeVar("Tree")


def once(tree: Tree, alive: Scalar) -> Tree:
    """The same values, materialised on the CPU so that later expressions share them.

    XLA on the CPU fuses elementwise expressions into one kernel per output and computes shared
    parts again in each of them: thirteen rates of change cost thirteen times the common work. It
    does not repeat what it deems expensive, such as a division, and it drops
    `jax.lax.optimization_barrier` before it fuses. So each value is divided by a one that the
    compiler cannot see through. Two to three times faster in benchmarks/flight_batch.py; where
    another device is the default the values pass unchanged.

    Args:
        tree: Scalars to keep.
        alive: Any runtime value that is finite while the flight is.

    Returns:
        The same tree.
    """
    if jax.default_backend() != "cpu":
        return tree
    one = 1.0 + 0.0 * jax.lax.stop_gradient(alive)
    return jax.tree.map(lambda x: x / one if isinstance(x, Array) else x, tree)
