"""Odds of blind flights of this project, seen by a track and worked out by the smoother.

    PYTHONPATH=src:benchmarks:training python benchmarks/through_smoother.py WORLD
        [--seed N] [--count N] [--workers N] [--radar SHARE] [--stated] [--kept FILE] [--out FILE]

WORLD is a file of training/world.py with a seed of its own. Its airplanes are flown by another
model of the airplane and by other pilots, as in training/blind.py; what the blind flights there
leave out is here: a record with a minute of ordinary flying before, the sensors of
`six_degrees_seen.py`, and the smoother, by the functions of a study.
"""

from __future__ import annotations

import argparse
import pickle
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import jax
import numpy as np
from as_a_study import look
from flying import Flyer
from onset_truth import PLAIN, VISIBLE, departure
from places import CAUSE_NAMES, SPLITS, Place
from six_degrees_seen import SYSTEMS, System, Told, drawn_system, motion_of, seen
from through_smoother_report import Judged, report

from neutralpoint.airplane.model import Airplane
from neutralpoint.airplane.uncertainty import NAMES
from neutralpoint.errors import NeutralPointError
from neutralpoint.moments import Window
from neutralpoint.motion import Motion
from neutralpoint.quantities import GRAVITY
from neutralpoint.study.weighing.windows import mixed, over_windows
from neutralpoint.weighing.blind import OTHER_ORDINARY
from neutralpoint.weighing.course import COLUMNS
from neutralpoint.weighing.flights import RECORD
from neutralpoint.weighing.mechanism import grouped_prior
from neutralpoint.weighing.odds import NOTHING, UNLISTED
from neutralpoint.weighing.simulate import flyable
from neutralpoint.weighing.weigh import reweigh

RESULTS = Path(__file__).parent / "results" / "through_smoother.md"
PATHS, STEP = 32, 0.1  # sample paths of a motion; s between the values that sensors read
BEFORE = (45.0, 100.0)  # s of ordinary flying before the window
CHUNK = 384  # flights that are flown at once, of every cause
LENGTHS = ((25.0, "window 10 to 25 s"), (60.0, "window 25 to 60 s"), (1e9, "window 60 to 120 s"))
N, _, BANK, SPEED, PATH, HEIGHT = range(len(COLUMNS))


@dataclass(frozen=True)
class Task:
    """A flight to be seen and asked about.

    Attributes:
        rows: Of `COLUMNS`, every `RECORD` of the window, shape (m, 6).
        quiet: The same flight with nothing failed.
        cause: What failed.
        airplane: As documented.
        sigma: Of its multipliers, by name.
        start: Of the steady flight, by name.
        split: Of the airplane in the world.
        rough: Gusts, m/s.
        seed: Of the errors.
        radar: Chance that a radar sees it; None where systems are as common as they are.
        stated: Whether it is asked with its window stated only.
    """

    rows: np.ndarray
    quiet: np.ndarray
    cause: str
    airplane: Airplane
    sigma: dict[str, float]
    start: dict[str, float]
    split: str
    rough: float
    seed: tuple[int, ...]
    radar: float | None = None
    stated: bool = False


def _tasks(place: Place, number: int, seed: int) -> Iterator[Task]:
    """Flights of one kind of airplane, one cause a draw at random, that left a trace."""
    flyer, turn = Flyer(place, OTHER_ORDINARY, CHUNK, each=1), 0
    every = np.arange(len(place.of))
    while True:
        rng = np.random.default_rng([seed, number, turn])
        drawn = flyer.draw(rng, every, every, other=True)
        flown = flyer.fly(drawn)
        rows, null, start, length, cause, good = (
            np.asarray(getattr(flown, name))
            for name in ("rows", "null", "start", "length", "cause", "good")
        )
        order = rng.permutation(len(rows))
        _, firsts = np.unique(null[order], return_index=True)
        for draw in np.argsort(firsts):
            k = order[firsts[draw]]
            last = int(length[k] / RECORD)
            pair = rows[k, : last + 1].astype(float), rows[null[k], : last + 1].astype(float)
            of = int(place.of[start[k]])
            acts = bool(place.allowed[of, cause[k]])
            if not good[k] or not acts or (k != null[k] and not _shows(*pair)):
                continue
            yield Task(
                *pair,
                CAUSE_NAMES[cause[k]],
                jax.tree.map(lambda leaf, of=of: leaf[of], place.airplanes),
                dict(zip(NAMES, place.sigma[of], strict=True)),
                {name: float(x[start[k]]) for name, x in place.start.items()},
                SPLITS[place.split[of]],
                float(drawn[4]["air"][draw]),
                (seed, number, turn, int(k)),
            )
        turn += 1


