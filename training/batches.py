"""From flights to what the networks see: errors of the data, knots, traces, the unlisted cloud."""

from __future__ import annotations

from typing import NamedTuple

import jax
import jax.numpy as jnp
from data import LONG_MEMORY, MOST_LOST, SHORT_MEMORY, TIME, Seeing, data_of, fading
from flying import MOST, Chunk
from jax import Array

from neutralpoint.weighing.features import UNLISTED_SIZES
from neutralpoint.weighing.flights import RECORD
from neutralpoint.weighing.window import (
    FLOORS,
    KNOTS,
    SIDEWAYS,
    SIZES,
    TRACE,
    channel_errors,
    channels,
    compressed,
    knot_weights,
    known_how_well,
    of_the_data,
)

UNLISTED_SHARE = 0.06  # of a batch
# What no model of an airplane or its crew has: a little of the difference of two other flights of
# the same start, on a share of the rows. Analyst's.
MISFIT_SHARE, MISFIT, MISFIT_SPREAD = 0.6, 0.05, 1.0


class Batch(NamedTuple):
    """What is learned from, n rows.

    Args:
        series: Shape (n, KNOTS, 13).
        context: Of the data, shape (n, 8); what is told of the start is joined later.
        start: Number of the start, shape (n,).
        cause: Number of the cause, shape (n,).
        weight: 1 where the row counts, shape (n,).
        unit: Parameters as normal scores, shape (n, d).
        length: s, shape (n,).
        factor: Of the data's error over the typical one, shape (n,).
        gap: Whether a stretch is hardly seen, shape (n,).
        clean: Channels without errors, shape (n, KNOTS, 7).
    """

    series: Array
    context: Array
    start: Array
    cause: Array
    weight: Array
    unit: Array
    length: Array
    factor: Array
    gap: Array
    clean: Array


class Look(NamedTuple):
    """What data leave of some flights.

    Args:
        seeing: How flights are seen.
        clean: Channels of the flights so seen, without errors, shape (n, KNOTS, 7).
        errors: Of the channels, shape (n, KNOTS, 7).
        told: How well the columns are said to be known, shape (n, KNOTS, 6).
        moved: How far the fault moved each flight, in units of `FLOORS`, shape (n,).
        context: Of the data, shape (n, 8).
        factor: Of the data's error over the typical one, shape (n,).
        gap: Whether a stretch is hardly seen, shape (n,).
    """

    seeing: Seeing
    clean: Array
    errors: Array
    told: Array
    moved: Array
    context: Array
    factor: Array
    gap: Array


def look(key: Array, rows: Array, null: Array, length: Array, apart: float | None = None) -> Look:
    """See flights through data that are drawn anew each time.

    Args:
        key: JAX random key.
        rows: Flights, shape (n, MOST, 6).
        null: The same without what failed.
        length: Of the window, s, shape (n,).
        apart: Interval of fixes, s; None: drawn as they are common.

    Returns:
        What is left of them.
    """
    own, chance = jax.random.split(key)
    data = data_of(own, length, apart)
    weights = jax.vmap(lambda long, wide: knot_weights(TIME, long, wide, jnp))(length, data.window)
    # Whether a fault did anything is a matter of the flight, not of the data.
    sharp, untouched = (channels(each, weights, jnp) for each in (rows, null))
    at = jnp.clip((jnp.arange(KNOTS) + 0.5) / KNOTS * length[:, None] / RECORD, 0, MOST - 1)
    told = jnp.take_along_axis(data.sigma, at.astype(int)[:, :, None], axis=1)
    most = MOST_LOST * channel_errors(told, rows[:, 0, 3], jnp)
    seeing = Seeing(weights, data.blur, data.share, most)
    noise = fading(chance, data.sigma * data.remains[:, None, :], data.lasts)
    clean = seeing.channels(rows, length)
    errors = seeing.channels(rows, length, noise) - clean
    apart = jnp.abs(sharp - untouched) * jnp.array(SIZES) / jnp.array(FLOORS)
    return Look(
        seeing=seeing,
        clean=clean,
        errors=errors,
        told=told,
        moved=apart.max(axis=(1, 2)),
        context=of_the_data(
            length, data.window, jnp.clip(data.memory, SHORT_MEMORY, LONG_MEMORY), jnp
        ),
        factor=data.factor,
        gap=data.gap,
    )


