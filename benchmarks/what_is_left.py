"""What a track and the smoother leave of flights, measured: the numbers of training/data.py.

    PYTHONPATH=src:benchmarks:training python benchmarks/what_is_left.py WORLD
        [--seed N] [--count N] [--workers N] [--radar SHARE] [--kept FILE] [--out FILE]

WORLD is a file of training/world.py with a seed of its own. Its flights go through the sensors and
the smoother as in through_smoother.py, and are compared with the truth: the error that is told and
its memory, the width of the normal weights on the truth that come nearest to the estimate, the
error that is left then, and with which share of its size lift is seen. Beside them stands what the
networks learn from. Last: the score for several numbers by which the log evidence is divided.
"""

from __future__ import annotations

import argparse
import pickle
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path

import data as learned
import numpy as np
from as_a_study import look
from scipy.ndimage import gaussian_filter1d
from scipy.special import log_softmax
from six_degrees_seen import SYSTEMS
from through_smoother import Task, _tasks, _worked

from neutralpoint.errors import NeutralPointError
from neutralpoint.moments import Window
from neutralpoint.study.weighing.at_once import look as as_seen
from neutralpoint.study.weighing.windows import course_within, start_of, track_evidence
from neutralpoint.weighing.amortised import Shipped, spread_of
from neutralpoint.weighing.course import COLUMNS
from neutralpoint.weighing.flights import RECORD
from neutralpoint.weighing.mechanism import grouped_prior
from neutralpoint.weighing.odds import UNLISTED
from neutralpoint.weighing.simulate import flyable
from neutralpoint.weighing.weigh import reweigh
from neutralpoint.weighing.window import MIDDLING

RESULTS = Path(__file__).parent / "results" / "what_is_left.md"
RADAR = SYSTEMS[2].label
LOAD, BANK, HEIGHT = (
    COLUMNS.index(name) for name in ("normal_load_factor", "bank_angle", "altitude")
)
# Widths that are tried, s; a column moved enough to tell its blur when it left its mean by as many
# told errors as `STRONG`.
WIDTHS = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 13.0)
STRONG = 1.0
DIVISORS = (1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.3)


@dataclass(frozen=True)
class Left:
    """One flight, and what was made of it.

    Attributes:
        cause: What failed.
        system: What looked on.
        truth: Of `COLUMNS`, every `RECORD` of the window, shape (m, 6).
        time: Of the estimate, s from the start of the window, shape (k,).
        mean: Of the sample paths, shape (k, 6).
        told: Their standard deviation, shape (k, 6).
        memory: Of the error, as the networks are told it, s, shape (6,).
        runs: Log evidence of each network, by cause, divided as shipped, shape (r, c).
        divided: By how much.
        names: Of the causes.
    """

    cause: str
    system: str
    truth: np.ndarray
    time: np.ndarray
    mean: np.ndarray
    told: np.ndarray
    memory: np.ndarray
    runs: np.ndarray
    divided: float
    names: tuple[str, ...]


def left_of(task: Task) -> Left | None:
    """See and work out one flight with its window stated; None where nothing can be made of it."""
    worked = _worked(task)
    if worked is None:
        return None
    told, motion, before = worked
    names = (*(cause.name for cause in flyable(task.airplane)), UNLISTED)
    inquiry = look(motion).inquiry(names, flap=task.start["flap"], gear=task.start["gear"])
    window = Window(before, float(motion.time[-1]), 1.0)
    try:
        course = course_within(inquiry.motion, window.begin, window.end)
        start = start_of(inquiry.case, inquiry.motion, window.begin)
        given = as_seen(task.airplane, start, course, inquiry.smoothing)
    except NeutralPointError:
        return None
    grid = inquiry.motion.time[~inquiry.motion.is_fix]
    offset = grid[grid >= window.begin][0] - before
    columns = np.stack([getattr(course, name) for name in COLUMNS], axis=-1)
    return Left(
        cause=str(task.cause),
        system=told.system.label,
        truth=task.rows,
        time=course.time + offset,
        mean=columns.mean(axis=0),
        told=np.maximum(columns.std(axis=0), 1e-6),
        memory=np.exp(given.seen.context[2:]) * [time for _, time in MIDDLING],
        runs=track_evidence(given.networks, given.seen, given.told, names),
        divided=_division(given.networks, given.seen.context),
        names=names,
    )


def _division(networks: Shipped, context: np.ndarray) -> float:
    """By how much more log evidence is divided than with a fix a second."""
    return float(spread_of(networks.temperature, networks.rarer, context)) / networks.temperature


def _nearest(flight: Left, column: int) -> tuple[float, float, float, float, float]:
    """Blur in s, error left over the told one and its memory in s, slope, told errors moved."""
    truth, mean, told = flight.truth[:, column], flight.mean[:, column], flight.told[:, column]
    clock = RECORD * np.arange(truth.size)
    if column == BANK:
        truth, mean = np.unwrap(truth), np.unwrap(mean)
        mean = mean - 2.0 * np.pi * np.round((mean[0] - truth[0]) / (2.0 * np.pi))
    found = []
    for width in WIDTHS:
        smooth = gaussian_filter1d(truth, width / RECORD, mode="nearest") if width else truth
        smooth = np.interp(flight.time, clock, smooth)
        error = (mean - smooth) / told
        if column == HEIGHT:  # the height of the start is known; its changes are asked
            error = error - error[0]
        found.append((float(np.mean(error**2)), width, smooth, error))
    size, width, smooth, error = min(found, key=lambda each: each[0])
    step = max(1, round(1.0 / float(np.median(np.diff(flight.time)))))
    kept = (error[step:] * error[:-step]).mean() / max(float((error**2).mean()), 1e-12)
    memory = -1.0 / np.log(np.clip(kept, 0.01, 0.999))
    swing = smooth - smooth.mean()
    slope = float(swing @ (mean - mean.mean())) / max(float(swing @ swing), 1e-12)
    moved = (np.interp(flight.time, clock, truth) - truth.mean()) / told
    return width, size**0.5, memory, slope, float(np.sqrt(np.mean(moved**2)))