def _shows(rows: np.ndarray, quiet: np.ndarray) -> bool:
    """Whether the fault moved the flight as far as the judges of this project ask."""
    place = dict(zip(VISIBLE, (PATH, BANK, SPEED, N), strict=True))
    pair = [{name: each[:, column] for name, column in place.items()} for each in (rows, quiet)]
    return departure(RECORD * np.arange(len(rows)), *pair)[1] >= PLAIN


def _record(task: Task, before: float) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """What the sensors look at: ordinary flying, then the window.

    The ordinary part is the flight without its fault, run backwards from the start: as restless,
    and joined without a step.
    """
    lead = task.quiet[1:][::-1]
    need = int(before / RECORD)
    while len(lead) < need:
        lead = np.concatenate([task.quiet[1:][::-1], task.quiet[1:], lead])
    rows = np.concatenate([lead[-need:], task.rows])
    clock = RECORD * np.arange(len(rows))
    fine = np.arange(0.0, clock[-1], STEP)
    bank = np.interp(fine, clock, np.unwrap(rows[:, BANK]))
    speed, path, load = (np.interp(fine, clock, rows[:, k]) for k in (SPEED, PATH, N))
    across = np.maximum(np.cos(path), 0.1)
    heading = _summed(GRAVITY * load * np.sin(bank) / (speed * across))
    height = np.interp(fine, clock, rows[:, HEIGHT])
    begun = int(need * RECORD / STEP)
    climb = _summed(speed * np.sin(path))
    height[:begun] = height[begun] + climb[:begun] - climb[begun]
    return fine, {
        "north": _summed(speed * np.cos(path) * np.cos(heading)),
        "east": _summed(speed * np.cos(path) * np.sin(heading)),
        "height": height,
        "path": path,
        "bank": bank,
        "speed": speed,
        "load": load,
    }


def _summed(rate: np.ndarray) -> np.ndarray:
    return np.concatenate([[0.0], np.cumsum(0.5 * STEP * (rate[1:] + rate[:-1]))])


def _system(task: Task, rng: np.random.Generator) -> System:
    """What looks on; of the two with a fix a second the finer one in three of five."""
    if task.radar is None:
        return drawn_system(rng)
    if rng.random() < task.radar:
        return SYSTEMS[2]
    return SYSTEMS[int(rng.random() < 0.4)]


def work_out(task: Task) -> tuple[Told, Motion, float] | None:
    """See and work out one flight: what was told, its motion, begin of the window, s."""
    rng = np.random.default_rng(task.seed)
    system = _system(task, rng)
    before = RECORD * int(rng.uniform(*BEFORE) / RECORD)
    clock, values = _record(task, before)
    described = SimpleNamespace(
        airplane=task.airplane, uncertainty=SimpleNamespace(sigma=task.sigma)
    )
    air = task.start["temperature_offset"], task.start["flap"] > 0.0
    told = seen(clock, values, described, system, air, rng)  # type: ignore[arg-type]
    motion = motion_of(told, rng, PATHS, task.cause)
    return None if motion is None else (told, motion, before)


