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

# Fixes a second, or rarer ones by this share: from .. to, s. The data's own smoothing window is two
# seconds, or twice the interval of fixes, as `study.weighing` has it.
RARER, INTERVALS, LEAST_WINDOW = 0.45, (1.5, 12.0), 2.0
# Error that is told over `MIDDLING`, with a fix a second and with rarer ones; analyst's.
FACTORS, FACTORS_RARER, APART = (0.12, 4.0), (0.7, 7.0), 0.4
# What the smoother leaves of a flight is not the flight with errors: what is quick is gone.
# Width of the normal weights that leave about as much of each of `course.COLUMNS`, s with a fix a
# second and middling data, and over the interval of rarer fixes; its spread, shared and each; error
# that remains over the one that is told, and its spread. Measured on flights of another simulator
# through the smoother (benchmarks/six_degrees_odds.py, seed 11).
BLUR, BLUR_RARER = (1.0, 4.0, 2.0, 2.0, 0.5, 0.4), (1.5, 1.8, 1.7, 1.4, 1.2, 1.0)
BLUR_AT, BLUR_SHARED, BLUR_EACH = 1.7, 0.4, 0.35
REMAINS, REMAINS_SPREAD = 0.62, 0.35
GAPS, GAP_SHARE, GAP_FACTORS = 0.25, (0.05, 0.35), (3.0, 12.0)
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
SPARE = (384 - MOST) // 2  # records beside a flight in which its blur is worked out
BANK = 2  # place of the bank in `course.COLUMNS`


class Look(NamedTuple):
    """What data leave of some flights.

    Args:
        weights: To the knots, shape (n, 1 + KNOTS, MOST).
        blur: Of each column, s, shape (n, 6).
        clean: Channels of the blurred flights, shape (n, KNOTS, 7).
        errors: Of the channels, shape (n, KNOTS, 7).
        told: How well the columns are said to be known, shape (n, KNOTS, 6).
        moved: How far the fault moved each flight, as a multiple of what shows, shape (n,).
        context: Of the data, shape (n, 8).
        factor: Of the data's error over the middling one, shape (n,).
        gap: Whether a stretch is hardly seen, shape (n,).
    """

    weights: Array
    blur: Array
    clean: Array
    errors: Array
    told: Array
    moved: Array
    context: Array
    factor: Array
    gap: Array


def _errors(key: Array, sigma: Array, memory: Array) -> Array:
    """Errors that fade with their memory: Markov processes of first order, shape as `sigma`."""
    noise = jax.random.normal(key, sigma.shape)
    keep = jnp.broadcast_to(jnp.exp(-RECORD / memory)[:, None], sigma.shape)
    fresh = jnp.sqrt(1.0 - keep**2).at[:, 0].set(1.0) * noise

    def joined(early, late):
        return early[0] * late[0], late[0] * early[1] + late[1]

    # Every step at once: one after the other they cost as much as the learning.
    return sigma * jax.lax.associative_scan(joined, (keep, fresh), axis=1)[1]


def blurred(rows: Array, length: Array, blur: Array) -> Array:
    """Flights with what changes quickly taken out of each column; turned about beyond their ends.

    Args:
        rows: Shape (n, MOST, 6); what lies after `length` is not read.
        length: s, shape (n,).
        blur: Width of the normal weights, s, shape (n, 6).

    Returns:
        Shape (n, MOST, 6).
    """
    at = jnp.arange(-SPARE, MOST + SPARE)[None, :]
    last = jnp.floor(length / RECORD).astype(int)[:, None]
    end = jnp.clip(at, 0, last)
    back = jnp.clip(2 * end - at, 0, last)
    smooth = rows.at[..., BANK].set(jnp.unwrap(rows[..., BANK], axis=1))
    smooth = smooth - smooth[:, :1]
    held, mirror = (jnp.take_along_axis(smooth, k[:, :, None], axis=1) for k in (end, back))
    wide = 2.0 * held - mirror
    turn = 2.0 * jnp.pi * jnp.fft.rfftfreq(at.size, RECORD)
    pass_on = jnp.exp(-0.5 * (turn[None, :, None] * blur[:, None, :]) ** 2)
    found = jnp.fft.irfft(jnp.fft.rfft(wide, axis=1) * pass_on, n=at.size, axis=1)
    return found[:, SPARE : SPARE + MOST] + rows[:, :1]


