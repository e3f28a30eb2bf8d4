"""From flights to what the networks see: errors of the data, knots, traces, the unlisted cloud."""

from __future__ import annotations

from typing import NamedTuple

import jax
import jax.numpy as jnp
from flying import MOST, Chunk
from jax import Array

from neutralpoint.weighing.compare import UNSEEN_LOAD
from neutralpoint.weighing.features import UNLISTED_SIZES
from neutralpoint.weighing.flights import RECORD
from neutralpoint.weighing.window import (
    FLOORS,
    KNOTS,
    MIDDLING,
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

# From a perfect track to one of a radar in rough air: factor on `MIDDLING`, and the smoothing
# window of the data, s, that goes with it. Analyst's.
FACTORS, APART, WINDOWS = (0.12, 7.0), 0.4, (1.5, 3.0)
GAPS, GAP_SHARE, GAP_FACTORS = 0.25, (0.05, 0.35), (3.0, 12.0)
UNLISTED_SHARE = 0.06  # of a batch
# What no model of an airplane or its crew has: a little of the difference of two other flights of
# the same start, on a share of the rows; and how far the data's errors are off what is told of
# them. Analyst's.
MISFIT_SHARE, MISFIT, MISFIT_SPREAD, TOLD_WRONG = 0.6, 0.05, 1.0, 0.25


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
        factor: Of the data's error over the middling one, shape (n,).
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


TIME = RECORD * jnp.arange(MOST)


def _errors(key: Array, sigma: Array, memory: Array) -> Array:
    """Errors that fade with their memory: Markov processes of first order, shape as `sigma`."""
    noise = jax.random.normal(key, sigma.shape)
    keep = jnp.broadcast_to(jnp.exp(-RECORD / memory)[:, None], sigma.shape)
    fresh = jnp.sqrt(1.0 - keep**2).at[:, 0].set(1.0) * noise

    def joined(early, late):
        return early[0] * late[0], late[0] * early[1] + late[1]

    # Every step at once: one after the other they cost as much as the learning.
    return sigma * jax.lax.associative_scan(joined, (keep, fresh), axis=1)[1]


def _data(key: Array, length: Array) -> tuple[Array, ...]:
    """How well the columns are known: sigma (n, MOST, 6), memory (n, 6), window, factor, gap."""
    keys = jax.random.split(key, 8)
    count = length.shape[0]
    low, high = jnp.log(FACTORS[0]), jnp.log(FACTORS[1])
    level = jax.random.uniform(keys[0], (count,))
    factor = jnp.exp(low + (high - low) * level)
    own = jnp.exp(APART * jax.random.normal(keys[1], (count, 6)))
    base = factor[:, None] * own * jnp.array([size for size, _ in MIDDLING])
    memory = jnp.array([time for _, time in MIDDLING])
    memory = memory * jnp.exp(APART * jax.random.normal(keys[2], (count, 6)))
    # Rougher data are smoothed over longer windows.
    window = WINDOWS[0] * jnp.maximum(factor, 0.7) ** 0.7
    window = jnp.minimum(window * jnp.exp(0.3 * jax.random.normal(keys[3], (count,))), 0.3 * length)
    gap = jax.random.bernoulli(keys[4], GAPS, (count,))
    wide = jax.random.uniform(keys[5], (count,), minval=GAP_SHARE[0], maxval=GAP_SHARE[1])
    begin = jax.random.uniform(keys[6], (count,)) * (1.0 - wide)
    worse = jax.random.uniform(keys[7], (count,), minval=GAP_FACTORS[0], maxval=GAP_FACTORS[1])
    share = TIME[None, :] / length[:, None]
    inside = (share >= begin[:, None]) & (share <= (begin + wide)[:, None]) & gap[:, None]
    swell = jnp.where(inside, worse[:, None], 1.0)
    return base[:, None, :] * swell[:, :, None], memory, window, factor, gap


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
    keys = jax.random.split(key, 8)
    row = jax.random.randint(keys[0], (size,), 0, chunk.cause.shape[0])
    length, null = chunk.length[row], chunk.null[row]
    sigma, memory, window, factor, gap = _data(keys[1], length)
    weights = jax.vmap(lambda long, wide: knot_weights(TIME, long, wide, jnp))(length, window)
    clean = channels(chunk.rows[row], weights, jnp)
    untouched = channels(chunk.rows[null], weights, jnp)
    columns = chunk.rows[row] + _errors(keys[2], sigma, memory)
    seen = channels(columns, weights, jnp)
    unseen = UNSEEN_LOAD * jax.random.normal(keys[3], seen.shape[:2])
    load = jnp.array([1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0]) / jnp.array(SIZES)
    errors = seen - clean + unseen[..., None] * load

    at = jnp.clip((jnp.arange(KNOTS) + 0.5) / KNOTS * length[:, None] / RECORD, 0, MOST - 1)
    known = jnp.take_along_axis(sigma, at.astype(int)[:, :, None], axis=1)
    told = known * jnp.exp(TOLD_WRONG * jax.random.normal(keys[6], (size, 1, known.shape[2])))
    speed = chunk.rows[row][:, 0, 3]
    scale = channel_errors(known, speed, jnp) + jnp.array(FLOORS) / jnp.array(SIZES)
    moved = jnp.abs((clean - untouched) / scale).max(axis=(1, 2))
    is_null = row == null
    left = (moved >= TRACE) | is_null

    other = round(UNLISTED_SHARE * size)
    cloud = _cloud(keys[4], chunk, row[:other], clean[:other], weights[:other])
    clean = jnp.concatenate([cloud, clean[other:]])
    if amiss:
        some = slice(other, other + round(MISFIT_SHARE * size))
        misfit = _apart(keys[7], chunk, row[some], clean[some], weights[some])
        clean = clean.at[some].add(misfit)
    side = jax.random.bernoulli(keys[5], 0.5, (size, 1, 1))
    turn = jnp.where(jnp.arange(len(SIZES)) == SIDEWAYS, -1.0, 1.0)
    shown = clean + errors
    shown = jnp.where(side, shown * turn, shown)
    unlisted = jnp.arange(size) < other
    series = jnp.concatenate([compressed(shown, jnp), known_how_well(told, jnp)], axis=-1)
    good = chunk.good[row] & jnp.isfinite(series).all(axis=(1, 2))
    return Batch(
        series=jnp.where(good[:, None, None], series, 0.0),
        context=of_the_data(length, window, memory, jnp),
        start=chunk.start[row],
        cause=jnp.where(unlisted, -1, chunk.cause[row]),
        weight=(good & (left | unlisted)).astype(jnp.float32),
        unit=chunk.unit[row],
        length=length,
        factor=factor,
        gap=gap,
        clean=clean,
    )


def _cloud(key: Array, chunk: Chunk, row: Array, clean: Array, weights: Array) -> Array:
    """What a cause that nobody has listed might leave, as `features.unlisted`, start by start."""
    own, size = jax.random.split(key)
    low, high = UNLISTED_SIZES
    by = jax.random.uniform(size, (row.shape[0], 1, 1), minval=low, maxval=high)
    return clean + by * _difference(own, chunk, row, clean, weights)


def _apart(key: Array, chunk: Chunk, row: Array, clean: Array, weights: Array) -> Array:
    """How far a flight is off any model, shape as `clean`."""
    own, size = jax.random.split(key)
    by = MISFIT * jnp.exp(MISFIT_SPREAD * jax.random.normal(size, (row.shape[0], 1, 1)))
    return by * _difference(own, chunk, row, clean, weights)


def _difference(key: Array, chunk: Chunk, row: Array, clean: Array, weights: Array) -> Array:
    """Difference of two flights of the start of each row."""
    each, begin = chunk.each[row], chunk.first[row]

    def mate(own):
        picked = begin + (jax.random.uniform(own, row.shape) * each).astype(int)
        found = channels(chunk.rows[picked], weights, jnp)
        return jnp.where(chunk.good[picked][:, None, None], found, clean)

    first, second = jax.random.split(key)
    return mate(first) - mate(second)
