"""Where an onset is stated: odds from the last steady flight before it, or from earlier ones too.

    PYTHONPATH=src:benchmarks:training python benchmarks/stated_onset.py
        [--world WORLD] [--seeds N N N] [--count N] [--kept FILE ...] [--out FILE]

A stated onset is the motion's. What caused it may have begun before, hidden by an autopilot or by
hands; then the last steady flight before the onset is no flight before the fault. Three kinds of
flights with a fault are seen, worked out by the smoother and asked of the shipped networks: upsets
of `upset_flights.py`, a rigid airplane of `six_degrees_flights.py`, and, where WORLD is given (a
file of training/world.py with a seed of its own), flights of this project's own equations. Compared
are the odds counted from one reference, from all that `fault_begin` holds likely, and with the
onset left to the program.
"""

from __future__ import annotations

import argparse
import pickle
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
from as_a_study import Looked, look
from onset_odds import FITTING
from onset_odds import worked_out as upsets
from onset_truth import VISIBLE, departure
from scipy.special import logsumexp
from six_degrees_airframe import load
from six_degrees_flights import fly
from six_degrees_odds import worked_one
from through_smoother import BANK, PATH, RECORD, SPEED, N, drawn_tasks, work_out

from neutralpoint.airplane.model import Airplane
from neutralpoint.moments import Reference, Window, compared_windows, last_trimmed, references
from neutralpoint.motion import fault_begin
from neutralpoint.motion.onset import stated
from neutralpoint.study.weighing.windows import over_windows
from neutralpoint.weighing.mechanism import grouped_prior
from neutralpoint.weighing.odds import NOTHING, UNLISTED
from neutralpoint.weighing.simulate import flyable
from neutralpoint.weighing.weigh import reweigh

RESULTS = Path(__file__).parent / "results" / "stated_onset.md"
ARMS = ("one reference", "earlier ones too", "left to the program")
LOT = 26  # upsets flown at once, of which a third are plain
Ask = Callable[..., Any]
KINDS = ("upsets of another simulator", "a rigid airplane of a third", "this project's own")


@dataclass(frozen=True)
class Asked:
    """A flight asked of the networks.

    Attributes:
        of: Which kind of flight, of `KINDS`.
        strata: What it was seen with, who flew.
        names: Causes asked of, the unlisted one last.
        fitting: Those that fit what was done.
        runs: By arm, weight of each window and ln p(track | cause) of each network, (R, C).
    """

    of: str
    strata: tuple[str, ...]
    names: tuple[str, ...]
    fitting: tuple[str, ...]
    runs: dict[str, list[tuple[float, np.ndarray]]]

    def given(self, arm: str) -> float:
        """Probability of the causes that fit, with the prior of a case that states none."""
        weight = np.array([weight for weight, _ in self.runs[arm]])
        every = np.stack([runs for _, runs in self.runs[arm]])
        runs = logsumexp(every, axis=0, b=(weight / weight.sum())[:, None, None])
        odds = reweigh(self.names, grouped_prior(self.names, None), runs)
        told = dict(zip(self.names, odds.probability, strict=True))
        return float(sum(told.get(cause, 0.0) for cause in self.fitting))


def earlier_ones(seen: Looked, onset: float) -> list[Window]:
    """Windows from all references that may be the last before the fault, as a study counts."""
    begun = fault_begin(stated(onset))
    several = references(seen.flight, begun.time, begun.weight)
    return compared_windows(several, onset, seen.last)


def asked(
    motion: Any, airplane: Airplane, onset: float, place: tuple[float, float], **what: Any
) -> Asked:
    """Ask of one flight in every arm; `place` is flap and gear."""
    seen = look(motion)
    names = (*(cause.name for cause in flyable(airplane)), UNLISTED)
    inquiry = seen.inquiry(names, *place)
    trimmed = last_trimmed(seen.flight, onset)
    one = [Reference(trimmed, float(seen.flight.time[trimmed][-1]), 1.0, 0.0)]

    def of(windows: list[Window]) -> list[tuple[float, np.ndarray]]:
        every = over_windows(inquiry, airplane, windows)
        return [(each.window.weight, np.asarray(each.runs)) for each in every]

    windows = (
        compared_windows(one, onset, seen.last),
        earlier_ones(seen, onset),
        seen.windows(),
    )
    runs = {arm: of(each) for arm, each in zip(ARMS, windows, strict=True)}
    return Asked(names=names, runs=runs, **what)


def of_upsets(seed: int, ask: Ask = asked) -> Iterator[Any]:
    """Upsets of a point mass with a short period."""
    lot = 0
    while True:
        for each in upsets(1000 * seed + lot, LOT):
            told = {"strata": each.strata, "fitting": FITTING[each.kind]}
            yield ask(each, each.airplane, each.onset, (0.0, 0.0), of=KINDS[0], **told)
        lot += 1


