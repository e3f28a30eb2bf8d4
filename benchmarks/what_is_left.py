"""What a track and the smoother leave of flights, measured: the numbers of training/data.py.

    PYTHONPATH=src:benchmarks:training python benchmarks/what_is_left.py WORLD
        [--seed N] [--count N] [--workers N] [--radar SHARE] [--kept FILE] [--out FILE]

WORLD is a file of training/world.py with a seed of its own. Its flights go through the sensors and
the smoother as in through_smoother.py, and are compared with the truth: the error that is told and
its memory, the width of the normal weights on the truth that come nearest to the estimate, the
error that is left then, and with which share of its size lift is seen. Beside them stands what the
networks learn from. Last: the score for several numbers by which the log evidence is divided, and
on data drawn as in the learning.
"""

from __future__ import annotations

import argparse
import pickle
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

import data as learned
import jax
import jax.numpy as jnp
import numpy as np
from as_a_study import look
from batches import look as see
from blind import Rater
from flying import MOST
from scipy.ndimage import gaussian_filter1d
from scipy.special import softmax
from six_degrees_seen import SYSTEMS
from through_smoother import Task, asked, drawn_tasks, kept_or, work_out

from neutralpoint.errors import NeutralPointError
from neutralpoint.moments import Window
from neutralpoint.study.weighing.networks import load_shipped
from neutralpoint.study.weighing.windows import course_within
from neutralpoint.weighing.amortised import FAR, RARE, spread_of
from neutralpoint.weighing.course import COLUMNS
from neutralpoint.weighing.flights import RECORD
from neutralpoint.weighing.odds import UNLISTED
from neutralpoint.weighing.simulate import flyable
from neutralpoint.weighing.window import TYPICAL, compressed, known_how_well

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
        series: As the networks see it, shape (KNOTS, 13).
        context: That the networks are told of the data, shape (8,).
        start: That they are told of the airplane and its start.
        length: Of the window, s.
        names: Of the causes.
    """

    cause: str
    system: str
    truth: np.ndarray
    time: np.ndarray
    mean: np.ndarray
    told: np.ndarray
    memory: np.ndarray
    series: np.ndarray
    context: np.ndarray
    start: np.ndarray
    length: float
    names: tuple[str, ...]


def left_of(task: Task) -> Left | None:
    """See and work out one flight with its window stated; None where nothing can be made of it."""
    worked = work_out(task)
    if worked is None:
        return None
    told, motion, before = worked
    names = (*(cause.name for cause in flyable(task.airplane)), UNLISTED)
    inquiry = look(motion).inquiry(names, flap=task.start["flap"], gear=task.start["gear"])
    window = Window(before, float(motion.time[-1]), 1.0)
    try:
        course = course_within(inquiry.motion, window.begin, window.end)
        given = inquiry.given(task.airplane, window.begin, course)
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
        memory=np.exp(given.seen.context[2:]) * [time for _, time in TYPICAL],
        series=given.seen.series,
        context=given.seen.context,
        start=given.told,
        length=float(given.seen.length),
        names=names,
    )


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
    typical = np.array([size for size, _ in TYPICAL])
    told = np.array([np.log(each.told / typical).mean(axis=0) for each in flights])
    strong = np.where(near[..., 4] > STRONG, near[..., 0], np.nan)
    return {
        "told error over the typical one": np.exp(np.median(told, axis=0)),
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


class Asked:
    """Flights whose cause is on the list of their airplane, and the shipped networks."""

    def __init__(self, flights: list[Left]) -> None:
        self.flights = [each for each in flights if each.cause in each.names]
        self.networks = load_shipped()
        self.rater = Rater(self.networks)
        causes = self.networks.causes
        self.start = np.stack([each.start for each in self.flights])
        self.allowed = np.array([[c in each.names for c in causes] for each in self.flights])
        self.place = np.array([causes.index(each.cause) for each in self.flights])
        listed = self.allowed & (np.array(causes) != UNLISTED)
        self.equal = listed / listed.sum(axis=1, keepdims=True)

    def real(self) -> tuple[np.ndarray, np.ndarray]:
        """Series and context as the smoother leaves them."""
        series = np.stack([each.series for each in self.flights]).astype(np.float32)
        return series, np.stack([each.context for each in self.flights])

    def made(self, rare: bool) -> tuple[np.ndarray, np.ndarray]:
        """Series and context of the same flights, seen by data as the networks learned them."""
        rows = jnp.array([_filled(each.truth) for each in self.flights])
        length = jnp.array([each.length for each in self.flights])
        found = see(jax.random.key(5), rows, rows, length, RARE if rare else 1.0)
        shown = compressed(np.asarray(found.clean + found.errors))
        series = np.concatenate([shown, known_how_well(np.asarray(found.told))], axis=-1)
        return series.astype(np.float32), np.asarray(found.context)

    def row(self, label: str, series: np.ndarray, context: np.ndarray, divisor: float) -> str:
        """A line of a table: the causes equally likely, none of them unlisted."""
        spread = spread_of(self.networks.temperature, self.networks.rarer, context)
        cooled = self.rater.rate(series, self.start, context, self.allowed)
        # The shipped division is taken back before another one is made.
        logits = cooled * (spread / (self.networks.temperature * divisor))[:, None]
        odds = softmax(np.where(self.allowed, logits, FAR), axis=-1).mean(axis=0) * self.equal
        odds /= odds.sum(axis=1, keepdims=True)
        given = odds[np.arange(len(odds)), self.place]
        order = np.argsort(-odds, axis=1)
        before = np.cumsum(np.take_along_axis(odds, order, axis=1), axis=1) < 0.9
        held = (order == self.place[:, None]).argmax(axis=1) <= before.sum(axis=1)
        log = np.log(np.maximum(given, 1e-9))
        return (
            f"| {label} | {log.mean():.2f} ± {log.std() / len(log) ** 0.5:.2f} | "
            f"{np.mean(given < 0.01):.1%} | {held.mean():.0%} |"
        )


def _filled(truth: np.ndarray) -> np.ndarray:
    """As many records as the networks' flights have; the last one stays."""
    long = truth[:MOST].astype(np.float32)
    return np.concatenate([long, np.repeat(long[-1:], MOST - len(long), axis=0)])


