"""Chunks of flights of every cause, drawn and flown on the device that learns from them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import jax
import jax.numpy as jnp
import numpy as np
from jax import Array
from places import CAUSE_NAMES, Place
from scipy.special import ndtr

from neutralpoint.airplane.model import Multipliers
from neutralpoint.airplane.uncertainty import DOCUMENTED, NAMES, OFFSETS, correlation_matrix
from neutralpoint.explanations import Cause, Parameter
from neutralpoint.weighing.course import COLUMNS
from neutralpoint.weighing.every_cause import fly_every
from neutralpoint.weighing.flights import RECORD
from neutralpoint.weighing.odds import NOTHING
from neutralpoint.weighing.simulate import WIDTH, WILD
from neutralpoint.weighing.window import BEGINS, LONGEST, SHORTEST

MOST = round(LONGEST / RECORD) + 1  # records of the longest window
DRAWS = 8  # of each start in a chunk, so that the cloud of the unlisted cause is of one start
# No flight that is asked about is as documented, flown as a prior says: factor on stated standard
# deviations of the airplane, on the spread of who flies and what is meant, and on that of the
# parameters of causes. Analyst's, chosen on upsets of another simulator.
WIDER, FLOWN_BY, SPREAD = (1.0, 2.5), (0.7, 1.5), 1.2
LENGTHS = (0.75, 1.0)  # windows of one chunk over the longest in it
AIR = CAUSE_NAMES.index(NOTHING)


@jax.tree_util.register_dataclass
@dataclass(frozen=True)
class Chunk:
    """Flights of one place, cause by cause within a draw.

    Attributes:
        rows: Of `course.COLUMNS`, shape (n, MOST, 6); zeros after the window.
        cause: Number in `CAUSE_NAMES`, shape (n,).
        null: Row of the same draw on which nothing failed, shape (n,).
        start: Place of the start in the world, shape (n,).
        first: First row of the start, shape (n,); a start's rows lie together.
        each: Rows of a start, shape (n,).
        length: Of the window, s, shape (n,).
        unit: Normal scores of the cause's parameters, shape (n, WIDTH).
        good: Whether the flight and its null are sound, shape (n,).
    """

    rows: Array
    cause: Array
    null: Array
    start: Array
    first: Array
    each: Array
    length: Array
    unit: Array
    good: Array


def _multipliers(normal: Array, sigma: Array) -> Multipliers:
    """As `Uncertainty.draw`, from normal scores."""
    factor = jnp.exp(jnp.sqrt(jnp.log1p(sigma**2)) * normal)
    return Multipliers(
        **{
            name: sigma[:, i] * normal[:, i] if name in OFFSETS else factor[:, i]
            for i, name in enumerate(NAMES)
        }
    )


def _values(parameters: tuple[Parameter, ...], unit: np.ndarray, length: np.ndarray) -> np.ndarray:
    """Normal scores as values; what begins, begins within its share of the window."""
    columns = []
    for number, p in enumerate(parameters):
        share = ndtr(unit[:, number])
        value = BEGINS * length * share if p.name == "start" else p.prior.quantile(share)
        columns.append(np.asarray(value, np.float32))
    return np.stack(columns, axis=-1) if columns else np.zeros((len(unit), 0), np.float32)


class Flyer:
    """Flies chunks at one place.

    Args:
        place: Airplanes and starts.
        ordinary: Who flies, what the air does, what is meant.
        total: Flights in a chunk; what does not divide evenly is left out.
        acts: Causes, with nothing failed among them; None for those of the place.
        numbers: Theirs in `CAUSE_NAMES`, or beyond.
        each: Draws of each start in a chunk.
    """

    def __init__(
        self,
        place: Place,
        ordinary: tuple[Parameter, ...],
        total: int,
        acts: tuple[Cause, ...] | None = None,
        numbers: tuple[int, ...] = (),
        each: int = DRAWS,
    ) -> None:
        self.place, self.ordinary, self.each = place, ordinary, each
        self.acts = acts or place.acts
        self.numbers = numbers or place.causes
        self.null = self.numbers.index(AIR)
        self.starts = total // (each * len(self.acts))
        self.total = total
        self.airplanes = jax.tree.map(lambda x: jnp.asarray(x, jnp.float32), place.airplanes)
        self.open = np.array([p.prior.shape in ("normal", "lognormal") for p in ordinary])
        self.tie = np.eye(len(NAMES))
        own = [NAMES.index(name) for name in DOCUMENTED]
        self.tie[np.ix_(own, own)] = np.linalg.cholesky(correlation_matrix())
        self._fly = jax.jit(partial(_fly, self.acts))

    def draw(
        self, rng: np.random.Generator, starts: np.ndarray, told: np.ndarray, *, other: bool = False
    ) -> tuple:
        """Everything a chunk is made of, on the host.

        Args:
            rng: Source of chance.
            starts: Candidate starts to draw from.
            told: Their numbers in the world.
            other: By the other model of the airplane.

        Returns:
            For `fly`.
        """
        place, count = self.place, self.starts * self.each
        pick = rng.integers(0, len(starts), self.starts)
        start = np.repeat(starts[pick], self.each)
        longest = float(np.exp(rng.uniform(np.log(SHORTEST / LENGTHS[0]), np.log(LONGEST))))
        length = np.repeat(rng.uniform(*LENGTHS, self.starts) * longest, self.each)
        of = place.of[start]
        sigma = place.other[of] if other else place.sigma[of] * rng.uniform(*WIDER, (count, 1))
        normal = rng.standard_normal((count, len(NAMES))) @ self.tie.T
        unit = rng.standard_normal((count, len(self.acts), WIDTH)).astype(np.float32)
        meant = rng.standard_normal((count, len(self.ordinary)))
        if not other:
            meant = np.where(self.open, meant * rng.uniform(*FLOWN_BY, (count, 1)), meant)
            unit *= np.float32(SPREAD)
        air = [p.name for p in self.ordinary].index("air")
        unit[:, self.null, 0] = meant[:, air]
        values = np.zeros_like(unit)
        for number, cause in enumerate(self.acts):
            own = _values(cause.parameters, unit[:, number], length)
            values[:, number, : own.shape[1]] = own
            unit[:, number, own.shape[1] :] = 0.0
        gust = self.ordinary[air].prior.quantile(ndtr(meant[:, air]))
        values[:, self.null, 0] = gust
        ordinary = {
            p.name: np.asarray(p.prior.quantile(ndtr(meant[:, i])), np.float32)
            for i, p in enumerate(self.ordinary)
        }
        at = {name: x[start].astype(np.float32) for name, x in place.start.items()}
        where = np.repeat(told[pick], self.each)
        seed = int(rng.integers(2**31))
        records = np.int32(min(int(np.ceil(longest / RECORD)) + 1, MOST))
        return (of, sigma.astype(np.float32), normal.astype(np.float32), at, ordinary, values,
                unit, length.astype(np.float32), where, seed, records)  # fmt: skip

    def fly(self, drawn: tuple) -> Chunk:
        """Fly what was drawn; returns at once, the device works on.

        Args:
            drawn: Of `draw`.

        Returns:
            The chunk, filled up to `total` with flights that are not good.
        """
        of, sigma, normal, at, ordinary, values, unit, length, where, seed, records = drawn
        rows, good = self._fly(self.airplanes, of, sigma, normal, at, ordinary, values, length,
                               jax.random.key(seed), records)  # fmt: skip
        count, causes = unit.shape[:2]
        spare = self.total - count * causes
        row = np.arange(count * causes)
        own = self.each * causes
        null = row // causes * causes + self.null

        def full(values, fill=0):
            return jnp.asarray(np.concatenate([values, np.full(spare, fill, values.dtype)]))

        wide = np.zeros((self.total, unit.shape[2]), np.float32)
        wide[: len(row)] = unit.reshape(len(row), -1)
        return Chunk(
            rows=jnp.pad(rows, ((0, spare), (0, 0), (0, 0))),
            cause=full(np.tile(np.array(self.numbers, np.int32), count)),
            null=full(null.astype(np.int32)),
            start=full(np.repeat(where.astype(np.int32), causes)),
            first=full((row // own * own).astype(np.int32)),
            each=full(np.full(len(row), own, np.int32), 1),
            length=full(np.repeat(length, causes), np.float32(SHORTEST)),
            unit=jnp.asarray(wide),
            good=jnp.pad(good, (0, spare)),
        )


def _fly(causes, airplanes, of, sigma, normal, at, ordinary, values, length, key, records):
    """Fly and flatten: rows (n, MOST, 6) and which are good (n,)."""
    count = length.shape[0]
    draws = {
        "multipliers": _multipliers(normal, sigma),
        "start": at,
        "ordinary": ordinary,
        "duration": length,
        "key": jax.vmap(partial(jax.random.fold_in, key))(jnp.arange(count)),
    }
    own = jax.tree.map(lambda leaf: leaf[of], airplanes)
    rows = fly_every(causes, own, draws, values, count=records, most=MOST)
    sound = (jnp.abs(rows) < WILD).all(axis=(2, 3))
    null = [c.name for c in causes].index(NOTHING)
    fast = rows[..., COLUMNS.index("true_airspeed")]
    moving = ((fast > 5.0) | (jnp.arange(MOST) >= records)).all(axis=2)
    sound = sound & moving
    sound = sound & sound[:, null : null + 1]
    rows = jnp.where(sound[:, :, None, None], rows, 0.0)
    return rows.reshape(-1, MOST, len(COLUMNS)), sound.reshape(-1)
