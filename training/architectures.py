"""Three makes of one network, with the same heads, data and learning: which tells causes best?

    python training/architectures.py WORLD REPORT [--steps N] [--seed N]

*Convolutions* is what ships. *Attention* lets every knot look at every other. *Set* looks at each
knot alone, told when it is, and pools. Widths are such that each has about as many weights.
"""

from __future__ import annotations

import argparse
import pickle
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import jax
import jax.numpy as jnp
import learn
from flying import Flyer
from jax import Array

from neutralpoint.weighing.blind import OTHER_ORDINARY
from neutralpoint.weighing.shipped import (
    HIDDEN,
    WIDTH,
    body,
    gelu,
    linear,
    normed,
    pooled,
    shapes,
    told_apart,
)
from neutralpoint.weighing.wider import WIDER_ORDINARY
from neutralpoint.weighing.window import KNOTS

LAYERS, HEADS = 5, 8  # of attention; analyst's, so that weights are about as many
SET = 320  # width of the set network

Shapes = dict[str, tuple[int, ...]]


@dataclass(frozen=True)
class Make:
    """One make: shapes of its body's weights beside the heads, and the body."""

    layers: Callable[[int, int], Shapes]
    body: Callable[..., Array]


def attention(w: dict[str, Array], series: Array, context: Array, xp: object = jnp) -> Array:
    """Every knot beside every other.

    Source: Vaswani et al., arXiv 1706.03762 (2017); conditioning as in `shipped.body`.
    """
    told = told_apart(w, context, jnp)
    x = linear(w, "series", series) + w["place"]
    n = x.shape[0]
    for number in range(LAYERS):
        scale, shift = jnp.split(linear(w, f"tell{number}", told)[:, None, :], 2, axis=-1)
        h = normed(x, jnp) * (1.0 + scale) + shift
        asked = linear(w, f"early{number}", h).reshape(n, KNOTS, 3, HEADS, -1)
        q, k, v = (asked[:, :, i].transpose(0, 2, 1, 3) for i in range(3))
        share = jax.nn.softmax(q @ k.transpose(0, 1, 3, 2) / q.shape[-1] ** 0.5, axis=-1)
        seen = (share @ v).transpose(0, 2, 1, 3).reshape(n, KNOTS, WIDTH)
        x = x + linear(w, f"late{number}", seen)
        x = x + linear(w, f"late{number}b", gelu(linear(w, f"early{number}b", normed(x, jnp)), jnp))
    return pooled(w, normed(x, jnp), told, jnp)


def alone(w: dict[str, Array], series: Array, context: Array, xp: object = jnp) -> Array:
    """Each knot alone, and pooled.

    Source: deep sets, Zaheer et al., arXiv 1703.06114 (2017).
    """
    told = told_apart(w, context, jnp)
    x = linear(w, "series", series) + w["place"]
    for number in range(LAYERS):
        scale, shift = jnp.split(linear(w, f"tell{number}", told)[:, None, :], 2, axis=-1)
        h = normed(x, jnp) * (1.0 + scale) + shift
        h = gelu(linear(w, f"early{number}", h), jnp)
        x = x + linear(w, f"late{number}", h)
    return pooled(w, normed(x, jnp), told, jnp)


def _attention_layers(series: int, width: int) -> Shapes:
    found: Shapes = {"series": (series, width), "place": (KNOTS, width)}
    for number in range(LAYERS):
        found |= {
            f"tell{number}": (WIDTH, 2 * width),
            f"early{number}": (width, 3 * width),
            f"late{number}": (width, width),
            f"early{number}b": (width, 2 * width),
            f"late{number}b": (2 * width, width),
        }
    return found | {"dense": (4 * width + WIDTH, HIDDEN)}


def _set_layers(series: int, width: int) -> Shapes:
    width = SET
    found: Shapes = {"series": (series, width), "place": (KNOTS, width)}
    for number in range(LAYERS):
        found |= {
            f"tell{number}": (WIDTH, 2 * width),
            f"early{number}": (width, width),
            f"late{number}": (width, width),
        }
    return found | {"dense": (4 * width + WIDTH, HIDDEN)}


MAKES = {
    "convolutions": Make(lambda series, width: {}, body),
    "attention": Make(_attention_layers, attention),
    "set": Make(_set_layers, alone),
}


