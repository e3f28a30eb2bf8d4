"""Likelihood ratios between causes learned from simulated flights by a small network.

A network that is trained to tell from which cause a simulated flight came, on equal numbers of
each, gives p(features | cause) up to a factor that all causes share. So the differences of its
outputs are log Bayes factors, without a density of the features ever being written down.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial
from typing import cast

import jax
import jax.numpy as jnp
import numpy as np
import optax
from jax import Array
from scipy.optimize import minimize_scalar
from scipy.special import log_softmax

# Widths, length of training, rate and decay of weights: the best mean log score on flights of
# another model among those tried (a dense network, 14 or 28 knots, 300 or 1000 flights a cause).
WIDTH, EARLY, LATE = 64, 24, 32
BATCH = 256
EPOCHS, MOST_STEPS = 120, 6000
RATE = 3e-3
DECAY = 1.0
TEMPERATURES = (0.5, 10.0)  # least and most; analyst's
SHARE = 0.85  # of the flights that each network sees, so that the networks differ; analyst's

Weights = list[tuple[Array, Array]]


@jax.tree_util.register_dataclass
@dataclass(frozen=True)
class Network:
    """Trained networks, one a seed.

    Attributes:
        centre: Median of each feature, shape (f,).
        scale: Spread of each feature, shape (f,).
        weights: Layers, each leaf with a leading axis over the seeds.
        temperature: What the outputs are divided by, so that the flights kept out are given honest
            probabilities: above 1 where few flights were learned from.
        held_out: Mean log score of the networks together on flights kept out of training, nats.
        channels: How many series the features are.
    """

    centre: Array
    scale: Array
    weights: Weights
    temperature: Array
    held_out: Array
    channels: int = field(metadata={"static": True})


@jax.tree_util.register_dataclass
@dataclass(frozen=True)
class FlightFeatures:
    """What is trained on: clean features, error draws, signs of the mirror image, scale, labels."""

    features: Array
    errors: Array
    mirror: Array
    centre: Array
    scale: Array
    labels: Array


def standardise(features: Array | np.ndarray, centre: Array, scale: Array) -> Array:
    """Features on one scale; far-out values grow like their logarithm, so that none rules alone.

    Args:
        features: Shape (..., f).
        centre: Shape (f,).
        scale: Shape (f,).

    Returns:
        Shape (..., f).
    """
    return jnp.arcsinh((features - centre) / scale)


def _neighbours(series: Array) -> Array:
    """Each time with the ones before and after it, shape (n, k, 3 q)."""
    padded = jnp.pad(series, ((0, 0), (1, 1), (0, 0)))
    return jnp.concatenate([padded[:, :-2], series, padded[:, 2:]], axis=-1)


def _forward(weights: Weights, inputs: Array, channels: int) -> Array:
    """Outputs: what happens when is looked for alike at all times, then put together.

    Source: a convolution in time, LeCun et al., Proc. IEEE 86 (1998) 2278-2324, section 2.
    """
    early, late, dense, last = weights
    series = inputs.reshape(len(inputs), channels, -1).transpose(0, 2, 1)
    series = jax.nn.gelu(_neighbours(series) @ early[0] + early[1])
    series = jax.nn.gelu(_neighbours(series)[:, ::2] @ late[0] + late[1])
    parts = [series.mean(axis=1), series.max(axis=1), series[:, -1], inputs]
    hidden = jax.nn.gelu(jnp.concatenate(parts, axis=1) @ dense[0] + dense[1])
    return hidden @ last[0] + last[1]


def _start(key: Array, size: int, channels: int, classes: int) -> Weights:
    sizes = (
        (3 * channels, EARLY),
        (3 * EARLY, LATE),
        (3 * LATE + size, WIDTH),
        (WIDTH, classes),
    )
    return [
        (jax.random.normal(k, (a, b), jnp.float32) * (2.0 / a) ** 0.5, jnp.zeros(b, jnp.float32))
        for k, (a, b) in zip(jax.random.split(key, len(sizes)), sizes, strict=True)
    ]


@partial(jax.jit, static_argnames=("channels", "classes", "steps"))
def _train(
    keys: Array, data: FlightFeatures, *, channels: int, classes: int, steps: int
) -> Weights:
    """Train one network a key by AdamW with a cosine schedule."""
    rule = optax.adamw(optax.cosine_decay_schedule(RATE, steps), weight_decay=DECAY)
    count, size = data.features.shape

    def one(key: Array) -> Weights:
        first, rest, own = jax.random.split(key, 3)
        seen = jax.random.permutation(own, count)[: max(int(SHARE * count), 1)]
        weights = _start(first, size, channels, classes)

        def step(carry, number):
            weights, state = carry
            place, error, side = jax.random.split(jax.random.fold_in(rest, number), 3)
            row = seen[jax.random.randint(place, (BATCH,), 0, seen.shape[0])]
            # Errors are laid over anew each time, so that no network learns one draw by heart.
            noise = data.errors[jax.random.randint(error, (BATCH,), 0, len(data.errors))]
            # No cause knows left from right: its mirror image is as good a flight.
            turned = jax.random.bernoulli(side, 0.5, (BATCH, 1))
            inputs = data.features[row] + noise
            inputs = jnp.where(turned, inputs * data.mirror, inputs)
            inputs = standardise(inputs, data.centre, data.scale)

            def loss(w):
                found = jax.nn.log_softmax(_forward(w, inputs, channels))
                return -jnp.mean(found[jnp.arange(BATCH), data.labels[row]])

            move, state = rule.update(jax.grad(loss)(weights), state, weights)
            return (optax.apply_updates(weights, move), state), None

        start = (weights, rule.init(weights))
        return cast(Weights, jax.lax.scan(step, start, jnp.arange(steps))[0][0])  # as it began

    return jax.vmap(one)(keys)


@partial(jax.jit, static_argnames="channels")
def _outputs(weights: Weights, inputs: Array, channels: int) -> Array:
    return jax.vmap(lambda w: _forward(w, inputs, channels))(weights)


def learn(
    features: np.ndarray,
    labels: np.ndarray,
    *,
    classes: int,
    key: Array,
    seeds: int = 5,
    most: int = MOST_STEPS,
    channels: int = 1,
    errors: np.ndarray | None = None,
    mirror: np.ndarray | None = None,
    test: tuple[np.ndarray, np.ndarray] | None = None,
) -> Network:
    """Train on simulated flights.

    Args:
        features: Of every flight, shape (n, f).
        labels: Number of the cause of each, shape (n,); equally many of each.
        classes: How many causes.
        key: JAX random key.
        seeds: How many networks; each sees its own share of the flights.
        most: Batches at most, within `EPOCHS` passes over the flights.
        channels: The features are that many series of equal length, one after the other.
        errors: Error draws; another one is laid over a flight each time it is seen, shape (e, f).
        mirror: Signs that turn a flight into its mirror image, shape (f,), which is as likely.
        test: Features and labels of flights kept out of training, with errors.

    Returns:
        The networks with their score on the flights kept out (NaN without).

    Source: Cranmer, Pavez and Louppe, arXiv 1506.02169 (2015), section 2; AdamW, Loshchilov and
    Hutter, arXiv 1711.05101 (2017).
    Checked against: tests/recovery/test_weighing_network.py (problems with an exact answer).
    """
    count, size = features.shape
    errors = np.zeros((1, size)) if errors is None else errors
    noisy = features + errors[np.arange(count) % len(errors)]
    centre = np.median(noisy, axis=0)
    low, high = np.quantile(noisy, (0.05, 0.95), axis=0)
    scale = np.maximum((high - low) / 3.29, 1e-9)  # 3.29 sigma between the 5 and 95% of a normal
    if mirror is not None:  # what changes sign has no middle of its own
        centre = np.where(mirror < 0.0, 0.0, centre)
    data = FlightFeatures(
        *(
            jnp.asarray(values, jnp.float32)
            for values in (
                features,
                errors,
                np.ones(size) if mirror is None else mirror,
                centre,
                scale,
            )
        ),
        labels=jnp.asarray(labels),
    )
    steps = int(np.clip(EPOCHS * count // BATCH, 1, most))
    weights = _train(
        jax.random.split(key, seeds), data, channels=channels, classes=classes, steps=steps
    )
    network = Network(
        jnp.asarray(centre),
        jnp.asarray(scale),
        weights,
        jnp.asarray(1.0),
        jnp.asarray(jnp.nan),
        channels,
    )
    if test is None:
        return network
    network = replace(network, temperature=jnp.asarray(temperature(network, *test)))
    return replace(network, held_out=jnp.asarray(_score(log_evidence(network, test[0]), test[1])))


def _score(runs: np.ndarray, labels: np.ndarray) -> float:
    """Mean log score of the networks together."""
    each = np.exp(runs).mean(axis=0)
    return float(np.log(each[np.arange(len(labels)), labels]).mean())


def temperature(network: Network, features: np.ndarray, labels: np.ndarray) -> float:
    """The temperature of the best score on flights that were kept out of training.

    Args:
        network: With whatever temperature; it is multiplied by that of the best score.
        features: Shape (n, f).
        labels: Number of the cause of each, shape (n,).

    Returns:
        What the outputs are to be divided by.

    Source: temperature scaling, Guo, Pleiss, Sun and Weinberger, ICML (2017), section 4.2, from
    memory.
    """
    runs = log_evidence(network, features)

    def loss(logarithm: float) -> float:
        return -_score(log_softmax(runs / np.exp(logarithm), axis=-1), labels)

    found = minimize_scalar(loss, bounds=np.log(TEMPERATURES), method="bounded")
    return float(np.exp(found.x)) * float(network.temperature)


def log_evidence(network: Network, features: np.ndarray) -> np.ndarray:
    """ln p(features | cause) of each seed, up to a constant that all causes of a row share.

    Args:
        network: Trained.
        features: Shape (n, f).

    Returns:
        Shape (seeds, n, classes); exponentials sum to 1 over the classes.
    """
    inputs = standardise(jnp.asarray(features), network.centre, network.scale)
    found = _outputs(network.weights, inputs.astype(jnp.float32), network.channels)
    return np.asarray(jax.nn.log_softmax(found / network.temperature), dtype=float)
