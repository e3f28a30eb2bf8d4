"""Many flights in one compiled program: procedures, causes, pilots and delays are numbers."""

from __future__ import annotations

import dataclasses
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from functools import partial
from typing import Any, NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
from jax import Array
from numpy.typing import NDArray

from neutralpoint.explanations.any_cause import ANY_CAUSE
from neutralpoint.explanations.flight import one_step
from neutralpoint.explanations.procedure import Timetable
from neutralpoint.explanations.setting import Setting
from neutralpoint.numerics.arrays import Floats
from neutralpoint.response.outcome import Outcome, Watch, at_the_end, cast, first_watch, look

# A step twice that of `dynamics.flight.STEP`: benchmarks/response_map.py prints the error.
MAP_STEP = 0.1
# Steps between looks at which flights are over.
CHUNK = 20
# Flights that run together in one call, so many that they stay in the cache, and calls under way
# at once, each in a thread: two cores are kept busy. benchmarks/response_map.py.
LANES, CALLS = 256, 2
TELL_EVERY = 50  # looks between two tellings
# Longest flight, s.
DURATION = 60.0
Leaf = Array | np.ndarray  # NumPy as written down, JAX within the program
Structure = Any  # of a pytree: the library's own class is a variable to a type checker


class Trials(NamedTuple):
    """What one flight has of its own; leaves (n,) for n flights, `values` (n, WIDTH).

    Args:
        number: Of the cause, see `explanations.any_cause`.
        values: Its parameters.
        settled: From when the fault does nothing new by itself, s.
        timetable: What the crew does.
        strength: Largest two-handed pull, N.
        crossover: Speed of the pitch loop, rad/s.
        delay: From eye to hand, s.
        reaction: From recognition to the first action, s.
        act_at: Time of the first action whatever was recognised, s; infinite = as recognised.
        cue_delay: Time for which the trim must have moved until a sound tells, s.
        manual_rate: Of the trim wheel, rad/s.
        nose: Which way the fault pitches: 1 lowers the nose or neither, -1 raises it.
    """

    number: Leaf
    values: Leaf
    settled: Leaf
    timetable: Timetable
    strength: Leaf
    crossover: Leaf
    delay: Leaf
    reaction: Leaf
    act_at: Leaf
    cue_delay: Leaf
    manual_rate: Leaf
    nose: Leaf


def join(parts: Sequence[Trials]) -> Trials:
    """Trials one after another.

    Args:
        parts: Each with leaves (n_i, ...).

    Returns:
        Leaves (sum n_i, ...).
    """
    return jax.tree.map(lambda *leaves: np.concatenate(leaves), *parts)


def _own(setting: Setting, trial: Trials) -> Setting:
    """The setting of one trial."""
    pilot = dataclasses.replace(
        setting.pilot,
        strength=trial.strength,
        crossover=trial.crossover,
        delay=trial.delay,
        reaction=trial.reaction,
        act_at=trial.act_at,
        works_power=0.0,  # a procedure says what is done beside the column
        adapts=0.0,
    )
    drive = dataclasses.replace(
        setting.airplane.trim_drive, manual_rate=trial.manual_rate, stops=()
    )
    return dataclasses.replace(
        setting,
        pilot=pilot,
        airplane=dataclasses.replace(setting.airplane, trim_drive=drive),
        timetable=trial.timetable,
        cue_delay=trial.cue_delay,
    )


def _packed(trials: Trials) -> tuple[Floats, Structure]:
    """All numbers of the trials as one matrix, a row for each."""
    leaves, tree = jax.tree.flatten(trials)
    return np.column_stack([np.asarray(leaf, float) for leaf in leaves]), tree


def _unpacked(row: Array, tree: Structure, width: int) -> Trials:
    """One row as a trial; `values` is the second leaf and has `width` columns."""
    leaves = [row[0], row[1 : 1 + width], *(row[i] for i in range(1 + width, len(row)))]
    return jax.tree.unflatten(tree, leaves)


@partial(jax.jit, static_argnames=("tree", "width", "step"))
def _chunk(setting, begin, rows, fresh, watches, duration, deepest, *, tree, width, step):
    """`CHUNK` steps of every lane; fresh lanes start anew."""

    def lane(row, is_fresh, watch):
        trial = _unpacked(row, tree, width)
        own = _own(setting, trial)
        watch = jax.tree.map(lambda new, old: jnp.where(is_fresh, new, old), begin, watch)

        def flown(_, watch):
            fault = {"index": trial.number, "values": trial.values}
            moved = one_step(own, ANY_CAUSE, fault, watch.carry, step=step)[0]
            after = look(own, watch, moved, trial.settled, step, nose=trial.nose)
            return jax.tree.map(lambda new, old: jnp.asarray(new, old.dtype), after, watch)

        watch = jax.lax.fori_loop(0, CHUNK, flown, watch)
        out_of_time = watch.carry.time >= duration - 0.5 * step
        outcome = at_the_end(watch, out_of_time)
        over = jnp.isfinite(outcome.recovered) | (outcome.height_lost > deepest) | out_of_time
        # A flight that is no number any more is over, and lost.
        over = over | ~jnp.isfinite(outcome.height_lost + watch.carry.state.down)
        return watch, jnp.stack(outcome), over

    return jax.vmap(lane)(rows, fresh, watches)