def shapes_of(make: Make, *sizes: int) -> Shapes:
    """Shapes of every weight of a make: the heads of the shipped network on another body."""
    held = shapes(*sizes)
    own = make.layers(sizes[0], WIDTH)
    if not own:
        return held
    kept = ("told.", "told2.", "dense2.", "causes.", "asking.", "parameters.")
    found = {name: shape for name, shape in held.items() if name.startswith(kept)}
    found |= {"asked": held["asked"], "place": own.pop("place")}
    for name, (a, b) in own.items():
        found |= {f"{name}.w": (a, b), f"{name}.b": (b,)}
    return found


def _weights(make: Make, seed: int, told: int) -> tuple[dict[str, Array], int]:
    found = shapes_of(make, learn.SERIES, told + learn.DATA, len(learn.CAUSE_NAMES), learn.WIDTH)
    count = sum(int(jnp.prod(jnp.array(shape))) for shape in found.values())
    return learn.drawn_weights(jax.random.key(seed), found), count


def compare(places: list, options: argparse.Namespace, say: Callable[[str], None]) -> str:
    """Learn each make on the same batches; judge all on the same blind flights."""
    world = learn.World(places)
    flyers = learn.compiled([Flyer(place, WIDER_ORDINARY, options.chunk) for place in places])
    say("flights compiled")
    chunks = learn.flights(world, flyers, options.seed, 0)
    ring = [next(chunks) for _ in range(options.ring)]
    jax.block_until_ready(ring)
    chunks.close()
    say(f"{options.ring * options.chunk} flights flown")
    judges = [Flyer(place, OTHER_ORDINARY, options.chunk) for place in places]
    for own, source in zip(judges, flyers, strict=True):
        own._fly = source._fly
    others = learn.flights(world, judges, options.seed + 1000, 2000, (2,), True)
    blind = [next(others) for _ in places]
    others.close()
    rows = []
    for name, make in MAKES.items():
        learner = learn.Learner(world.told, world.allowed, options, make.body)
        weights, count = _weights(make, options.seed, world.told.shape[1])
        learner.begin(jax.tree.map(lambda x: x[None], weights))
        begun, mark = time.perf_counter(), 0.0
        for step in range(options.steps):
            pick = [ring[(7 * step + 5 * i) % len(ring)] for i in range(options.mixed)]
            odds = learner.step(jax.random.fold_in(jax.random.key(3), step),
                                step / options.steps, pick)  # fmt: skip
            if step == 20:
                jax.block_until_ready(odds)
                mark = time.perf_counter()
        jax.block_until_ready(odds)
        rate = (options.steps - 21) / (time.perf_counter() - mark)
        score, lead = _judged(learner, blind)
        rows.append(f"| {name} | {count / 1e6:.2f} | {rate:.0f} | {score:.3f} | {lead:.1%} |")
        say(f"{rows[-1]} after {time.perf_counter() - begun:.0f} s")
    return "\n".join(rows)


def _judged(learner: learn.Learner, blind: list) -> tuple[float, float]:
    found = [learner.judge(jax.random.key(i), chunk) for i, chunk in enumerate(blind)]
    told = jnp.concatenate([jnp.asarray(f["told"], jnp.float32)[0] for f in found])
    cause = jnp.concatenate([jnp.asarray(f["cause"]) for f in found])
    cause = jnp.where(cause < 0, told.shape[1] - 1, cause)
    own = jnp.take_along_axis(told, cause[:, None], axis=1)[:, 0]
    return float(own.mean()), float((told.argmax(axis=1) == cause).mean())


def main() -> None:
    """Compare and report."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("world", type=Path)
    parser.add_argument("report", type=Path)
    parser.add_argument("--seed", type=int, default=5)
    parser.add_argument("--steps", type=int, default=2500)
    parser.add_argument("--batch", type=int, default=4096)
    parser.add_argument("--mixed", type=int, default=4)
    parser.add_argument("--chunk", type=int, default=262144)
    parser.add_argument("--ring", type=int, default=36)
    options = parser.parse_args()
    options.members, options.rate, options.begin = 1, learn.RATE, None
    begun = time.perf_counter()
    jax.config.update("jax_enable_x64", False)
    say = partial(_say, begun)
    options.report.write_text(compare(pickle.loads(options.world.read_bytes()), options, say))


def _say(begun: float, text: str) -> None:
    print(f"{time.perf_counter() - begun:7.1f} s  {text}", flush=True)


if __name__ == "__main__":
    main()
