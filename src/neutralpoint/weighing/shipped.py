"""The networks that are shipped: odds between causes, and their parameters, for any case inside.

One forward pass in NumPy or JAX; learning them is the business of the folder `training`.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from neutralpoint.weighing.window import KNOTS

Array = Any  # of NumPy or of JAX
Weights = dict[str, Array]

# Sizes of the shipped networks. Analyst's: the file stays below 15 MB with five of them.
WIDTH, BLOCKS, REACH = 128, 6, (1, 2, 4, 8, 1, 2)
HIDDEN, ASKED = 256, 32
MIXED = 4  # normal distributions in the mixture that the parameters of a cause follow


def gelu(x: Array, xp: Any = np) -> Array:
    """The smooth unit between layers.

    Args:
        x: Any shape.
        xp: NumPy or jax.numpy.

    Returns:
        The same shape.

    Source: Hendrycks and Gimpel, arXiv 1606.08415 (2016), the form with tanh.
    """
    return 0.5 * x * (1.0 + xp.tanh(0.7978845608 * (x + 0.044715 * x * x * x)))


def normed(x: Array, xp: Any = np) -> Array:
    """Numbers of size 1 along the last axis.

    Args:
        x: Any shape.
        xp: NumPy or jax.numpy.

    Returns:
        The same shape.

    Source: root mean square norm, Zhang and Sennrich, NeurIPS (2019).
    """
    return x / xp.sqrt(xp.mean(x * x, axis=-1, keepdims=True) + 1e-6)


def _beside(x: Array, reach: int, xp: Any) -> Array:
    """Each knot with those `reach` before and after it, zeros beyond the ends."""
    pad = xp.pad(x, ((0, 0), (reach, reach), (0, 0)))
    return xp.concatenate([pad[:, : -2 * reach], x, pad[:, 2 * reach :]], axis=-1)


def linear(w: Weights, name: str, x: Array) -> Array:
    """One layer.

    Args:
        w: Weights of one network.
        name: Of the layer.
        x: Shape (..., a).

    Returns:
        Shape (..., b).
    """
    return x @ w[f"{name}.w"] + w[f"{name}.b"]


def body(w: Weights, series: Array, context: Array, xp: Any = np) -> Array:
    """What one network makes of a stretch of flight.

    Args:
        w: Weights of one network.
        series: Shape (n, KNOTS, s).
        context: Shape (n, c).
        xp: NumPy or jax.numpy.

    Returns:
        Shape (n, HIDDEN).

    Source: residual dilated convolutions, Bai, Kolter and Koltun, arXiv 1803.01271 (2018);
    conditioning by scale and shift, Perez et al., AAAI (2018).
    """
    told = told_apart(w, context, xp)
    x = linear(w, "series", series) + w["place"]
    for number in range(BLOCKS):
        scale, shift = xp.split(linear(w, f"tell{number}", told)[:, None, :], 2, axis=-1)
        h = normed(x, xp) * (1.0 + scale) + shift
        h = gelu(linear(w, f"early{number}", _beside(h, REACH[number], xp)), xp)
        x = x + linear(w, f"late{number}", _beside(h, 1, xp))
    return pooled(w, normed(x, xp), told, xp)


def told_apart(w: Weights, context: Array, xp: Any = np) -> Array:
    """What is told beside the series, as every layer is given it.

    Args:
        w: Weights of one network.
        context: Shape (n, c).
        xp: NumPy or jax.numpy.

    Returns:
        Shape (n, WIDTH).
    """
    told = gelu(linear(w, "told", context), xp)
    return gelu(linear(w, "told2", told), xp)


def pooled(w: Weights, x: Array, told: Array, xp: Any = np) -> Array:
    """All knots as one row: mean, largest, first and last, with what is told.

    Args:
        w: Weights of one network.
        x: Shape (n, KNOTS, a).
        told: Shape (n, WIDTH).
        xp: NumPy or jax.numpy.

    Returns:
        Shape (n, HIDDEN).
    """
    parts = [x.mean(axis=1), x.max(axis=1), x[:, 0], x[:, -1], told]
    h = gelu(linear(w, "dense", xp.concatenate(parts, axis=-1)), xp)
    return h + gelu(linear(w, "dense2", h), xp)


def tell(w: Weights, hidden: Array) -> Array:
    """Log evidence of each cause up to what they share.

    Args:
        w: Weights of one network.
        hidden: Of `body`, shape (n, HIDDEN).

    Returns:
        Shape (n, causes).
    """
    return linear(w, "causes", hidden)


def mixture(w: Weights, hidden: Array, cause: Array, xp: Any = np) -> tuple[Array, Array, Array]:
    """Parameters of one cause as a mixture of normal distributions of their normal scores.

    Args:
        w: Weights of one network.
        hidden: Of `body`, shape (n, HIDDEN).
        cause: Its number, shape (n,).
        xp: NumPy or jax.numpy.

    Returns:
        Log weights (n, MIXED), means and log standard deviations (n, MIXED, d).

    Source: Bishop, Mixture density networks, NCRG/94/004 (1994).
    """
    asked = xp.concatenate([hidden, w["asked"][cause]], axis=-1)
    found = linear(w, "parameters", gelu(linear(w, "asking", asked), xp))
    found = found.reshape((found.shape[0], MIXED, -1))
    size = (found.shape[-1] - 1) // 2
    share = found[..., 0] - found[..., 0].max(axis=-1, keepdims=True)
    share = share - xp.log(xp.exp(share).sum(axis=-1, keepdims=True))
    return share, found[..., 1 : 1 + size], xp.clip(found[..., 1 + size :], -5.0, 1.0)


def shapes(series: int, context: int, causes: int, parameters: int) -> dict[str, tuple[int, ...]]:
    """Shape of every weight.

    Args:
        series: Channels a knot.
        context: Numbers told beside them.
        causes: How many, the unlisted one with them.
        parameters: At most, of a cause.

    Returns:
        By name; those ending in `.b` start as zeros.
    """
    layers = {
        "told": (context, WIDTH),
        "told2": (WIDTH, WIDTH),
        "series": (series, WIDTH),
        "dense": (5 * WIDTH, HIDDEN),
        "dense2": (HIDDEN, HIDDEN),
        "causes": (HIDDEN, causes),
        "asking": (HIDDEN + ASKED, HIDDEN),
        "parameters": (HIDDEN, MIXED * (1 + 2 * parameters)),
    }
    for number in range(BLOCKS):
        layers |= {
            f"tell{number}": (WIDTH, 2 * WIDTH),
            f"early{number}": (3 * WIDTH, WIDTH),
            f"late{number}": (3 * WIDTH, WIDTH),
        }
    found: dict[str, tuple[int, ...]] = {"place": (KNOTS, WIDTH), "asked": (causes, ASKED)}
    for name, (a, b) in layers.items():
        found |= {f"{name}.w": (a, b), f"{name}.b": (b,)}
    return found
