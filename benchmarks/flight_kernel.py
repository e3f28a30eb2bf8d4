"""The batch of `flight_batch.py` as ONE GPU kernel: a thread flies its flight from start to end.

XLA launches some dozens of kernels for every step of the loop; here the state stays in registers
for the whole flight. The equations are the same functions, called on blocks of flights.
"""

from __future__ import annotations

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
from jax.experimental import pallas as pl
from jax.experimental.pallas import triton

from neutralpoint.dynamics.equations import evaluate
from neutralpoint.dynamics.flight import advance

NAMES = ("start", "rate", "reaction", "pull")
BLOCK = 32  # flights of one block: one warp, so that a few thousand flights reach every processor


def constants(tree):
    """Leaves as typed scalars, which a kernel may hold as literals; short arrays as tuples."""

    def fixed(x):
        return tuple(map(np.float64, x)) if np.ndim(x) else np.float64(x)

    return jax.tree.map(fixed, tree)


def make(airplane, air, trimmed, inputs_of, *, seconds: int, step: float, interpret: bool = False):
    """A function from the cases to height and true airspeed once a second, each (n, seconds).

    Args:
        airplane: The airplane.
        air: The column of air.
        trimmed: Equilibrium that each flight starts from.
        inputs_of: From inputs and a case to inputs against time.
        seconds: Length of a flight.
        step: s.
        interpret: Run without a GPU, to check the results.

    Returns:
        The function; the number of cases must be a multiple of `BLOCK`.
    """
    airplane, trimmed = constants(airplane), constants(trimmed)
    profile = {n: constants(getattr(air, n)) for n in ("wind_height", "wind_north", "wind_east")}
    rest = {f.name: constants(getattr(air, f.name)) for f in dataclasses.fields(air)}
    air = dataclasses.replace(air, **(rest | profile))
    every = round(1.0 / step)

    def kernel(*refs):
        case = {name: ref[...] for name, ref in zip(NAMES, refs[:4], strict=True)}
        height, speed = refs[4:]
        at = inputs_of(trimmed.inputs, case)
        start = jax.tree.map(lambda x: 0.0 * case["start"] + x, trimmed.state)

        def second(k, state):
            held = at((k * every + 0.5) * step)
            readings = evaluate(airplane, state, held, air)[1]
            height[k, :] = readings.height
            speed[k, :] = readings.true_airspeed

            def one(j, state):
                held = at((k * every + j + 0.5) * step)
                return advance(airplane, state, held, air, step=step)

            return jax.lax.fori_loop(0, every, one, state)

        jax.lax.fori_loop(0, seconds, second, start)

    def run(cases):
        count = cases["start"].shape[0]
        out = jax.ShapeDtypeStruct((seconds, count), jnp.float64)
        height, speed = pl.pallas_call(
            kernel,
            grid=(count // BLOCK,),
            in_specs=[pl.BlockSpec((BLOCK,), lambda i: (i,))] * 4,
            out_specs=[pl.BlockSpec((seconds, BLOCK), lambda i: (0, i))] * 2,
            out_shape=[out, out],
            interpret=interpret,
            compiler_params=triton.CompilerParams(num_warps=1, num_stages=1),
        )(*[cases[name] for name in NAMES])
        return height.T, speed.T

    return jax.jit(run)
