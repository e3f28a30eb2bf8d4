"""Likelihood ratios between causes learnt from simulated flights by a small network.

A network that is trained to tell from which cause a simulated flight came, on equal numbers of
each, gives p(features | cause) up to a factor that all causes share. So the differences of its
outputs are log Bayes factors, without a density of the features ever being written down.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import jax
import jax.numpy as jnp
import numpy as np
import optax
from jax import Array

# Width, length of training, rate and decay of weights: the best mean log score on held-out flights
# among those tried on toy flights; beside other likelihoods in
# experiments/weighing_likelihoods.py.
WIDTH = 64
BATCH = 256
EPOCHS = 40
RATE = 3e-3
DECAY = 1.0
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
        held_out: Mean log score of the networks together on flights kept out of training, nats.
    """

    centre: Array
    scale: Array
    weights: Weights
    held_out: Array


def standardise(features: Array, centre: Array, scale: Array) -> Array:
    """Features on one scale; far-out values grow like their logarithm, so that none rules alone.

    Args:
        features: Shape (..., f).
        centre: Shape (f,).
        scale: Shape (f,).

    Returns:
        Shape (..., f).
    """
    return jnp.arcsinh((features - centre) / scale)


def _forward(weights: Weights, inputs: Array) -> Array:
    for matrix, offset in weights[:-1]:
        inputs = jax.nn.gelu(inputs @ matrix + offset)
    matrix, offset = weights[-1]
    return inputs @ matrix + offset


def _start(key: Array, sizes: tuple[int, ...]) -> Weights:
    keys = jax.random.split(key, len(sizes) - 1)
    return [
        (jax.random.normal(k, (a, b), jnp.float32) * (2.0 / a) ** 0.5, jnp.zeros(b, jnp.float32))
        for k, a, b in zip(keys, sizes[:-1], sizes[1:], strict=True)
    ]


@partial(jax.jit, static_argnames=("classes", "epochs"))
def _train(keys: Array, inputs: Array, labels: Array, *, classes: int, epochs: int) -> Weights:
    """Train one network a key by AdamW with a cosine schedule."""
    steps = epochs * max(1, inputs.shape[0] // BATCH)
    rule = optax.adamw(optax.cosine_decay_schedule(RATE, steps), weight_decay=DECAY)

    def one(key: Array) -> Weights:
        first, rest, own = jax.random.split(key, 3)
        seen = jax.random.permutation(own, inputs.shape[0])[: int(SHARE * inputs.shape[0])]
        weights = _start(first, (inputs.shape[1], WIDTH, WIDTH, classes))

        def step(carry, count):
            weights, state = carry
            place = jax.random.randint(jax.random.fold_in(rest, count), (BATCH,), 0, seen.shape[0])
            row = seen[place]

            def loss(w):
                found = jax.nn.log_softmax(_forward(w, inputs[row]))
                return -jnp.mean(found[jnp.arange(BATCH), labels[row]])

            move, state = rule.update(jax.grad(loss)(weights), state, weights)
            return (optax.apply_updates(weights, move), state), None

        return jax.lax.scan(step, (weights, rule.init(weights)), jnp.arange(steps))[0][0]

    return jax.vmap(one)(keys)


def _outputs(network: Network, features: Array) -> Array:
    inputs = standardise(features, network.centre, network.scale).astype(jnp.float32)
    return jax.vmap(_forward, in_axes=(0, None))(network.weights, inputs)


def learn(
    features: np.ndarray,
    labels: np.ndarray,
    *,
    classes: int,
    key: Array,
    seeds: int = 5,
    epochs: int = EPOCHS,
    test: tuple[np.ndarray, np.ndarray] | None = None,
) -> Network:
    """Train on simulated flights.

    Args:
        features: Of every flight, shape (n, f).
        labels: Number of the cause of each, shape (n,); equally many of each.
        classes: How many causes.
        key: JAX random key.
        seeds: How many networks; each sees its own share of the flights.
        epochs: Passes over the flights.
        test: Features and labels of flights kept out of training.

    Returns:
        The networks with their score on the flights kept out (NaN without).

    Source: Cranmer, Pavez and Louppe, arXiv 1506.02169 (2015), section 2; AdamW, Loshchilov and
    Hutter, arXiv 1711.05101 (2017).
    Checked against: tests/recovery/test_weighing_network.py (problems with an exact answer).
    """
    centre = np.median(features, axis=0)
    low, high = np.quantile(features, (0.05, 0.95), axis=0)
    scale = np.maximum((high - low) / 3.29, 1e-9)  # 3.29 sigma between the 5 and 95 % of a normal
    inputs = standardise(jnp.asarray(features), centre, scale).astype(jnp.float32)
    weights = _train(
        jax.random.split(key, seeds), inputs, jnp.asarray(labels), classes=classes, epochs=epochs
    )
    network = Network(jnp.asarray(centre), jnp.asarray(scale), weights, jnp.asarray(jnp.nan))
    if test is None:
        return network
    each = np.exp(log_evidence(network, test[0])).mean(axis=0)
    score = np.log(each[np.arange(len(test[1])), test[1]]).mean()
    return Network(network.centre, network.scale, weights, jnp.asarray(score))


def log_evidence(network: Network, features: np.ndarray) -> np.ndarray:
    """ln p(features | cause) of each seed, up to a constant that all causes of a row share.

    Args:
        network: Trained.
        features: Shape (n, f).

    Returns:
        Shape (seeds, n, classes); exponentials sum to 1 over the classes.
    """
    return np.asarray(jax.nn.log_softmax(_outputs(network, jnp.asarray(features))), dtype=float)