def judged(task: Task) -> list[Judged]:
    """Odds of one flight, its window stated and left to the program; none where it has none."""
    worked = work_out(task)
    if worked is None:
        return []
    told, motion, before = worked
    looked = look(motion)
    names = (*(cause.name for cause in flyable(task.airplane)), UNLISTED)
    inquiry = looked.inquiry(names, flap=task.start["flap"], gear=task.start["gear"])
    stated = [Window(before, float(motion.time[-1]), 1.0)]
    found = []
    left = () if task.stated else (("left", looked.windows()),)
    for label, windows in (("stated", stated), *left):
        try:
            runs = mixed(over_windows(inquiry, task.airplane, windows))
        except NeutralPointError as error:
            print(f"not asked: {task.cause}: {error.code}", flush=True)
            return []
        equal = reweigh(names, grouped_prior(names, None), runs).probability
        even = reweigh(names, grouped_prior(names, 0.5), runs).probability
        found.append(
            Judged(
                label,
                task.cause,
                (
                    told.system.label,
                    "rough air" if task.rough >= 1.0 else "light gusts",
                    "airplane outside the family"
                    if task.split == "outside"
                    else "airplane of the family",
                    next(word for most, word in LENGTHS if RECORD * len(task.rows) < most),
                ),
                names,
                np.asarray(equal),
                float(even[names.index(NOTHING)]),
            )
        )
    return found


def several(tasks: list[Task]) -> list[Judged]:
    """Work of one process."""
    return [one for task in tasks for one in judged(task)]


def asked(about: str, *, seed: int, count: int, radar: float | None, results: Path):
    """Options of a benchmark on such flights, to which others may be added."""
    parser = argparse.ArgumentParser(description=about)
    parser.add_argument("world", type=Path)
    parser.add_argument("--seed", type=int, default=seed)
    parser.add_argument("--count", type=int, default=count, help="flights to see")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--radar", type=float, default=radar, help="share that a radar sees")
    parser.add_argument("--kept", type=Path, help="file that answers are kept in, or taken from")
    parser.add_argument("--out", type=Path, default=results)
    return parser


def kept_or(options: argparse.Namespace, work: Callable[[argparse.Namespace], Any]) -> Any:
    """What was kept, or what the work gives."""
    if options.kept and options.kept.exists():
        return pickle.loads(options.kept.read_bytes())
    return work(options)


def drawn_tasks(options: argparse.Namespace) -> Iterator[list[Task]]:
    """As many flights of each kind of airplane as are wanted."""
    places = pickle.loads(options.world.read_bytes())
    each = -(-options.count // len(places))
    for number, place in enumerate(places):
        drawn = _tasks(place, number, options.seed)
        yield [replace(next(drawn), radar=options.radar) for _ in range(each)]
        print(f"{place.kind.base}: {each} flights flown", flush=True)


def main() -> None:
    """Fly, see, ask, write."""
    about = __doc__.splitlines()[0]
    parser = asked(about, seed=8101, count=600, radar=None, results=RESULTS)
    parser.add_argument("--stated", action="store_true", help="ask with the window stated only")
    options = parser.parse_args()
    options.out.write_text(report(kept_or(options, _all), options.seed))


def _all(options: argparse.Namespace) -> list[Judged]:
    """Every flight seen and asked, in processes of their own."""
    of_kinds = list(drawn_tasks(options))
    lots = []
    for tasks in of_kinds:
        tasks = [replace(task, stated=options.stated) for task in tasks]
        share = -(-len(tasks) // max(options.workers // len(of_kinds), 1))
        lots += [tasks[k : k + share] for k in range(0, len(tasks), share)]
    found: list[Judged] = []
    with ProcessPoolExecutor(options.workers, mp_context=get_context("spawn")) as pool:
        for answers in pool.map(several, lots):
            found += answers
            print(f"{len(found)} answers", flush=True)
            if options.kept:
                options.kept.write_bytes(pickle.dumps(found))
    return found


if __name__ == "__main__":
    main()
