"""How far the odds are to be trusted: blind cases from another model, at the start of a case."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.case import load_case
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations import NOTHING_KNOWN, Facts
from neutralpoint.files import write_whole
from neutralpoint.findings import Calibration
from neutralpoint.numerics.arrays import Array, Index
from neutralpoint.study.facts import facts_of
from neutralpoint.study.moments.stage import without_airplane
from neutralpoint.study.run import RESULTS, run_stage
from neutralpoint.study.stages import Known, Progress, Step
from neutralpoint.study.weighing.at_once import look
from neutralpoint.study.weighing.flights import KeptFlights
from neutralpoint.study.weighing.score import SCORE_FILE, calibration_of
from neutralpoint.study.weighing.windows import observed_course, start_of
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.weighing.amortised import see, track_evidence
from neutralpoint.weighing.blind import OTHER_ORDINARY, SPARE, judge, other_airplane
from neutralpoint.weighing.compare import compare
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.flights import Flown, Start
from neutralpoint.weighing.odds import UNLISTED
from neutralpoint.weighing.simulate import CHUNK, flyable, simulate
from neutralpoint.weighing.window import BEGINS, LONGEST

CASES = 208
FOLDER = ".calibration"
# Where no case is given: an airplane of the catalogue, its start, and errors of a motion from a
# track with a fix a second: standard deviation, and time over which they change, s; about the
# middle of what track and smoother leave on simulated flights.
AIRPLANE, SPEED, ALTITUDE, DURATION, WINDOW = "velmar-c7", 100.0, 3000.0, 38.0, 2.0
ERRORS = {name: error for name in COLUMNS if (error := QUANTITIES[name].error) is not None}
PATHS = 101


@dataclass(frozen=True)
class Place:
    """Where the method is judged.

    Attributes:
        airplane: As documented and loaded.
        fitted: How well it is known.
        start: The steady flight that all flights start from.
        observed: Sample paths whose spread is the error of the data; None to draw it.
        duration: Of the flights, s.
        window: Smoothing window of the data, s.
        seed: Of the random numbers.
        where: In words.
        facts: Of the flight; they exclude causes.
    """

    airplane: Airplane
    fitted: Uncertainty
    start: Start
    observed: Course | None
    duration: float
    window: float
    seed: int
    where: str
    facts: Facts = NOTHING_KNOWN


def place_of_case(folder: Path, progress: Progress) -> Place:
    """The start and the data of a case.

    Args:
        folder: The case folder; its motion and moments are run or reused.
        progress: Told what is being done.

    Returns:
        The place.

    Raises:
        NeutralPointError: Of the case and of its stages; `argument-invalid` without an airplane.
    """
    case = load_case(folder)
    if reason := without_airplane(case):
        raise NeutralPointError(
            "argument-invalid",
            reason,
            where="case.toml",
            hint="Name an airplane file or one of the catalogue.",
        )
    results = run_stage(folder, "moments", progress)
    known = Known(case, results)
    observed, begin = observed_course(known.motion, known.looked_at)
    described = known.looked_at.airplane
    return Place(
        described.airplane,
        described.uncertainty,
        start_of(case, known.motion, begin),
        observed,
        float(observed.time[-1]),
        known.looked_at.window,
        case.document.seed,
        "the start and the data of this case",
        facts_of(case, begin),
    )


def place_of_catalogue(seed: int) -> Place:
    """An airplane of the catalogue in level flight.

    Args:
        seed: Of the random numbers.

    Returns:
        The place.
    """
    described = load_airplane(AIRPLANE)
    rng = np.random.default_rng([seed, 7])
    start = Start(SPEED + rng.normal(0.0, 1.0, 64), rng.normal(0.0, 0.005, 64), ALTITUDE)
    return Place(
        described.airplane,
        described.uncertainty,
        start,
        None,
        DURATION,
        WINDOW,
        seed,
        f"{AIRPLANE} of the catalogue at {SPEED:g} m/s and {ALTITUDE:g} m",
    )


def _drawn_errors(course: Course, rng: np.random.Generator) -> Course:
    """The first flight of a batch with errors of `ERRORS` about it."""
    apart = np.abs(course.time[:, None] - course.time[None, :])
    paths = {}
    for name in COLUMNS:
        sigma, scale = ERRORS[name]
        factor = np.linalg.cholesky(np.exp(-apart / scale) + 1e-9 * np.eye(course.time.size))
        errors = sigma * rng.standard_normal((PATHS, course.time.size)) @ factor.T
        paths[name] = getattr(course, name)[:1] + errors
    return Course(course.time, **paths)


def calibrate(
    place: Place,
    results: Path,
    tell: Callable[[str, float], None],
    *,
    cases: int = CASES,
    seed: int | None = None,
) -> Calibration:
    """Run blind cases and judge what the method says of them.

    Args:
        place: Where.
        results: Folder that finished chunks of flights are kept in until the end.
        tell: Told in words what is being done, and the share that is done.
        cases: About how many; the same number of each cause.
        seed: Of the blind cases; None for the place's.

    Returns:
        The scores.
    """
    causes = flyable(place.airplane, place.facts)
    names = (*(cause.name for cause in causes), UNLISTED)
    each = -(-cases // len(causes))
    rng = np.random.default_rng([place.seed if seed is None else seed, 8])

    def flown(done: int, expected: int) -> None:
        tell("Flying test flights of known cause", 0.9 * min(done / expected, 1.0))

    fly = KeptFlights(results, flown, folder=FOLDER)
    count = SPARE * each * len(causes)
    fly.expected = -(-count // CHUNK)
    truth = simulate(
        place.airplane,
        other_airplane(place.fitted).draw(rng, count),
        place.start,
        causes,
        ordinary=OTHER_ORDINARY,
        rng=rng,
        duration=place.duration,
        begin_within=(0.0, BEGINS * min(place.duration, LONGEST)),
        fly=fly,
    )
    tell("Telling the causes apart", 0.9)
    observed = place.observed or _drawn_errors(truth[0].course, rng)
    runs, true = _told(place, observed, truth, each, names, rng)
    fly.forget_all()
    return calibration_of(
        judge(runs, true, causes, names),
        where=place.where,
        seed=place.seed if seed is None else seed,
    )


def _told(
    place: Place, observed: Course, truth: list[Flown], each: int, names: tuple[str, ...], rng
) -> tuple[Array, Index]:
    """What the shipped networks say of flights that left a trace, seen through errors of the data.

    Returns:
        Log evidence, shape (R, n, C), and the place of the true cause, shape (n,).
    """
    given = look(place.airplane, place.start, observed, place.window)
    compared = compare(observed, truth, place.window)
    paths = np.stack([getattr(observed, name) for name in COLUMNS])
    errors = paths - paths.mean(axis=1, keepdims=True)
    runs, true = [], []
    for number, (batch, traced) in enumerate(zip(truth, compared.traced, strict=True)):
        for row in np.flatnonzero(traced)[:each]:
            seen = [
                np.interp(observed.time, batch.course.time, getattr(batch.course, name)[row])
                + error[rng.integers(len(error))]
                for name, error in zip(COLUMNS, errors, strict=True)
            ]
            columns = {
                name: one + error for name, one, error in zip(COLUMNS, seen, errors, strict=True)
            }
            stretch = see(Course(observed.time, **columns), place.window)
            runs.append(track_evidence(given.networks, stretch, given.told, names))
            true.append(number)
    return np.stack(runs, axis=1), np.array(true)


def run_calibrate(
    folder: Path | None,
    progress: Progress,
    *,
    cases: int = CASES,
    seed: int | None = None,
    out: Path | None = None,
) -> tuple[Calibration, Path | None]:
    """Calibrate at a case, or at an airplane of the catalogue, and save the score.

    Args:
        folder: The case folder; None for the catalogue.
        progress: Told what is being done.
        cases: About how many blind cases.
        seed: Of the blind cases.
        out: Where the score goes instead of `results/calibration.json`.

    Returns:
        The score, and where it was written.

    Raises:
        NeutralPointError: Of the case; `results-missing` where the file cannot be written.
    """
    place = place_of_catalogue(seed or 0) if folder is None else place_of_case(folder, progress)
    target = out if out is not None or folder is None else folder / RESULTS / SCORE_FILE
    kept = (folder / RESULTS) if folder is not None else (out or Path()).absolute().parent

    def tell(text: str, share: float) -> None:
        progress(Step("calibration", text, share))

    try:
        found = calibrate(place, kept, tell, cases=cases, seed=seed)
        if target is not None:
            text = found.model_dump_json(indent=1) + "\n"
            write_whole(target, text.encode("utf-8"))
    except OSError as broken:
        raise NeutralPointError(
            "results-missing",
            f"The score cannot be written: {broken.strerror}.",
            where=str(target or kept),
            hint="Name a folder that can be written with --out.",
        ) from broken
    return found, target