SCORES = ("| | log score | below 1% | 90% sets hold |", "|---|---|---|---|")


def report(flights: list[Left], seed: int) -> str:
    """The page."""
    radar = [each for each in flights if each.system == RADAR]
    often = [each for each in flights if each.system != RADAR]
    lift = np.array([_nearest(each, LOAD)[3] for each in radar])
    rare, second = Asked(radar), Asked(often)
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
            "## What log evidence is divided by",
            "",
            f"{len(rare.flights)} flights by radar; the listed causes equally likely.",
            "",
            *SCORES,
            *(rare.row(f"divided by {by:g}", *rare.real(), by) for by in DIVISORS),
            "",
            "## What the networks reach on data as they learned them",
            "",
            "The same flights, but what the track and the smoother leave is drawn as in the "
            "learning. It bounds what better learning can bring: log evidence undivided.",
            "",
            *SCORES,
            second.row("a fix a second, through the smoother", *second.real(), 1.0),
            second.row("a fix a second, as learned", *second.made(rare=False), 1.0),
            rare.row("radar, through the smoother", *rare.real(), 1.0),
            rare.row("radar, as learned", *rare.made(rare=True), 1.0),
            "",
        ]
    )


def main() -> None:
    """Fly, see, compare, write."""
    about = __doc__.splitlines()[0]
    options = asked(about, seed=8201, count=700, radar=0.8, results=RESULTS).parse_args()
    options.out.write_text(report(kept_or(options, _all), options.seed))


def _all(options: argparse.Namespace) -> list[Left]:
    """Every flight seen and computed, in processes of their own."""
    tasks = [task for of_kind in drawn_tasks(options) for task in of_kind]
    with get_context("spawn").Pool(options.workers) as pool:
        found = [one for one in pool.imap_unordered(left_of, tasks) if one is not None]
    if options.kept:
        options.kept.write_bytes(pickle.dumps(found))
    return found


if __name__ == "__main__":
    main()
