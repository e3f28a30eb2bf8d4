"""Flights of every cause in one program, each cause's effect worked out for its own flights alone.

All causes share the airplane, the start, the pilot, the gusts and the intentions of a draw:
trimming, intentions and random numbers are worked out once a draw, effects once a flight.
"""

from __future__ import annotations

from dataclasses import replace

import jax
import jax.numpy as jnp
from jax import Array
from jax.custom_batching import custom_vmap

from neutralpoint.airplane.model import Airplane
from neutralpoint.explanations import (
    Cause,
    Effect,
    Moment,
    Setting,
    felt_by_motor,
    one_step,
    record_of,
    start_flight,
)
from neutralpoint.weighing.course import COLUMNS, columns_of
from neutralpoint.weighing.flights import RECORD
from neutralpoint.weighing.simulate import ANY, STEP, roll_of, setting_of, static_of, with_meant


def _effect(cause: Cause, values: Array, moment: Moment) -> Effect:
    """Effect of one cause, every leaf an array of one precision."""
    found = cause.effect({p.name: values[i] for i, p in enumerate(cause.parameters)}, moment)
    return jax.tree.map(lambda leaf: jnp.asarray(leaf, values.dtype), found)


def _own_effect(causes: tuple[Cause, ...]):
    """Effect of the cause whose place along the batch a flight has.

    The batch must run over `causes`. Alone, without a batch, a flight is the first cause's.
    """

    # A plain batch would work out every cause for every flight and choose; this works out each for
    # its own.
    @custom_vmap
    def effect(values: Array, moment: Moment) -> Effect:
        return _effect(causes[0], values, moment)

    @effect.def_vmap
    def _each(size, batched, values, moment):  # type: ignore[no-untyped-def]
        if size != len(causes):
            raise ValueError(f"{size} flights were batched over {len(causes)} causes")

        def row(number):
            return jax.tree.map(
                lambda leaf, many: leaf[number] if many else leaf, (values, moment), tuple(batched)
            )

        found = [_effect(cause, *row(number)) for number, cause in enumerate(causes)]
        stacked = jax.tree.map(lambda *leaves: jnp.stack(leaves), *found)
        return stacked, jax.tree.map(lambda _: True, stacked)

    return effect


def any_of(causes: tuple[Cause, ...]) -> Cause:
    """One cause that stands for all of a list in a batch over them.

    Args:
        causes: In the order of the batch.

    Returns:
        The cause.
    """
    effect = _own_effect(causes)

    def act(parameters: dict, moment: Moment) -> Effect:
        return with_meant(effect(parameters["values"], moment), parameters, moment)

    return replace(ANY, act=act)


def _records(
    setting: Setting, every: Cause, parameters: dict, key: Array, count: Array, most: int
) -> Array:
    """Rows of `COLUMNS` of one flight, zeros after `count` of them."""
    run = {"step": STEP, "key": key}
    steps = round(RECORD / STEP)
    static = static_of(setting, parameters["ordinary"])

    def inner(carry, _):
        return one_step(setting, every, parameters, carry, **run)[0], None

    def outer(number, state):
        carry, rows = state
        record = record_of(setting, every, parameters, carry, **run)
        row = columns_of(jax.tree.map(lambda leaf: jnp.asarray(leaf)[None], record), static)
        rows = rows.at[number].set(row[0, : len(COLUMNS)].astype(rows.dtype))
        carry = felt_by_motor(carry, record)
        return jax.lax.scan(inner, carry, None, length=steps)[0], rows

    carry = start_flight(setting, turbulent=every.turbulent, key=key)
    # Of a fixed length, so that flights of any duration run in one program.
    rows = jnp.zeros((most, len(COLUMNS)), jnp.asarray(carry.state.down).dtype)
    return jax.lax.fori_loop(0, count, outer, (carry, rows))[1]


def fly_every(
    causes: tuple[Cause, ...],
    airplane: Airplane,
    draws: dict,
    values: Array,
    *,
    count: Array,
    most: int,
) -> Array:
    """Fly every cause of every draw; pure, so `jit` goes outside.

    Args:
        causes: Which. Static.
        airplane: Leaves (n, ...).
        draws: "multipliers", "start", "ordinary", "key", "duration", leaves (n,).
        values: Parameters, SI, shape (n, C, w).
        count: Records that are flown, at most `most`; one every `RECORD`.
        most: Records that there is room for. Static.

    Returns:
        Rows of `COLUMNS`, shape (n, C, most, 6); zeros from record `count` on.

    Checked against: tests/unit/test_weighing_every_cause.py (the same flights as one by one).
    """
    every = any_of(causes)

    def draw(one_airplane, one, own):
        setting = setting_of(one_airplane, one["multipliers"], one["start"], one["ordinary"])
        shared = {"ordinary": one["ordinary"], "duration": one["duration"]}
        shared["roll"] = roll_of(setting)

        def run(mine):
            return _records(setting, every, shared | {"values": mine}, one["key"], count, most)

        return jax.vmap(run)(own)

    return jax.vmap(draw)(airplane, draws, values)