def _data(key: Array, length: Array) -> tuple[Array, ...]:
    """How well the columns are said to be known, and what is left of them.

    Returns:
        Told error (n, MOST, 6), its memory (n, 6), window, blur (n, 6), share of the told error
        that is there (n, 6), factor, gap.
    """
    keys = jax.random.split(key, 12)
    count = length.shape[0]
    rare = jax.random.bernoulli(keys[8], RARER, (count,))
    apart = jnp.log(INTERVALS[1] / INTERVALS[0]) * jax.random.uniform(keys[9], (count,))
    apart = jnp.where(rare, INTERVALS[0] * jnp.exp(apart), 1.0)
    low = jnp.log(jnp.where(rare, FACTORS_RARER[0], FACTORS[0]))
    high = jnp.log(jnp.where(rare, FACTORS_RARER[1], FACTORS[1]))
    factor = jnp.exp(low + (high - low) * jax.random.uniform(keys[0], (count,)))
    own = jnp.exp(APART * jax.random.normal(keys[1], (count, 6)))
    base = factor[:, None] * own * jnp.array([size for size, _ in MIDDLING])
    memory = jnp.array([time for _, time in MIDDLING])
    memory = memory * jnp.exp(APART * jax.random.normal(keys[2], (count, 6)))
    window = jnp.maximum(LEAST_WINDOW, 2.0 * apart)
    window = jnp.minimum(window * jnp.exp(0.1 * jax.random.normal(keys[3], (count,))), 0.5 * length)
    often = jnp.sqrt(factor / BLUR_AT)[:, None] * jnp.array(BLUR)
    blur = jnp.where(rare[:, None], apart[:, None] * jnp.array(BLUR_RARER), often)
    blur = blur * jnp.exp(BLUR_SHARED * jax.random.normal(keys[10], (count, 1)))
    shares = jax.random.normal(keys[11], (2, count, 6))
    blur = blur * jnp.exp(BLUR_EACH * shares[0])
    remains = REMAINS * jnp.exp(REMAINS_SPREAD * shares[1])
    gap = jax.random.bernoulli(keys[4], GAPS, (count,))
    wide = jax.random.uniform(keys[5], (count,), minval=GAP_SHARE[0], maxval=GAP_SHARE[1])
    begin = jax.random.uniform(keys[6], (count,)) * (1.0 - wide)
    worse = jax.random.uniform(keys[7], (count,), minval=GAP_FACTORS[0], maxval=GAP_FACTORS[1])
    share = TIME[None, :] / length[:, None]
    inside = (share >= begin[:, None]) & (share <= (begin + wide)[:, None]) & gap[:, None]
    swell = jnp.where(inside, worse[:, None], 1.0)
    return base[:, None, :] * swell[:, :, None], memory, window, blur, remains, factor, gap


def look(key: Array, rows: Array, null: Array, length: Array) -> Look:
    """See flights through data that are drawn anew each time.

    Args:
        key: JAX random key.
        rows: Flights, shape (n, MOST, 6).
        null: The same without what failed.
        length: Of the window, s, shape (n,).

    Returns:
        What is left of them.
    """
    keys = jax.random.split(key, 3)
    sigma, memory, window, blur, remains, factor, gap = _data(keys[0], length)
    weights = jax.vmap(lambda long, wide: knot_weights(TIME, long, wide, jnp))(length, window)
    # Whether there is anything to see is a matter of the flight, not of what the data blur.
    sharp, untouched = (channels(each, weights, jnp) for each in (rows, null))
    smooth = blurred(rows, length, blur)
    clean = channels(smooth, weights, jnp)
    noise = _errors(keys[1], sigma * remains[:, None, :], memory)
    unseen = UNSEEN_LOAD * jax.random.normal(keys[2], clean.shape[:2])
    load = jnp.array([1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0]) / jnp.array(SIZES)
    errors = channels(smooth + noise, weights, jnp) - clean + unseen[..., None] * load
    at = jnp.clip((jnp.arange(KNOTS) + 0.5) / KNOTS * length[:, None] / RECORD, 0, MOST - 1)
    told = jnp.take_along_axis(sigma, at.astype(int)[:, :, None], axis=1)
    scale = channel_errors(told, rows[:, 0, 3], jnp) + jnp.array(FLOORS) / jnp.array(SIZES)
    return Look(
        weights=weights,
        blur=blur,
        clean=clean,
        errors=errors,
        told=told,
        moved=jnp.abs((sharp - untouched) / scale).max(axis=(1, 2)),
        context=of_the_data(length, window, memory, jnp),
        factor=factor,
        gap=gap,
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
        found = channels(
            blurred(chunk.rows[picked], chunk.length[row], seen.blur), seen.weights, jnp
        )
        return jnp.where(chunk.good[picked][:, None, None], found, seen.clean)

    first, second = jax.random.split(key)
    return mate(first) - mate(second)
