"""Flights of others to learn from beside our own: other equations, other pilots, real smoothing.

Files of windows as networks see them, of benchmarks/asked_windows.py. A file may come while
learning goes on. Flights of what is on no list are left out; a cloud about the others stands for
them, as in `batches.py`.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
from jax import Array

from neutralpoint.weighing.amortised import CLIPPED
from neutralpoint.weighing.features import UNLISTED_SIZES
from neutralpoint.weighing.window import CHANNELS, KNOTS, SIDEWAYS, TYPICAL, compressed

ROOM = 65536  # windows that there is room for
DRAWN = 256  # windows a batch
CLOUD = 16  # of them that become the unlisted cause
# Standard deviations of noise on the channels, compressed as they are, and on what is told of the
# start, standardised: so few flights are not to be learned by heart. Analyst's estimate.
BLURRED, TOLD_BLURRED = 0.04, 0.1


class Beside(NamedTuple):
    """Windows of other flights, n = `ROOM` rows.

    Args:
        series: Shape (n, KNOTS, 13).
        told: Of the start, standardised, shape (n, e).
        context: Of the data, shape (n, 8).
        fits: Causes that fit what was done, shape (n, causes).
        allowed: Causes that can act, shape (n, causes).
        up_to: Sum of the weights up to a row, shape (n,).
        share: Of the loss.
    """

    series: Array
    told: Array
    context: Array
    fits: Array
    allowed: Array
    up_to: Array
    share: float


def read(folder: Path, centre: np.ndarray, scale: np.ndarray, share: float) -> Beside:
    """What lies in a folder by now.

    Args:
        folder: Of files with `series`, `told`, `context`, `fits`, `allowed`, `part` (of its flight,
            the windows of a flight add up to 1) and `kind` (of fault, by name).
        centre: Of what is told, shape (e,).
        scale: Of it.
        share: Of the loss.

    Returns:
        Every kind of fault with the same weight, zeros after the last row.
    """
    held = []
    for path in sorted(folder.glob("*.npz")):
        with np.load(path, allow_pickle=False) as file:
            held.append({name: file[name] for name in file.files})
    rows = {name: np.concatenate([each[name] for each in held]) for name in held[0]}
    listed = rows["fits"][:, :-1].any(axis=1)
    rows = {name: each[listed][:ROOM] for name, each in rows.items()}
    count = len(rows["part"])
    kind = np.unique(rows["kind"], return_inverse=True)[1]
    weight = rows["part"] / np.bincount(kind, rows["part"])[kind]
    told = np.clip((rows["told"] - centre) / scale, -CLIPPED, CLIPPED)

    def full(values: np.ndarray, kind: type) -> Array:
        wide = np.zeros((ROOM, *values.shape[1:]), kind)
        wide[:count] = values
        return jnp.asarray(wide)

    return Beside(
        full(rows["series"], np.float16),
        full(told, np.float32),
        full(rows["context"], np.float32),
        full(rows["fits"], bool),
        full(rows["allowed"], bool),
        jnp.asarray(np.concatenate([np.cumsum(weight), np.full(ROOM - count, weight.sum())])),
        share,
    )


def drawn(key: Array, beside: Beside) -> tuple[Array, Array, Array, Array]:
    """Some windows: series, context with what is told, causes that fit and that can act."""
    pick, side, blur, told_blur, cloud = jax.random.split(key, 5)
    row = _picked(pick, beside, DRAWN)
    series = beside.series[row].astype(jnp.float32)
    wide, seen = len(CHANNELS) + len(TYPICAL), slice(len(CHANNELS))
    unlisted = _unlisted(cloud, beside, series[:CLOUD, :, seen])
    series = series.at[:CLOUD, :, seen].set(unlisted)
    noise = BLURRED * jax.random.normal(blur, (DRAWN, KNOTS, len(CHANNELS)))
    series = series.at[..., seen].add(noise)
    turn = jnp.where(jnp.arange(wide) == SIDEWAYS, -1.0, 1.0)
    turned = jax.random.bernoulli(side, 0.5, (DRAWN, 1, 1))
    series = jnp.where(turned, series * turn, series)
    told = beside.told[row]
    told = told + TOLD_BLURRED * jax.random.normal(told_blur, told.shape)
    context = jnp.concatenate([told, beside.context[row]], axis=-1)
    nobody = jnp.arange(beside.fits.shape[1]) == beside.fits.shape[1] - 1
    fits = jnp.where((jnp.arange(DRAWN) < CLOUD)[:, None], nobody, beside.fits[row])
    return series, context, fits, beside.allowed[row]


def _picked(key: Array, beside: Beside, count: int) -> Array:
    """Rows by their weights."""
    share = jax.random.uniform(key, (count,)) * beside.up_to[-1]
    return jnp.clip(jnp.searchsorted(beside.up_to, share), 0, ROOM - 1)


def _unlisted(key: Array, beside: Beside, series: Array) -> Array:
    """What a cause that nobody has listed might leave: flights with the difference of two more."""
    first, second, size = jax.random.split(key, 3)
    low, high = UNLISTED_SIZES
    by = jax.random.uniform(size, (len(series), 1, 1), minval=low, maxval=high)
    pair = [
        _whole(beside.series[_picked(own, beside, len(series)), :, : len(CHANNELS)])
        for own in (first, second)
    ]
    return compressed(_whole(series) + by * (pair[0] - pair[1]), jnp)


def _whole(series: Array) -> Array:
    """Channels before they were compressed."""
    plain = series.astype(jnp.float32)
    return jnp.sign(plain) * jnp.expm1(jnp.abs(plain))
