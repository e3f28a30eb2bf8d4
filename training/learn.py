"""Fly and learn: the networks that tell causes apart, on one graphics card.

    python training/learn.py WORLD OUT [--members N] [--seed N] [--steps N] [--seconds S]

Flights are flown chunk by chunk from new draws and learned from while they are in memory, so that
no flight is seen often. Stopped and called again with the same OUT it goes on where it was.
"""

from __future__ import annotations

import argparse
import pickle
import time
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy as np
import optax
from batches import Batch, make_batch
from beside import Beside, drawn, read
from flying import Chunk, Flyer
from jax import Array
from off_list import NUMBERS, OFF_LIST
from places import CAUSE_NAMES, SPLITS, Place

from neutralpoint.weighing.blind import OTHER_ORDINARY
from neutralpoint.weighing.shipped import body, mixture, shapes, tell
from neutralpoint.weighing.simulate import WIDTH
from neutralpoint.weighing.wider import WIDER_ORDINARY
from neutralpoint.weighing.window import CHANNELS, TYPICAL

RATE, DECAY, WARM = 1.5e-3, 0.02, 300
KEEP = 0.999  # of the running mean of the weights, which is what ships
PARAMETERS_SHARE = 0.1  # of the loss; the odds come first
SHARE = 0.85  # of the starts that each network sees
SERIES, DATA = len(CHANNELS) + len(TYPICAL), 2 + len(TYPICAL)
FAR = -30.0  # logit of a cause that cannot act
SAVE_EVERY = 120.0  # s
LOOK_EVERY = 40.0  # s from one look at the folder of other flights to the next


def first_weights(key: Array, told: int) -> dict[str, Array]:
    """Weights of the shipped make to begin with."""
    return drawn_weights(key, shapes(SERIES, told + DATA, len(CAUSE_NAMES), WIDTH))


def drawn_weights(key: Array, wanted: dict[str, tuple[int, ...]]) -> dict[str, Array]:
    """Weights of some shapes to begin with: He's, small where a residual block ends."""
    found = {}
    for number, (name, shape) in enumerate(wanted.items()):
        own = jax.random.fold_in(key, number)
        if name.endswith(".b"):
            found[name] = jnp.zeros(shape)
        elif name in ("place", "asked"):
            found[name] = 0.1 * jax.random.normal(own, shape)
        else:
            small = 0.1 if name.startswith(("late", "tell", "causes", "parameters")) else 1.0
            found[name] = small * jax.random.normal(own, shape) * (1.5 / shape[0]) ** 0.5
    return found


def _hidden(make, w, series, context):
    """What a network makes of rows, worked out in half precision."""
    low = {name: x.astype(jnp.bfloat16) for name, x in w.items()}
    hidden = make(low, series.astype(jnp.bfloat16), context.astype(jnp.bfloat16), jnp)
    return hidden.astype(jnp.float32)


def _loss(make, w, series, context, batch: Batch, allowed, share):
    """Cross entropy of the cause, and likelihood of its parameters."""
    hidden = _hidden(make, w, series, context)
    logits = jnp.where(allowed, tell(w, hidden), FAR)
    cause = jnp.where(batch.cause < 0, len(CAUSE_NAMES) - 1, batch.cause)
    score = jnp.take_along_axis(jax.nn.log_softmax(logits), cause[:, None], axis=1)[:, 0]
    part, mean, spread = mixture(w, hidden, cause, jnp)
    apart = (batch.unit[:, None, :] - mean) * jnp.exp(-spread)
    each = part + jnp.sum(-0.5 * apart**2 - spread, axis=-1)
    fitted = jax.scipy.special.logsumexp(each, axis=-1) * (batch.cause >= 0)
    weight = batch.weight * share
    total = jnp.maximum(weight.sum(), 1.0)
    odds = -(weight * score).sum() / total
    return odds - PARAMETERS_SHARE * (weight * fitted).sum() / total, odds


def _beside_loss(make, w, series, context, fits, allowed):
    """Cross entropy of the causes that fit a flight of others."""
    told = jax.nn.log_softmax(jnp.where(allowed, tell(w, _hidden(make, w, series, context)), FAR))
    return -jax.scipy.special.logsumexp(jnp.where(fits, told, FAR), axis=1).mean()


