"""What a track and the smoother leave of flights: how well they are said to be known, and are."""

from __future__ import annotations

from typing import NamedTuple

import jax
import jax.numpy as jnp
from flying import MOST
from jax import Array

from neutralpoint.weighing.amortised import MEMORIES
from neutralpoint.weighing.flights import RECORD
from neutralpoint.weighing.window import TYPICAL, channels

# Fixes a second, or rarer ones by this share: from .. to, s. The data's own smoothing window is two
# seconds, or twice the interval of fixes, as `study.weighing` has it.
RARER, INTERVALS, LEAST_WINDOW = 0.45, (1.5, 12.0), 2.0
# What a track and the smoother make of a flight, of each of `course.COLUMNS`: with a fix a second
# and with one in 4.8 s; between and beyond by a power of the interval. Medians of 666 flights that
# went through sensors and smoother (seed 8201 of a world with airplanes of its own, as
# benchmarks/through_smoother.py makes them). The scores are of other flights.
RADAR = 4.8  # s
TOLD = ((1.8, 2.15, 1.85, 1.6, 3.1, 4.1), (3.9, 5.9, 4.9, 2.4, 8.7, 5.2))  # error over `TYPICAL`
MEMORY = ((0.5, 0.75, 4.2, 51.0, 3.8, 40.0), (0.8, 2.3, 6.1, 15.0, 3.4, 40.0))  # that is told, s
# What is quick is gone: width of the normal weights that leave as much, s.
BLUR = ((0.8, 1.5, 1.5, 1.0, 0.6, 0.5), (4.0, 6.5, 7.0, 7.5, 3.0, 2.5))
REMAINS = ((0.52, 0.74, 0.66, 0.71, 0.45, 0.4), (0.34, 0.46, 0.39, 0.65, 0.41, 0.5))  # over told
REMAINS_MEMORY = ((1.1, 3.3, 3.1, 50.0, 4.3, 17.0), (2.2, 8.0, 5.4, 31.0, 6.6, 26.0))  # s
# Spreads of their logarithms: of one flight in all columns, and of each column; told error in all
# over `TOLD`, with a fix a second and with rarer ones: from .. to, to learn more than was measured.
FACTORS, FACTORS_RARER, APART = (0.12, 4.0), (0.4, 2.5), 0.45
MEMORY_SPREAD, BLUR_SHARED, BLUR_EACH, REMAINS_SPREAD = 0.45, 0.4, 0.4, 0.45
# What is told sways within a flight: of each column, over `SWAY_MEMORY` s, half of it in common.
SWAY, SWAY_MEMORY = (0.45, 0.45, 0.6, 0.2, 0.35, 0.3), 8.0
# By rarer fixes lift is seen with a part of its size only, by this chance with little of it.
MISSED = 0.35
MOST_LOST = 2.2  # times the error that is told; analyst's
GAPS, GAP_SHARE, GAP_FACTORS = 0.25, (0.05, 0.35), (3.0, 12.0)

TIME = RECORD * jnp.arange(MOST)
SPARE = (384 - MOST) // 2  # records beside a flight in which its blur is worked out
LOAD, BANK = 0, 2  # places in `course.COLUMNS`
TYPICAL_MEMORY = jnp.array([time for _, time in TYPICAL])
SHORT_MEMORY, LONG_MEMORY = TYPICAL_MEMORY / MEMORIES, TYPICAL_MEMORY * MEMORIES


class Seeing(NamedTuple):
    """What data do to the flights of n rows, but for chance.

    Args:
        weights: To the knots, shape (n, 1 + KNOTS, MOST).
        blur: Of each column, s, shape (n, 6).
        share: Of its size with which lift up and sideways is seen, shape (n, 2).
        most: That is lost of each channel, shape (n, KNOTS, 7).
    """

    weights: Array
    blur: Array
    share: Array
    most: Array

    def channels(self, rows: Array, length: Array, noise: Array | float = 0.0) -> Array:
        """Channels of flights, shape (n, KNOTS, 7).

        What is not known of the bank moves the lift sideways; the lift up is known by the climb.
        What is lost of a flight stays about within `MOST_LOST` times the error that is told.
        """
        smooth = self._shrunk(blurred(rows, length, self.blur))
        seen = smooth + noise
        climb = channels(seen.at[..., BANK].set(smooth[..., BANK]), self.weights, jnp)
        found = channels(seen, self.weights, jnp).at[..., 0].set(climb[..., 0])
        lost = channels(rows, self.weights, jnp) - channels(smooth, self.weights, jnp)
        return found + lost - self.most * jnp.tanh(lost / self.most)

    def _shrunk(self, rows: Array) -> Array:
        """Flights whose lift, up and sideways, parts from that of the start by a share only."""
        load, bank = rows[..., LOAD], rows[..., BANK]
        lift = jnp.stack([load * jnp.cos(bank), load * jnp.sin(bank)], axis=-1)
        lift = lift[:, :1] + self.share[:, None, :] * (lift - lift[:, :1])
        size = jnp.hypot(lift[..., 0], lift[..., 1]) * jnp.where(load < 0.0, -1.0, 1.0)
        angle = jnp.arctan2(*(jnp.sign(size) * lift[..., k] for k in (1, 0)))
        return rows.at[..., LOAD].set(size).at[..., BANK].set(angle)


def fading(key: Array, sigma: Array, memory: Array) -> Array:
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


