"""The stage `moments`: what the motion of a case took, and who could supply it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

import numpy as np

from neutralpoint.airplane.model import Airplane, apply_multipliers
from neutralpoint.case import Case
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
    batched,
    energy,
    held_force,
    judge_causes,
    judged_part,
    load_reach,
    needed_history,
    power_change,
    required_moment,
    safe_reference,
    scaling_test,
    times_above,
    trim_rate,
    with_fuel_burnt,
    with_power_effect,
)
from neutralpoint.moments.load_causes import shift_chance
from neutralpoint.moments.question import Question, standing
from neutralpoint.motion import stated
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import GRAVITY
from neutralpoint.study.moments.looked_at import (
    SHORTEST,
    LookedAt,
    likely_onset,
    look_at,
    references_of,
    span_of,
)
from neutralpoint.study.moments.readings import Moved, Reading, extreme, over_readings
from neutralpoint.study.motion.file import KeptMotion

MOVED = 5.0  # s by which reference and stated onset are moved to see what hangs on them


@dataclass(frozen=True, kw_only=True)
class Moments(LookedAt):
    """What the stage found; times in s after the track's epoch.

    Attributes:
        required: What it took.
        judged: The part of it that causes are judged on.
        energy: Thrust needed and available.
        onset: Middle of its distribution, s; None where none was given or found.
        readings: The verdicts, one a reference; one alone where no onset was found.
        moved: What changes where the reference, or an onset that is stated, is moved by `MOVED`.
        scaling: With what the moment grew; None where too few times are known.
        rate: Fastest trim movement needed; None without a trim drive.
        reach: What the load could do.
        forces: Time above each force limit.
        change: Whether the power changed at the onset; None without an onset.
        verdicts: One a cause, over all readings.
    """

    required: Required
    judged: Judged
    energy: Energy
    onset: float | None
    readings: list[Reading]
    moved: list[Moved]
    scaling: Scaling | None
    rate: TrimRate | None
    reach: LoadReach
    forces: list[TimeAbove]
    change: PowerChange | None
    verdicts: list[Judgement]


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
    begun = look_at(case, motion, rng)
    flight, window, onsets, candidates = begun.flight, begun.window, begun.onsets, begun.candidates
    onset = onsets.median if onsets.found else None
    likely = likely_onset(onsets)
    _, is_fix, paths, bank_known = span_of(case, motion, likely)
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
        moment = None if likely is None else likely + later
        judged = judged_part(drawn, flight, required, window=window, onset=moment)
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
            (each,) = references_of(flight, analysis.reference, later, given=True)
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
        asked_from=begun.asked_from,
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