def _shares(start: Array, members: int) -> Array:
    """Which starts each network learns from, by their number alone, shape (members, n)."""
    keys = jax.vmap(lambda m: jax.random.fold_in(jax.random.key(77), m))(jnp.arange(members))
    draw = jax.vmap(
        lambda key: jax.vmap(lambda s: jax.random.uniform(jax.random.fold_in(key, s)))(start)
    )
    return (draw(keys) < SHARE).astype(jnp.float32)


def learned(path: Path, members: int) -> dict[str, Array]:
    """Weights of a file of `export` to go on from, each of shape (members, ...)."""
    with np.load(path, allow_pickle=False) as held:
        return {
            name.removeprefix("weights."): jnp.asarray(held[name][:members], jnp.float32)
            for name in held.files
            if name.startswith("weights.")
        }


class Learner:
    """Networks of one run with what moves them."""

    def __init__(self, told: np.ndarray, allowed: np.ndarray, options, make=body) -> None:
        self.make, self.rate = make, options.rate
        self.told, self.allowed = jnp.asarray(told), jnp.asarray(allowed)
        self.members, self.size = options.members, options.batch
        self.rule = optax.chain(
            optax.clip_by_global_norm(1.0),
            optax.scale_by_adam(b2=0.99),
            optax.add_decayed_weights(DECAY),
        )
        keys = jax.random.split(jax.random.key(options.seed), self.members)
        if options.begin is None:
            self.begin(jax.vmap(partial(first_weights, told=told.shape[1]))(keys))
        else:
            self.begin(learned(options.begin, self.members))
        self.done, self.spent = 0, 0.0  # batches, and s of learning
        self._step = jax.jit(self._move, donate_argnums=0)
        self._tell = jax.jit(self._outputs)

    def begin(self, weights: dict[str, Array]) -> None:
        """Begin to learn from some weights, each of shape (members, ...)."""
        mean = jax.tree.map(jnp.array, weights)  # of its own, for what moves is given away
        self.state = (weights, jax.vmap(self.rule.init)(weights), mean)

    def inputs(self, batch: Batch) -> tuple[Array, Array]:
        """Context of a batch, and which causes can act."""
        return (
            jnp.concatenate([self.told[batch.start], batch.context], axis=-1),
            self.allowed[batch.start],
        )

    def _move(self, state, key, rate, chunks: list[Chunk], beside: Beside | None):
        weights, moving, mean = state
        parts = [
            make_batch(jax.random.fold_in(key, i), chunk, self.size // len(chunks), amiss=True)
            for i, chunk in enumerate(chunks)
        ]
        batch = jax.tree.map(lambda *leaves: jnp.concatenate(leaves), *parts)
        context, allowed = self.inputs(batch)
        others = None if beside is None else drawn(jax.random.fold_in(key, len(chunks)), beside)

        def total(w, share):
            own, odds = _loss(self.make, w, batch.series, context, batch, allowed, share)
            if others is None:
                return own, (odds, jnp.nan * odds)
            theirs = _beside_loss(self.make, w, *others)
            return (1.0 - beside.share) * own + beside.share * theirs, (odds, theirs)

        def one(w, m, share):
            slope, odds = jax.grad(total, has_aux=True)(w, share)
            change, m = self.rule.update(slope, m, w)
            return jax.tree.map(lambda a, b: a - rate * b, w, change), m, odds

        weights, moving, odds = jax.vmap(one)(weights, moving, _shares(batch.start, self.members))
        mean = jax.tree.map(lambda a, b: KEEP * a + (1.0 - KEEP) * b, mean, weights)
        return (weights, moving, mean), tuple(x.mean() for x in odds)

    def step(
        self, key: Array, share: float, chunks: list[Chunk], beside: Beside | None = None
    ) -> tuple[Array, Array]:
        """Learn from rows of some chunks; `share` of the learning is done.

        Returns cross entropy of own flights and of those of others, not a number without any.
        """
        warm = min((self.done + 1) / WARM, 1.0)
        rate = self.rate * warm * (0.01 + 0.99 * 0.5 * (1.0 + np.cos(np.pi * min(share, 1.0))))
        self.state, odds = self._step(self.state, key, jnp.float32(rate), chunks, beside)
        self.done += 1
        return odds

    def _outputs(self, weights, key, chunk: Chunk):
        batch = make_batch(key, chunk, self.size)
        context, allowed = self.inputs(batch)
        cause = jnp.where(batch.cause < 0, len(CAUSE_NAMES) - 1, batch.cause)
        cause = jnp.minimum(cause, len(CAUSE_NAMES) - 1)  # what is off the list is unlisted

        def one(w):
            hidden = self.make(w, batch.series, context, jnp)
            logits = jnp.where(allowed, tell(w, hidden), FAR)
            part, mean, spread = mixture(w, hidden, cause, jnp)
            below = jax.scipy.stats.norm.cdf((batch.unit[:, None] - mean) * jnp.exp(-spread))
            return jax.nn.log_softmax(logits), (jnp.exp(part)[..., None] * below).sum(axis=1)

        told, rank = jax.vmap(one)(weights)
        return batch, told, rank.mean(axis=0)

    def judge(self, key: Array, chunk: Chunk) -> dict[str, np.ndarray]:
        """What the mean weights say of blind rows that left a trace."""
        batch, told, rank = self._tell(self.state[2], key, chunk)
        there = np.flatnonzero(np.asarray(batch.weight) > 0)
        return {
            "told": np.asarray(told)[:, there].astype(np.float16),
            "rank": np.asarray(rank)[there].astype(np.float16),
            **{
                name: np.asarray(getattr(batch, name))[there]
                for name in ("cause", "start", "length", "factor", "gap")
            },
            "window": np.asarray(batch.context)[there, 1].astype(np.float16),
        }

    def save(self, path: Path) -> None:
        """Everything that is needed to go on."""
        fresh = path.with_suffix(".new")
        fresh.write_bytes(pickle.dumps((self.done, self.spent, jax.device_get(self.state))))
        fresh.replace(path)

    def load(self, path: Path) -> None:
        """Go on from what was saved."""
        self.done, self.spent, state = pickle.loads(path.read_bytes())
        self.state = jax.tree.map(jnp.asarray, state)


class World:
    """Places with their starts, numbered through."""

    def __init__(self, places: list[Place], begin: Path | None = None) -> None:
        self.places = places
        told = np.concatenate([place.told for place in places])
        ends = np.cumsum([len(place.of) for place in places])
        self.number = [
            np.arange(end - len(place.of), end) for end, place in zip(ends, places, strict=True)
        ]
        self.split = np.concatenate([place.split[place.of] for place in places])
        self.kind = np.repeat(np.arange(len(places)), [len(place.of) for place in places])
        self.allowed = np.concatenate([place.allowed[place.of] for place in places])
        train = self.split == 0
        self.centre = told[train].mean(axis=0)
        self.scale = np.maximum(told[train].std(axis=0), 0.05)
        if begin is not None:  # what is gone on from was told numbers on its own scale
            with np.load(begin, allow_pickle=False) as held:
                self.centre, self.scale = held["centre"].astype(float), held["scale"].astype(float)
        self.told = np.clip((told - self.centre) / self.scale, -6.0, 6.0).astype(np.float32)

    def of_split(self, place: int, splits: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray]:
        """Starts of a place in some splits: among its own, and in the world."""
        number = self.number[place]
        mine = np.isin(self.split[number], splits)
        return np.flatnonzero(mine), number[mine]


def flights(world: World, flyers: list[Flyer], seed: int, begin: int, splits=(0, 2), other=False):
    """Draws for chunks, one after the other, made on the host while the device works."""
    with ThreadPoolExecutor(4) as pool:

        def draw(number):
            place = number % len(flyers)
            rng = np.random.default_rng([seed, number, other])
            starts, told = world.of_split(place, splits)
            return place, flyers[place].draw(rng, starts, told, other=other)

        waiting = [pool.submit(draw, begin + i) for i in range(8)]
        number = begin + 8
        while True:
            place, drawn = waiting.pop(0).result()
            waiting.append(pool.submit(draw, number))
            number += 1
            yield flyers[place].fly(drawn)


def compiled(flyers: list[Flyer]) -> list[Flyer]:
    """Compile every structure at once."""

    def one(flyer: Flyer) -> None:
        some = np.arange(len(flyer.place.of))
        drawn = flyer.draw(np.random.default_rng(0), some, some)
        args = (*drawn[:6], drawn[7])
        flyer._fly = flyer._fly.lower(
            flyer.airplanes, *args, jax.random.key(0), drawn[10]
        ).compile()

    with ThreadPoolExecutor(len(flyers)) as pool:
        list(pool.map(one, flyers))
    return flyers


def learn(world: World, flyers: list[Flyer], learner: Learner, options, say, kept: Path) -> None:
    """Fly and learn in turns until the steps, or the seconds, are spent."""
    mark = saved = time.perf_counter()
    before, begun = learner.spent, mark
    least = max(options.mixed, 2 * len(flyers))
    chunks = flights(world, flyers, options.seed, learner.done // options.turns * 2)
    ring = [next(chunks) for _ in range(least // 2)]
    jax.block_until_ready(ring)
    middle = time.perf_counter()
    ring += [next(chunks) for _ in range(least - least // 2)]
    jax.block_until_ready(ring)
    fast = (least - least // 2) * options.chunk / (time.perf_counter() - middle)
    say(f"first {least * options.chunk} flights, the second half {fast:.0f} a second")
    rng = np.random.default_rng([options.seed, 9, learner.done])
    flown, beside, looked = least, None, -np.inf
    until = min(options.seconds, before + options.pause)
    while learner.done < options.steps and learner.spent < until:
        if learner.done % options.turns == 0:
            ring.append(next(chunks))
            flown += 1
            if len(ring) > options.ring:
                ring.pop(0)
        if options.beside and time.perf_counter() - looked > LOOK_EVERY:
            beside = read(options.beside, world.centre, world.scale, options.beside_share)
            looked = time.perf_counter()
        picked = rng.choice(len(ring), options.mixed, replace=False)
        key = jax.random.fold_in(jax.random.key(options.seed), learner.done)
        share = max(learner.done / options.steps, learner.spent / options.seconds)
        odds = learner.step(key, share, [ring[i] for i in picked], beside)
        if learner.done % 20 == 0:
            jax.block_until_ready(odds)  # the clock is that of the card
        learner.spent = before + time.perf_counter() - begun
        if learner.done % 100 == 0:
            loss, theirs = (float(x) for x in odds)
            rate = 100 / (time.perf_counter() - mark)
            mark = time.perf_counter()
            say(
                f"{learner.done} steps, {flown * options.chunk} flights, odds {loss:.3f}, "
                f"of others {theirs:.3f}, "
                f"{rate:.1f} steps/s, {rate * options.chunk / options.turns:.0f} flights/s"
            )
        if time.perf_counter() - saved > SAVE_EVERY:
            learner.save(kept)
            saved = time.perf_counter()
    chunks.close()


def blind(world: World, learner: Learner, options) -> dict[str, np.ndarray]:
    """Blind cases of the other model: other derivatives, other pilots, rougher air."""
    found = []
    flyers = [Flyer(place, OTHER_ORDINARY, options.chunk) for place in world.places]
    for own, source in zip(flyers, options.flyers, strict=True):
        own._fly = source._fly
    for splits in ((2,), (1,), (3,)):
        chunks = flights(world, flyers, options.seed + 1000, splits[0] * 1000, splits, True)
        for number in range(len(flyers) * options.blind):
            found.append(learner.judge(jax.random.key(number + 5), next(chunks)))
        chunks.close()
    options.compiling.result()
    for place, own in enumerate(options.off_list):
        starts, told = world.of_split(place, (1, 2))
        drawn = own.draw(np.random.default_rng(5 + place), starts, told, other=True)
        found.append(learner.judge(jax.random.key(place), own.fly(drawn)))
    return {
        name: np.concatenate([each[name] for each in found], axis=1 if name == "told" else 0)
        for name in found[0]
    } | {"split": world.split, "kind": world.kind}


def score(found: dict[str, np.ndarray]) -> str:
    """Mean log score of the networks together, by split."""
    each = np.exp(found["told"].astype(float)).mean(axis=0)
    cause = np.where(found["cause"] < 0, each.shape[1] - 1, found["cause"])
    there = cause < each.shape[1]
    each, cause = each[there], cause[there]
    chance = 0.98 * each[np.arange(len(cause)), cause] + 0.02 / each.shape[1]
    split = found["split"][found["start"][there]]
    return "; ".join(
        f"{name}: {np.log(chance[split == i]).mean():.3f} of {(split == i).sum()}, "
        f"leads {(each.argmax(axis=1) == cause)[split == i].mean():.3f}, "
        f"below 1 % {(chance[split == i] < 0.01).mean():.4f}"
        for i, name in enumerate(SPLITS)
        if (split == i).any()
    )


def export(world: World, learner: Learner, path: Path) -> None:
    """Mean weights in half precision, with what is told of a start and how it is scaled."""
    weights = jax.device_get(learner.state[2])
    rows = np.random.default_rng(0).permutation(np.flatnonzero(world.split == 0))[:2500]
    np.savez(
        path,
        **{f"weights.{name}": np.asarray(x, np.float16) for name, x in weights.items()},
        centre=world.centre.astype(np.float32),
        scale=world.scale.astype(np.float32),
        near=world.told[rows].astype(np.float16),
        held=world.told[world.split == 1].astype(np.float16),
        far=world.told[world.split == 3].astype(np.float16),
        causes=np.array([str(name) for name in CAUSE_NAMES]),
    )


def run(places: list[Place], flyers: list[Flyer], options, say) -> None:
    """Learn, save and judge."""
    world = World(places, options.begin)
    say(f"{len(world.told)} starts, {world.told.shape[1]} numbers each")
    options.flyers = flyers
    options.off_list = [
        Flyer(place, OTHER_ORDINARY, options.chunk // 4, OFF_LIST, NUMBERS) for place in places[:3]
    ]
    options.compiling = ThreadPoolExecutor(1).submit(compiled, options.off_list)
    learner = Learner(world.told, world.allowed, options)
    kept = options.out / "state.pkl"
    if kept.exists():
        learner.load(kept)
    learn(world, flyers, learner, options, say, kept)
    jax.block_until_ready(learner.state)
    learner.save(kept)
    export(world, learner, options.out / "networks.npz")
    say("saved")
    if learner.done < options.steps and learner.spent < options.seconds:
        return  # a pause: call again
    found = blind(world, learner, options)
    np.savez_compressed(options.out / "blind.npz", **found)
    say(score(found))


def arguments() -> argparse.Namespace:
    """Those of the command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("world", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--members", type=int, default=5)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--steps", type=int, default=20000)
    parser.add_argument("--batch", type=int, default=4096)
    parser.add_argument("--mixed", type=int, default=4, help="chunks that a batch comes from")
    parser.add_argument("--chunk", type=int, default=262144, help="flights flown at once")
    parser.add_argument("--ring", type=int, default=40, help="chunks kept in memory")
    parser.add_argument("--turns", type=int, default=40, help="batches a chunk that is flown")
    parser.add_argument("--blind", type=int, default=1, help="blind chunks a place and split")
    parser.add_argument("--seconds", type=float, default=1e9, help="that all learning may take")
    parser.add_argument("--rate", type=float, default=RATE, help="of learning, at most")
    parser.add_argument("--begin", type=Path, help="networks to go on from, all members of them")
    parser.add_argument("--beside", type=Path, help="folder of flights of others, beside.py")
    parser.add_argument("--beside-share", type=float, default=0.25, help="of the loss")
    parser.add_argument("--pause", type=float, default=1e9, help="s after which this call ends")
    options = parser.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    return options


def main() -> None:
    """Fly, learn, save, judge."""
    options, begun = arguments(), time.perf_counter()

    def say(text: str) -> None:
        print(f"{time.perf_counter() - begun:7.1f} s  {text}", flush=True)

    jax.config.update("jax_enable_x64", False)  # single precision: see the README
    places = pickle.loads(options.world.read_bytes())
    flyers = compiled([Flyer(place, WIDER_ORDINARY, options.chunk) for place in places])
    say("flights compiled")
    run(places, flyers, options, say)


if __name__ == "__main__":
    main()