def _between(pair: tuple[tuple[float, ...], ...], apart: Array) -> Array:
    """What holds at an interval of fixes, s, shape (n, 6)."""
    often, rare = (jnp.log(jnp.array(each)) for each in pair)
    return jnp.exp(often + (rare - often) * (jnp.log(apart) / jnp.log(RADAR))[:, None])


def _told(key: Array, apart: Array, rare: Array) -> tuple[Array, Array, Array]:
    """How well the columns are said to be known: error (n, MOST, 6), memory (n, 6), factor (n,)."""
    keys = jax.random.split(key, 5)
    count = apart.shape[0]
    low = jnp.log(jnp.where(rare, FACTORS_RARER[0], FACTORS[0]))
    high = jnp.log(jnp.where(rare, FACTORS_RARER[1], FACTORS[1]))
    factor = jnp.exp(low + (high - low) * jax.random.uniform(keys[0], (count,)))
    own = jnp.exp(APART * jax.random.normal(keys[1], (count, 6)))
    over = factor[:, None] * _between(TOLD, apart) * own
    memory = _between(MEMORY, apart) * jnp.exp(
        MEMORY_SPREAD * jax.random.normal(keys[2], (count, 6))
    )
    half = jnp.full((count, MOST, 7), jnp.sqrt(0.5))
    each = fading(keys[3], half, jnp.full((count, 7), SWAY_MEMORY))
    sway = jnp.exp(jnp.array(SWAY) * (each[..., :6] + each[..., 6:]))
    base = over * jnp.array([size for size, _ in TYPICAL])
    return base[:, None, :] * sway, memory, jnp.exp(jnp.log(over).mean(axis=1))


def _shrunk(key: Array, apart: Array) -> Array:
    """Share of its size with which lift up and sideways is seen, shape (n, 2)."""
    chance, size = jax.random.uniform(key, (2, apart.shape[0], 2))
    share = jnp.where(chance < MISSED, 0.3 * size, 0.5 + 0.5 * size)
    rare = jnp.clip(jnp.log(apart) / jnp.log(RADAR), 0.0, 1.0)[:, None]
    return 1.0 - (1.0 - share) * rare


def _fixes(often: Array, interval: Array, count: int) -> tuple[Array, Array]:
    """Intervals of fixes, s, and whether they are longer than a second."""
    rare = jax.random.bernoulli(often, RARER, (count,))
    apart = jnp.log(INTERVALS[1] / INTERVALS[0]) * jax.random.uniform(interval, (count,))
    return jnp.where(rare, INTERVALS[0] * jnp.exp(apart), 1.0), rare


def _all(apart: float, count: int) -> tuple[Array, Array]:
    """One interval for all, likewise."""
    return jnp.full(count, apart), jnp.full(count, apart > 1.0)


class Data(NamedTuple):
    """What the data are like, n flights.

    Args:
        sigma: Error that is told, shape (n, MOST, 6).
        memory: Of it, as told, s, shape (n, 6).
        window: Of the data's own smoothing, s, shape (n,).
        blur: Of each column, s, shape (n, 6).
        share: Of its size with which lift up and sideways is seen, shape (n, 2).
        remains: Error that is there over the one that is told, shape (n, 6).
        lasts: Memory of the error that is there, s, shape (n, 6).
        factor: Of the told error over the typical one, shape (n,).
        gap: Whether a stretch is hardly seen, shape (n,).
    """

    sigma: Array
    memory: Array
    window: Array
    blur: Array
    share: Array
    remains: Array
    lasts: Array
    factor: Array
    gap: Array


def data_of(key: Array, length: Array, apart: float | None = None) -> Data:
    """Data drawn anew for each flight, with fixes so many s apart, or drawn as they are common."""
    keys = jax.random.split(key, 12)
    count = length.shape[0]
    apart, rare = _fixes(keys[8], keys[9], count) if apart is None else _all(apart, count)
    sigma, memory, factor = _told(keys[0], apart, rare)
    window = jnp.maximum(LEAST_WINDOW, 2.0 * apart)
    window = jnp.minimum(window * jnp.exp(0.1 * jax.random.normal(keys[3], (count,))), 0.5 * length)
    spread = jax.random.normal(keys[11], (3, count, 6))
    shared = BLUR_SHARED * jax.random.normal(keys[10], (count, 1))
    gap = jax.random.bernoulli(keys[4], GAPS, (count,))
    wide = jax.random.uniform(keys[5], (count,), minval=GAP_SHARE[0], maxval=GAP_SHARE[1])
    begin = jax.random.uniform(keys[6], (count,)) * (1.0 - wide)
    worse = jax.random.uniform(keys[7], (count,), minval=GAP_FACTORS[0], maxval=GAP_FACTORS[1])
    along = TIME[None, :] / length[:, None]
    inside = (along >= begin[:, None]) & (along <= (begin + wide)[:, None]) & gap[:, None]
    swell = jnp.where(inside, worse[:, None], 1.0)
    return Data(
        sigma=sigma * swell[:, :, None],
        memory=memory,
        window=window,
        blur=_between(BLUR, apart) * jnp.exp(shared + BLUR_EACH * spread[0]),
        share=_shrunk(keys[1], apart),
        remains=_between(REMAINS, apart) * jnp.exp(REMAINS_SPREAD * spread[1]),
        lasts=_between(REMAINS_MEMORY, apart) * jnp.exp(MEMORY_SPREAD * spread[2]),
        factor=factor,
        gap=gap,
    )