def medians(flights: list[Left]) -> dict[str, np.ndarray]:
    """Medians over flights of what training/data.py states, each of shape (6,)."""
    near = np.array([[_nearest(each, k) for k in range(len(COLUMNS))] for each in flights])
    middling = np.array([size for size, _ in MIDDLING])
    told = np.array([np.log(each.told / middling).mean(axis=0) for each in flights])
    strong = np.where(near[..., 4] > STRONG, near[..., 0], np.nan)
    return {
        "told error over the middling one": np.exp(np.median(told, axis=0)),
        "memory that is told, s": np.median([each.memory for each in flights], axis=0),
        "blur, s": np.nanmedian(strong, axis=0),
        "error left over the told one": np.median(near[..., 1], axis=0),
        "memory of the error left, s": np.median(near[..., 2], axis=0),
    }


LEARNED = (learned.TOLD, learned.MEMORY, learned.BLUR, learned.REMAINS, learned.REMAINS_MEMORY)


def _measures(flights: list[Left], rare: bool) -> list[str]:
    lines = [
        "| measured, and learned from | " + " | ".join(COLUMNS) + " |",
        "|---|" + "---|" * len(COLUMNS),
    ]
    for (label, values), pair in zip(medians(flights).items(), LEARNED, strict=True):
        cells = [f"{found:.2g}, {used:g}" for found, used in zip(values, pair[rare], strict=True)]
        lines.append(f"| {label} | {' | '.join(cells)} |")
    return lines


def _score(flights: list[Left], divisor: float) -> str:
    given, held = [], []
    for each in flights:
        # The shipped division is taken back before another one is made.
        runs = log_softmax(each.runs * each.divided / divisor, axis=1)
        odds = np.asarray(reweigh(each.names, grouped_prior(each.names, None), runs).probability)
        place = each.names.index(each.cause)
        given.append(odds[place])
        order = np.argsort(-odds)
        held.append(place in order[: int(np.searchsorted(np.cumsum(odds[order]), 0.9)) + 1])
    log = np.log(np.maximum(given, 1e-9))
    return (
        f"| {divisor:g} | {log.mean():.2f} ± {log.std() / len(log) ** 0.5:.2f} | "
        f"{np.mean(np.array(given) < 0.01):.1%} | {np.mean(held):.0%} |"
    )


def report(flights: list[Left], seed: int) -> str:
    """The page."""
    radar = [each for each in flights if each.system == RADAR]
    often = [each for each in flights if each.system != RADAR]
    lift = np.array([_nearest(each, LOAD)[3] for each in radar])
    asked = [each for each in radar if each.cause in each.names]
    return "\n".join(
        [
            "# What a track and the smoother leave of a flight",
            "",
            f"Made by benchmarks/what_is_left.py, seed {seed}: {len(flights)} blind flights with "
            "their window stated, as in through_smoother.md. Each cell: median over flights, then "
            "what training/data.py draws about. Blur is of flights that move the column by more "
            "than its told error. The error left in altitude is that of its change since the first "
            "moment, which holds the error there twice; the networks learn from less.",
            "",
            f"## A fix a second ({len(often)} flights)",
            "",
            *_measures(often, rare=False),
            "",
            f"## A fix every 4.8 s ({len(radar)} flights)",
            "",
            *_measures(radar, rare=True),
            "",
            f"Load factor is seen with less than 0.3 of its size on {np.mean(lift < 0.3):.0%} of "
            f"the flights by radar, with more than 0.7 on {np.mean(lift > 0.7):.0%}.",
            "",
            f"## What log evidence by radar is divided by ({len(asked)} flights)",
            "",
            "| divided by | log score | below 1% | 90% sets hold |",
            "|---|---|---|---|",
            *(_score(asked, divisor) for divisor in DIVISORS),
            "",
        ]
    )


def main() -> None:
    """Fly, see, compare, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("world", type=Path)
    parser.add_argument("--seed", type=int, default=8201)
    parser.add_argument("--count", type=int, default=700, help="flights to see")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--radar", type=float, default=0.8, help="share that a radar sees")
    parser.add_argument("--kept", type=Path, help="file that flights are kept in, or taken from")
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    if options.kept and options.kept.exists():
        found = pickle.loads(options.kept.read_bytes())
    else:
        found = _all(options)
    options.out.write_text(report(found, options.seed))


def _all(options: argparse.Namespace) -> list[Left]:
    places = pickle.loads(options.world.read_bytes())
    each = -(-options.count // len(places))
    tasks = []
    for number, place in enumerate(places):
        drawn = _tasks(place, number, options.seed)
        tasks += [replace(next(drawn), radar=options.radar) for _ in range(each)]
    with get_context("spawn").Pool(options.workers) as pool:
        found = [one for one in pool.imap_unordered(left_of, tasks) if one is not None]
    if options.kept:
        options.kept.write_bytes(pickle.dumps(found))
    return found


if __name__ == "__main__":
    main()
