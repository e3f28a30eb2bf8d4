"""All causes in one program, so that one compilation and one batch serve them all."""

from __future__ import annotations

from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from jax import Array
from numpy.typing import NDArray

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters
from neutralpoint.explanations.causes import CAUSES
from neutralpoint.vocabulary import CauseName

FLOWN = tuple(cause for cause in CAUSES.values() if cause.act is not None)
WIDTH = max(len(cause.parameters) for cause in FLOWN)


def effect_of_any(index: Scalar, values: Array, moment: Moment) -> Effect:
    """What the cause with a number does; every cause is worked out and one is taken.

    Args:
        index: Place in `FLOWN`.
        values: (WIDTH,) parameters in the order of the cause, filled up with anything.
        moment: Now.

    Returns:
        The effect.
    """
    effects = [
        cause.effect({p.name: values[i] for i, p in enumerate(cause.parameters)}, moment)
        for cause in FLOWN
    ]

    # What no cause changes stays a Python number, so that the compiler drops what hangs on it.
    def pick(*leaves):
        if all(isinstance(leaf, float) and leaf == leaves[0] for leaf in leaves):
            return leaves[0]
        found = leaves[0]
        for number, leaf in enumerate(leaves[1:], start=1):
            found = jnp.where(index == number, leaf, found)
        return found

    return jax.tree.map(pick, *effects)


def _act(parameters: Parameters, moment: Moment) -> Effect:
    return effect_of_any(parameters["index"], jnp.asarray(parameters["values"]), moment)


# Stirs no air: a cause that does is flown by itself.
ANY_CAUSE = Cause(
    name=CauseName.UNLISTED,  # stands for whichever one is flown
    mechanism="All causes in one program.",
    changes=(),
    parameters=(),
    cannot_explain=(),
    evidence=(),
    not_separable=(),
    act=_act,
)


def as_any(cause: Cause, parameters: Parameters) -> dict[str, NDArray[Any]]:
    """The parameters that make `ANY_CAUSE` act like a cause.

    Args:
        cause: One of `FLOWN`.
        parameters: Of the cause, all of one shape.

    Returns:
        `index`, and `values` with WIDTH as the last axis; `start` beside them, s.
    """
    rows = [np.asarray(parameters[p.name], float) for p in cause.parameters]
    shape = np.broadcast_shapes(*(row.shape for row in rows))
    rows = [np.broadcast_to(row, shape) for row in rows]
    rows += [np.ones(shape)] * (WIDTH - len(rows))  # ones: other causes divide by durations
    return {
        "index": np.full(shape, FLOWN.index(cause), np.int32),
        "values": np.stack(rows, axis=-1),
        "start": np.broadcast_to(np.asarray(parameters.get("start", 0.0), float), shape),
    }