@jax.jit
def _first(setting: Setting) -> Watch:
    """The start that all flights have, with the types that a step hands on."""
    return jax.tree.map(lambda x: jnp.asarray(x, x.dtype), first_watch(setting))


def _take(queue: deque[int], most: int) -> list[int]:
    """The next flights; other threads take from the same queue."""
    taken: list[int] = []
    with suppress(IndexError):
        while len(taken) < most:
            taken.append(queue.popleft())
    return taken


class _Lanes:
    """Lanes that run in one call, refilled as their flights end."""

    def __init__(self, run, begin: Watch, lanes: int) -> None:
        self.run = run
        self.watches = jax.tree.map(lambda x: jnp.full((lanes, *x.shape), x), begin)
        self.flight = np.full(lanes, -1)
        self.rows: Floats | None = None
        self.result: tuple[Array, Array] | None = None

    def refill(self, rows: NDArray, queue: deque[int]) -> None:
        """Take flights off the queue for idle lanes, and fly on."""
        idle = np.flatnonzero(self.flight < 0)
        taken = _take(queue, len(idle))
        idle, fresh = idle[: len(taken)], np.zeros(len(self.flight), bool)
        # Lanes without a flight fly the first one again: all rows must hold something that flies.
        if self.rows is None:
            self.rows = np.repeat(rows[:1], len(self.flight), axis=0)
        if len(idle):
            self.flight[idle], fresh[idle] = taken, True
            self.rows = self.rows.copy()  # the call before may still read it
            self.rows[idle] = rows[taken]
        if (self.flight >= 0).any():
            self.watches, outcome, over = self.run(self.rows, fresh, self.watches)
            self.result = outcome, over
        else:
            self.result = None

    def collect(self, found: NDArray) -> None:
        """Keep the outcomes of flights that are over."""
        if self.result is None:
            return
        outcome, over = (np.asarray(x) for x in self.result)
        done = over & (self.flight >= 0)
        found[self.flight[done]] = outcome[done]
        self.flight[done] = -1


def fly_trials(
    setting: Setting,
    trials: Trials,
    *,
    deepest: float = np.inf,
    duration: float = DURATION,
    step: float = MAP_STEP,
    lanes: int = LANES,
    calls: int = CALLS,
    kind: str = "float32",
    told: Callable[[float], None] | None = None,
) -> Outcome[Floats]:
    """Fly every trial from one setting until recovered, deeper than asked about, or out of time.

    Same equations and crew as `explanations.fly`. A fixed number of lanes is refilled as flights
    end, so that nothing is compiled again for another number of flights, and no lane waits.

    Args:
        setting: Where all start.
        trials: n of them.
        deepest: Height loss beyond which a flight is over, m.
        duration: Longest flight, s.
        step: s.
        lanes: Flights that run together.
        calls: Calls under way at once.
        kind: "float64" or "float32".
        told: Told the share of the flights that is under way or over, now and then.

    Returns:
        Outcomes, NumPy leaves (n,).
    """
    rows, tree = _packed(trials)
    rows = rows.astype(kind)
    drive = dataclasses.replace(setting.airplane.trim_drive, stops=())
    setting = dataclasses.replace(
        setting, airplane=dataclasses.replace(setting.airplane, trim_drive=drive)
    )
    setting = cast(setting, kind)
    limits = np.asarray(duration, kind), np.asarray(deepest, kind)

    def run(rows, fresh, watches):
        return _chunk(
            setting,
            begin,
            rows,
            fresh,
            watches,
            *limits,
            tree=tree,
            width=trials.values.shape[-1],
            step=step,
        )

    # Start and steps are cast alike: another precision would compile the program once more.
    begin = _first(setting)
    found = np.full((len(rows), len(Outcome._fields)), np.nan)
    queue = deque(range(len(rows)))

    groups = [_Lanes(run, begin, lanes) for _ in range(calls)]
    for group in groups:  # one after the other: the first call compiles
        group.refill(rows, queue)

    def keep_flying(number: int) -> None:
        """Fly on until the queue is empty; the compiled part lets other threads run."""
        group, looks = groups[number], 0
        while group.result is not None:
            group.collect(found)
            group.refill(rows, queue)
            looks += 1
            if told is not None and number == 0 and looks % TELL_EVERY == 0:
                told(1.0 - len(queue) / max(len(rows), 1))

    # Threads suffice: the compiled part holds no lock of the interpreter.
    with ThreadPoolExecutor(calls) as pool:
        list(pool.map(keep_flying, range(calls)))
    return Outcome(*found.T)
