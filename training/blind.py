"""Blind flights of this version, as the shipped networks rate them: what `nulls.py` reads.

    python training/blind.py WORLD OUT [--networks FILE] [--seed N] [--starts N] [--chunks N]

WORLD is a file of `world.py` with a seed of its own. Its airplanes are flown by another model of
the airplane and by other pilots, and seen through errors of the data.
"""

from __future__ import annotations

import argparse
import pickle
import time
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy as np
from batches import look
from flying import Flyer
from places import SPLITS, Place
from scipy.special import log_softmax

from neutralpoint.weighing.amortised import CLIPPED, FAR, Shipped, read_networks, spread_of
from neutralpoint.weighing.blind import OTHER_ORDINARY
from neutralpoint.weighing.shipped import body, tell
from neutralpoint.weighing.window import SIDEWAYS, TRACE, compressed, known_how_well

FAMILY = 100000  # more than the starts of a kind of airplane
GROUPS = 3  # of airplanes of a kind, so that a table can be judged on airplanes it has not seen
NETWORKS = Path(__file__).parents[1] / "src" / "neutralpoint" / "weighing" / "networks.npz"
AT_ONCE = 2048  # flights that are rated together
PER_CASE = ("cause", "start", "length", "factor", "gap", "allowed")


@jax.jit
def seen(key, rows, null, length):
    """What the data leave of flights.

    Args:
        key: JAX random key.
        rows: Flights, shape (n, MOST, 6).
        null: The same without what failed.
        length: Of the window, s, shape (n,).

    Returns:
        Series, context, how far the fault moved a flight, factor of the data's error, gap.
    """
    left = look(key, rows, null, length)
    series = jnp.concatenate(
        [compressed(left.clean + left.errors, jnp), known_how_well(left.told, jnp)], axis=-1
    )
    return series, left.context, left.moved, left.factor, left.gap


class Rater:
    """Networks over many flights at once."""

    def __init__(self, shipped: Shipped) -> None:
        self.shipped = shipped
        self.weights = [
            {name: jnp.asarray(x, jnp.float32) for name, x in w.items()}
            for w in self.shipped.weights
        ]
        self._tell = jax.jit(lambda w, s, c: tell(w, body(w, s, c, jnp)))

    def rate(self, series, told, context, allowed) -> np.ndarray:
        """Log evidence of each network as a study has it, shape (R, n, causes)."""
        number = np.clip((told - self.shipped.centre) / self.shipped.scale, -CLIPPED, CLIPPED)
        asked = jnp.asarray(np.concatenate([number, context], axis=-1), jnp.float32)
        turn = np.where(np.arange(series.shape[-1]) == SIDEWAYS, -1.0, 1.0).astype(np.float32)
        both = [jnp.asarray(series), jnp.asarray(series * turn)]
        logits = np.array(
            [np.mean([self._tell(w, s, asked) for s in both], axis=0) for w in self.weights]
        )
        spread = spread_of(self.shipped.temperature, self.shipped.rarer, context)
        cooled = logits / spread[:, None]
        return log_softmax(np.where(allowed, cooled, FAR), axis=-1)


def chunk(place: Place, flyer: Flyer, rng: np.random.Generator) -> dict:
    """Flights of one window's length, one start a draw, that left a trace.

    Args:
        place: Airplanes and starts.
        flyer: Flies them.
        rng: Source of chance.

    Returns:
        Arrays by name: `PER_CASE`, and what the networks are given.
    """
    usual = np.flatnonzero(place.split[place.of] != SPLITS.index("outside"))
    flown = flyer.fly(flyer.draw(rng, usual, usual, other=True))
    rows, null, start, length, cause = (
        np.asarray(getattr(flown, name)) for name in ("rows", "null", "start", "length", "cause")
    )
    key = jax.random.key(int(rng.integers(2**31)))
    series, context, moved, factor, gap = (
        np.asarray(x) for x in seen(key, rows, rows[null], length)
    )
    allowed = place.allowed[place.of[start]]
    good = np.asarray(flown.good) & ((moved >= TRACE) | (null == np.arange(len(rows))))
    found = dict(zip(PER_CASE, (cause, start, length, factor, gap, allowed), strict=True))
    found |= {"series": series, "context": context, "told": place.told[start]}
    return {name: x[good] for name, x in found.items()}


def of_kind(place: Place, number: int, options: argparse.Namespace) -> dict:
    """Chunks of one kind of airplane.

    Args:
        place: Its airplanes and starts.
        number: Of the kind.
        options: Those of the command line.

    Returns:
        Arrays as of `chunk`; "start" tells kind, group of airplanes and start.
    """
    flyer = Flyer(place, OTHER_ORDINARY, options.starts * len(place.acts), each=1)
    rngs = [np.random.default_rng([options.seed, turn, number]) for turn in range(options.chunks)]
    found = joined([chunk(place, flyer, rng) for rng in rngs])
    group = place.of[found["start"]] % GROUPS
    return found | {"start": found["start"] + FAMILY * (group + 10 * number)}


def joined(parts: list[dict]) -> dict:
    """Chunks one after the other."""
    return {
        name: np.concatenate([part[name] for part in parts], axis=int(name == "evidence"))
        for name in parts[0]
    }


def flown(options: argparse.Namespace) -> dict:
    """All flights: those that were kept, or flown now and kept where that is asked."""
    if options.flights is not None and options.flights.exists():
        with np.load(options.flights, allow_pickle=False) as held:
            return {name: held[name] for name in held.files}
    places, begun, parts = pickle.loads(options.world.read_bytes()), time.perf_counter(), []
    for number, place in enumerate(places):
        parts.append(of_kind(place, number, options))
        print(f"{time.perf_counter() - begun:6.0f} s  {place.kind}", flush=True)
    found = joined(parts)
    if options.flights is not None:
        whole = options.flights.with_suffix(".part.npz")
        np.savez(whole, **found)
        whole.replace(options.flights)
    return found


def main() -> None:
    """Fly, rate, save."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("world", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--networks", type=Path, default=NETWORKS)
    parser.add_argument("--seed", type=int, default=951)
    parser.add_argument("--starts", type=int, default=24, help="of a chunk")
    parser.add_argument("--chunks", type=int, default=20, help="of each kind of airplane")
    parser.add_argument("--flights", type=Path, help="file that flights are kept in, or taken from")
    options = parser.parse_args()
    jax.config.update("jax_enable_x64", False)
    found = flown(options)
    given = [found.pop(name) for name in ("series", "told", "context")]
    rater = Rater(read_networks(options.networks.read_bytes()))
    given.append(found["allowed"])
    cuts = range(0, len(found["cause"]), AT_ONCE)
    rated = [rater.rate(*(x[cut : cut + AT_ONCE] for x in given)) for cut in cuts]
    np.savez_compressed(options.out, **found, evidence=np.concatenate(rated, axis=1))


if __name__ == "__main__":
    main()