def make_batch(key: Array, chunk: Chunk, size: int, *, amiss: bool = False) -> Batch:
    """Rows at random out of a chunk, seen by data drawn anew each time.

    Args:
        key: JAX random key.
        chunk: The flights.
        size: How many rows. Static.
        amiss: Whether flights are a little off any model. Static.

    Returns:
        The batch; its last rows are the unlisted cause.
    """
    keys = jax.random.split(key, 5)
    row = jax.random.randint(keys[0], (size,), 0, chunk.cause.shape[0])
    length, null = chunk.length[row], chunk.null[row]
    seen = look(keys[1], chunk.rows[row], chunk.rows[null], length)
    left = (seen.moved >= TRACE) | (row == null)
    clean = seen.clean

    other = round(UNLISTED_SHARE * size)
    cloud = _cloud(keys[2], chunk, row[:other], jax.tree.map(lambda x: x[:other], seen))
    clean = jnp.concatenate([cloud, clean[other:]])
    if amiss:
        some = slice(other, other + round(MISFIT_SHARE * size))
        misfit = _apart(keys[3], chunk, row[some], jax.tree.map(lambda x: x[some], seen))
        clean = clean.at[some].add(misfit)
    side = jax.random.bernoulli(keys[4], 0.5, (size, 1, 1))
    turn = jnp.where(jnp.arange(len(SIZES)) == SIDEWAYS, -1.0, 1.0)
    shown = clean + seen.errors
    shown = jnp.where(side, shown * turn, shown)
    unlisted = jnp.arange(size) < other
    series = jnp.concatenate([compressed(shown, jnp), known_how_well(seen.told, jnp)], axis=-1)
    good = chunk.good[row] & jnp.isfinite(series).all(axis=(1, 2))
    return Batch(
        series=jnp.where(good[:, None, None], series, 0.0),
        context=seen.context,
        start=chunk.start[row],
        cause=jnp.where(unlisted, -1, chunk.cause[row]),
        weight=(good & (left | unlisted)).astype(jnp.float32),
        unit=chunk.unit[row],
        length=length,
        factor=seen.factor,
        gap=seen.gap,
        clean=clean,
    )


def _cloud(key: Array, chunk: Chunk, row: Array, seen: Look) -> Array:
    """What a cause that nobody has listed might leave, as `features.unlisted`, start by start."""
    own, size = jax.random.split(key)
    low, high = UNLISTED_SIZES
    by = jax.random.uniform(size, (row.shape[0], 1, 1), minval=low, maxval=high)
    return seen.clean + by * _difference(own, chunk, row, seen)


def _apart(key: Array, chunk: Chunk, row: Array, seen: Look) -> Array:
    """How far a flight is off any model, shape as `seen.clean`."""
    own, size = jax.random.split(key)
    by = MISFIT * jnp.exp(MISFIT_SPREAD * jax.random.normal(size, (row.shape[0], 1, 1)))
    return by * _difference(own, chunk, row, seen)


def _difference(key: Array, chunk: Chunk, row: Array, seen: Look) -> Array:
    """Difference of two flights of the start of each row, seen as that row is."""
    each, begin = chunk.each[row], chunk.first[row]

    def mate(own):
        picked = begin + (jax.random.uniform(own, row.shape) * each).astype(int)
        found = seen.seeing.channels(chunk.rows[picked], chunk.length[row])
        return jnp.where(chunk.good[picked][:, None, None], found, seen.clean)

    first, second = jax.random.split(key)
    return mate(first) - mate(second)
