"""The stage `moments`: what the motion of a case took, and who could supply it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

import numpy as np

from neutralpoint.airplane.model import Airplane, apply_multipliers
from neutralpoint.airplane_file.build import DescribedAirplane
from neutralpoint.case import Case
from neutralpoint.case.case import Analysis
from neutralpoint.errors import NeutralPointError
from neutralpoint.moments import (
    FEWEST,
    Configuration,
    Energy,
    Judged,
    Judgement,
    LoadReach,
    MotionFlight,
    PowerChange,
    Reference,
    Required,
    Scaling,
    TimeAbove,
    TrimRate,
    Window,
    batched,
    compared_span,
    compared_windows,
    energy,
    flight_from_paths,
    held_force,
    judge_causes,
    judged_part,
    last_trimmed,
    load_reach,
    needed_history,
    power_change,
    references,
    required_moment,
    safe_reference,
    scaling_test,
    times_above,
    trim_rate,
    with_fuel_burnt,
    with_gusts,
    with_power_effect,
)
from neutralpoint.moments.load_causes import shift_chance
from neutralpoint.moments.question import Question, standing
from neutralpoint.motion import Onsets, fault_begin, stated, stretches
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import GRAVITY
from neutralpoint.study.moments.readings import Moved, Reading, extreme, over_readings
from neutralpoint.study.motion.file import KeptMotion

LEAST_WINDOW = 2.0  # s: an airplane's short period lies above it; analyst's
LONGEST_SPAN = 900.0  # s of flight that are looked at
AFTER_ONSET = 600.0  # s of it after the onset
MOVED = 5.0  # s by which reference and stated onset are moved to see what hangs on them
SHORTEST = 8.0  # s of flight that are worth looking at; analyst's


@dataclass(frozen=True)
class Moments:
    """What the stage found; times in s after the track's epoch.

    Attributes:
        airplane: As documented, loaded as the case says.
        flight: Smoothed sample paths.
        required: What it took.
        judged: The part of it that causes are judged on.
        energy: Thrust needed and available.
        window: Smoothing window, s.
        onset: Middle of its distribution, s; None where none was given or found.
        onsets: All candidates; one where it was given.
        candidates: References that may be the last before the fault, the earliest first, whether
            or not an onset was found.
        asked_from: The same for the odds; where an onset is stated, also earlier ones.
        readings: The verdicts, one a reference; one alone where no onset was found.
        moved: What changes where the reference, or an onset that is stated, is moved by `MOVED`.
        scaling: With what the moment grew; None where too few times are known.
        rate: Fastest trim movement needed; None without a trim drive.
        reach: What the load could do.
        forces: Time above each force limit.
        change: Whether the power changed at the onset; None without an onset.
        verdicts: One a cause, over all readings.
    """

    airplane: DescribedAirplane
    flight: MotionFlight
    required: Required
    judged: Judged
    energy: Energy
    window: float
    onset: float | None
    onsets: Onsets
    candidates: list[Reference]
    asked_from: list[Reference]
    readings: list[Reading]
    moved: list[Moved]
    scaling: Scaling | None
    rate: TrimRate | None
    reach: LoadReach
    forces: list[TimeAbove]
    change: PowerChange | None
    verdicts: list[Judgement]

    @property
    def compared(self) -> tuple[float, float]:
        """Begin and end of what is compared with flights, s: the fault surely begins inside."""
        return compared_span(self.candidates, self._latest, float(self.required.time[-1]))

    @property
    def windows(self) -> list[Window]:
        """The same from each reference that may be the last before the fault: odds mix them."""
        return compared_windows(self.asked_from, self._latest, float(self.required.time[-1]))

    @property
    def _latest(self) -> float | None:
        return self.onsets.interval[1] if self.onsets.weight.any() else None


def work_out_moments(case: Case, motion: KeptMotion, rng: np.random.Generator) -> Moments:
    """Run the stage on a case that names an airplane file.

    Args:
        case: The case; `case.airplane` is known.
        motion: Its motion.
        rng: Source of random numbers.

    Returns:
        What was found.
    """
    described, analysis = case.described, case.analysis
    window = max(LEAST_WINDOW, 2.0 * motion.fix_interval)
    onsets = motion.onsets if analysis.onset is None else stated(analysis.onset)
    onset = onsets.median if onsets.found else None
    # Where none is found the flight is still looked at where it is least ordinary.
    likely = onsets.median if onsets.weight.any() else None
    flown = _flown(motion, likely if analysis.reference is None else analysis.reference[1])
    time, is_fix, paths, bank_known = _span(motion, flown, likely)
    flight = with_gusts(flight_from_paths(time, is_fix, paths, window), rng, window)
    samples = flight.true_airspeed.shape[0]
    drawn = batched(apply_multipliers(described.airplane, described.uncertainty.draw(rng, samples)))
    drawn = with_power_effect(drawn, rng, samples)
    if case.lift.mass_flow > 0.0:
        drawn = with_fuel_burnt(drawn, case.lift.mass_flow * (flight.time - motion.time[0]))
    configuration = Configuration(flap=analysis.flap, gear=analysis.gear)

    def asked(
        reference: Reference, later: float = 0.0, draws: np.random.Generator = rng
    ) -> tuple[Question, Energy, LoadReach]:
        required = required_moment(
            drawn, flight, reference.trimmed, window=window, configuration=configuration
        )
        begun = None if likely is None else likely + later
        judged = judged_part(drawn, flight, required, window=window, onset=begun)
        question = Question(described.airplane, judged, draws)
        reach = load_reach(described.loading, partial(shift_chance, question))
        return question, energy(drawn, flight, required), reach

    def answered(question: Question, found: Energy, reach: LoadReach) -> list[Judgement]:
        return judge_causes(
            question,
            found,
            bank=paths["bank_angle"][:, ~is_fix],
            bank_known=bank_known[~is_fix],
            reach=reach if described.loading.items else None,
        )

    candidates = _references(flight, analysis.reference, onsets, given=analysis.onset is not None)
    # Without an onset nothing says that one of several is the last: verdicts count from a safe one.
    chosen = candidates if onsets.found else [replace(safe_reference(candidates), weight=1.0)]
    main = max(chosen, key=lambda reference: reference.weight)
    question, found, reach = asked(main)
    judged = question.judged
    scaling = _scaling(judged, rng)
    verdicts = answered(question, found, reach)
    readings = [
        Reading(each, verdicts if each is main else answered(*asked(each))) for each in chosen
    ]
    told = {_key(main, judged): (extreme(_force(judged)), verdicts)}
    moved = [
        _moved("reference", seconds, each, asked(each), told=told, answered=answered)
        for seconds in (-MOVED, MOVED)
        if (each := _later(flight, main, seconds)) is not None
    ]
    took, (apart,) = judged.required, rng.spawn(1)
    held = held_force(flight, took.trimmed, took.column_force, apart)
    took = replace(took, column_force=took.column_force + held[:, None])
    if analysis.onset is not None:  # one that the program finds is a distribution already
        (draws,) = apart.spawn(1)
        for seconds in (-MOVED, MOVED):
            later = stated(analysis.onset + seconds)
            (each,) = _references(flight, analysis.reference, later, given=True)
            then = asked(each, seconds, draws)
            moved.append(_moved("onset", seconds, each, then, told=told, answered=answered))
    return Moments(
        airplane=described,
        flight=flight,
        required=took,
        judged=judged,
        energy=found,
        window=window,
        onset=onset,
        onsets=onsets,
        candidates=candidates,
        asked_from=stretches_asked_from(flight, onsets, candidates, case.analysis),
        readings=readings,
        moved=moved,
        scaling=scaling,
        rate=_trim_rate(described.airplane, judged),
        reach=reach,
        forces=times_above(took.column_force[:, _known(judged)], flight.step),
        change=_power_change(described.airplane, found, judged, onset),
        verdicts=over_readings(readings),
    )


def _later(flight: MotionFlight, reference: Reference, seconds: float) -> Reference | None:
    """The same reference so many seconds later; None where it leaves the flight."""
    inside = flight.time[reference.trimmed] + seconds
    trimmed = (flight.time >= inside[0]) & (flight.time <= inside[-1])
    if trimmed.sum() < reference.trimmed.sum() or inside[-1] > flight.time[-1] - SHORTEST:
        return None
    return replace(reference, trimmed=trimmed, end=float(inside[-1]))


Said = tuple[tuple[float, float, float], list[Judgement]]  # largest force, and a verdict a cause


def _force(judged: Judged) -> Array:
    """Column force where it is judged, without what the crew held before, N, shape (S, k)."""
    return judged.required.column_force[:, _known(judged)]


def _key(reference: Reference, judged: Judged) -> bytes:
    """What a reading rests on: the reference, and the moments that are judged."""
    return reference.trimmed.tobytes() + judged.inside.tobytes()


def _moved(
    what: Literal["reference", "onset"],
    seconds: float,
    reference: Reference,
    then: tuple[Question, Energy, LoadReach],
    *,
    told: dict[bytes, Said],
    answered: Callable[[Question, Energy, LoadReach], list[Judgement]],
) -> Moved:
    """What is said with the reference, or a stated onset, moved; nothing is asked twice."""
    question = then[0]
    key = _key(reference, question.judged)
    if key not in told:
        told[key] = extreme(_force(question.judged)), answered(*then)
    return Moved(what, seconds, reference.end, *told[key])


def _span(
    motion: KeptMotion, flown: tuple[float, float], onset: float | None
) -> tuple[Array, Flags, dict[str, Array], Flags]:
    """The part of a flight that is looked at, and where its bank is known."""
    first, last = flown
    end = last if onset is None else min(last, onset + AFTER_ONSET)
    inside = (motion.time >= max(first, end - LONGEST_SPAN)) & (motion.time <= end)
    paths = {name: values[:, inside] for name, values in motion.paths.items()}
    known = motion.observable["bank_angle"][inside]
    return motion.time[inside], motion.is_fix[inside], paths, known


def _flown(motion: KeptMotion, moment: float | None) -> tuple[float, float]:
    """First and last moment of the flight that holds a moment, or of the last one.

    All of the record where the moment is on the ground: the analyst set it.

    Raises:
        NeutralPointError: `not-flying` where no stretch in the air is long enough.
    """
    flights = [(motion.time[a], motion.time[b]) for a, b in stretches(~motion.ground)]
    flights = [(first, last) for first, last in flights if last - first >= SHORTEST]
    if not flights:
        raise NeutralPointError(
            "not-flying",
            f"No stretch of {SHORTEST:.0f} s is in the air: the airplane is too slow to fly, or "
            "the track is that short.",
            where="track",
            hint="Look at speeds, wind, mass and wing area; the motion itself stands.",
        )
    if moment is None:
        return flights[-1]
    whole = (motion.time[0], motion.time[-1])
    return next((f for f in flights if f[0] <= moment <= f[1]), whole)


def _references(
    flight: MotionFlight, stretch: tuple[float, float] | None, onsets: Onsets, *, given: bool
) -> list[Reference]:
    """The last trimmed flight: as given, or what it may have been."""
    if stretch is not None:
        trimmed = (flight.time >= stretch[0]) & (flight.time <= stretch[1])
    elif given or not onsets.weight.any():
        trimmed = last_trimmed(flight, before=onsets.median if given else None)
    else:
        begun = fault_begin(onsets)
        return references(flight, begun.time, begun.weight)
    return [Reference(trimmed, float(flight.time[trimmed][-1]), 1.0, 0.0)]


def stretches_asked_from(
    flight: MotionFlight, onsets: Onsets, candidates: list[Reference], analysis: Analysis
) -> list[Reference]:
    """What odds count from: a stated onset is the motion's, and its cause may have begun before.

    Args:
        flight: Sample paths.
        onsets: Of the motion; one candidate where it is stated.
        candidates: What verdicts count from.
        analysis: What the analyst settled.

    Returns:
        The candidates; where an onset is stated and no reference, also earlier steady stretches.
    """
    if analysis.onset is None or analysis.reference is not None:
        return candidates
    begun = fault_begin(onsets)
    return references(flight, begun.time, begun.weight)


def _known(judged: Judged) -> Flags:
    return judged.inside & ~judged.required.stalled


def _scaling(judged: Judged, rng: np.random.Generator) -> Scaling | None:
    required = judged.required
    needed = needed_history(judged, standing, lambda took: np.ones_like(took.moment))
    if needed.time.size < FEWEST:
        return None
    base = required.lift_coefficient[:, required.trimmed].mean(axis=1, keepdims=True)
    lift = (required.lift_coefficient[:, judged.knots] / base).mean(axis=0)
    return scaling_test(needed, lift, rng, window=judged.window)


def _trim_rate(airplane: Airplane, judged: Judged) -> TrimRate | None:
    drive, required = airplane.trim_drive, judged.required
    if drive.kind == "none":
        return None
    paths = required.stabilizer if drive.kind == "stabilizer" else required.tab
    rates = (float(drive.loaded_rate), float(drive.rate))
    return trim_rate(required, paths, rates, judged.inside)


def _power_change(
    airplane: Airplane, found: Energy, judged: Judged, onset: float | None
) -> PowerChange | None:
    required = judged.required
    if onset is None or onset > required.time[-2]:
        return None
    inside = _known(judged) | required.trimmed
    kept = replace(
        found,
        thrust=found.thrust[:, inside],
        power=found.power[:, inside],
        full=found.full[:, inside],
        idle=found.idle[:, inside],
    )
    weight = float(airplane.mass.mass) * GRAVITY
    return power_change(kept, required.time[inside], required.trimmed[inside], onset, weight)