def of_rigid(seed: int, ask: Ask = asked, *, every: bool = False) -> Iterator[Any]:
    """Flights in six degrees of freedom with a fault of the list, or with anything or nothing."""
    described, batch = load(), 0
    rng = np.random.default_rng([seed, 1])
    while True:
        flown = fly(1000 * seed + batch, 100, described)
        for k in np.flatnonzero(np.isfinite(flown.begin) | every):
            each = worked_one(flown, int(k), described[flown.names[k]], rng)
            if each is None or not each.fitting or (each.fitting == (UNLISTED,) and not every):
                continue
            told = {"strata": each.strata, "fitting": tuple(each.fitting)}
            if set(told["fitting"]) & {*(c.name for c in flyable(each.airplane)), UNLISTED}:
                yield ask(each, each.airplane, each.onset, (each.flap, 0.0), of=KINDS[1], **told)
        batch += 1


def of_own(
    world: Path, seed: int, count: int, ask: Ask = asked, *, every: bool = False
) -> Iterator[Any]:
    """Flights of this project's own equations, seen by the sensors of the rigid airplane."""
    options = SimpleNamespace(world=world, seed=seed, count=count, radar=None)
    columns = dict(zip(VISIBLE, (PATH, BANK, SPEED, N), strict=True))
    for task in (task for tasks in drawn_tasks(options) for task in tasks):
        left_out = task.cause == UNLISTED or (task.cause == NOTHING and not every)
        worked = None if left_out else work_out(task)
        if worked is None:
            continue
        told, motion, before = worked
        pair = [
            {name: rows[:, k] for name, k in columns.items()} for rows in (task.rows, task.quiet)
        ]
        onset, _ = departure(RECORD * np.arange(len(task.rows)), *pair)
        onset = np.nan if task.cause == NOTHING else onset
        place = task.start["flap"], task.start["gear"]
        said = {"strata": (told.system.label,), "fitting": (task.cause,)}
        yield ask(motion, task.airplane, onset + before, place, of=KINDS[2], **said)


def row(label: str, chosen: list[Asked]) -> str:
    """One row of the table."""
    given = np.array([[one.given(arm) for arm in ARMS] for one in chosen])
    score, low = np.log(np.maximum(given, 1e-9)), (given < 0.01).mean(axis=0)
    gain = score[:, 1] - score[:, 0]
    cells = [f"{m:.2f} | {b:.1%}" for m, b in zip(score.mean(axis=0), low, strict=True)]
    error = gain.std() / np.sqrt(len(gain))
    return f"| {label} | {len(chosen)} | {gain.mean():+.2f} ± {error:.2f} | {' | '.join(cells)} |"


def report(found: list[Asked], seeds: list[int]) -> str:
    """The page of results."""
    lines = [
        "# Odds where the onset is stated",
        "",
        f"Made by benchmarks/stated_onset.py, seeds {', '.join(map(str, seeds))} for the kinds of "
        "flights below and those after them in parallel runs: flights with a fault that left a "
        "trace, through sensors and smoother, the shipped networks, no prior stated. "
        "Mean log score (nats) of the causes that fit, and share of flights in which these have "
        "less than 1%. *One reference*: odds count from the last steady flight before the onset "
        "of the motion; *earlier ones too*: from all that may be the last before the fault, as a "
        "study counts; *gain*: of the second over the first, with its standard error.",
        "",
        "| flights | how many | gain | " + " | ".join(f"{arm} | below 1%" for arm in ARMS) + " |",
        "|---|---|---|" + "---|---|" * len(ARMS),
    ]
    for kind in KINDS:
        chosen = [one for one in found if one.of == kind]
        if not chosen:
            continue
        lines.append(row(kind, chosen))
        for label in ("autopilot on", "flown by hand", "4.8 s radar"):
            some = [one for one in chosen if label in one.strata]
            lines += [row(f"{kind}, {label}", some)] if some else []
    return "\n".join([*lines, ""])


def main() -> None:
    """Fly, see, ask, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--world", type=Path, help="of this project's own flights")
    parser.add_argument("--seeds", type=int, nargs=3, default=[51, 7301, 8701], help="a kind each")
    parser.add_argument("--count", type=int, default=200, help="flights of each kind")
    parser.add_argument("--kept", type=Path, nargs="*", default=[], help="files of answers, kept")
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    found: list[Asked] = [one for file in options.kept for one in pickle.loads(file.read_bytes())]
    if not found:
        drawn = [of_upsets(options.seeds[0]), of_rigid(options.seeds[1])]
        found = [next(each) for each in drawn for _ in range(options.count)]
        if options.world:
            found += of_own(options.world, options.seeds[2], options.count)
    options.out.write_text(report(found, options.seeds))


if __name__ == "__main__":
    main()
