"""The causes that the required moment can judge, each with what it can make of itself."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray

from neutralpoint.airplane.model import Airplane
from neutralpoint.moments.comparing import elevator_need, force_need, shift_need, trim_needs
from neutralpoint.moments.judge import (
    NOBODY,
    Extra,
    HandsOfPilot,
    abilities,
    attempt,
    estimates,
    flown,
    judge,
    largest_miss,
    word_of,
)
from neutralpoint.moments.judgement import (
    Ability,
    Grant,
    GrantedCondition,
    Hands,
    Judgement,
    NotJudged,
    Word,
    not_judged,
)
from neutralpoint.moments.loads import LoadReach
from neutralpoint.moments.needed import (
    Judged,
    Needed,
    Quantity,
    needed_history,
    worth_of_pull,
)
from neutralpoint.moments.required import Required
from neutralpoint.moments.shapes import (
    Histories,
    averaged,
    motor_runs,
    nothing,
    steps,
    two_motor_runs,
)
from neutralpoint.vocabulary import CauseName
from neutralpoint.vocabulary.strength import LARGEST, ONE_HAND

Array = NDArray[np.float64]

UNLISTED_SHIFT = 0.3  # chords, where no loading is known. Analyst's.
UNLISTED_ITEM = 0.005  # chords that something nobody listed may shift it. Analyst's.
MORE_LOAD = 2.5  # times the reach of all listed items; analyst's
LEAST_SHIFT = 0.05  # of the reach: a load that moves moves the CG by no less; analyst's
SLIDES = np.array([0.5, 1.5, 3.0])  # s that a load takes to move (trade notes: 1 to 3 s)
BREAKS = np.array([0.2, 1.0])  # s that a part takes to let go; analyst's
SIZES = 30  # tried between the least and the most; finer than the data tell apart
FLYING = HandsOfPilot(Hands.ANYTHING, ONE_HAND.force)
DRIVING = HandsOfPilot(Hands.ANYTHING, LARGEST.force)


@dataclass(frozen=True)
class Question:
    """What every cause is judged on.

    Attributes:
        airplane: As documented, without drawn multipliers.
        judged: The flight and its knots.
        rng: Source of random numbers.
    """

    airplane: Airplane
    judged: Judged
    rng: np.random.Generator

    @cached_property
    def unaided(self) -> Needed:
        """What power and gravity left over, the trim as it was: the need in newtons of pull."""
        return self.of(lambda took: took.column_force * worth_of_pull(took), worth_of_pull)

    @cached_property
    def still(self) -> tuple[Ability, ...]:
        """What power, gravity and each kind of hands can do when nothing moves of itself."""
        return abilities(self.unaided, self.averaged(nothing), self.rng)

    def judge_still(self, cause: CauseName, pilot: HandsOfPilot, **more) -> Judgement:
        """The word for a cause that moves nothing of itself.

        Args:
            cause: Which.
            pilot: The hands that belong to it.
            more: As `judge.judge` takes it.

        Returns:
            The judgement.
        """
        needed = self.unaided
        able = self.still if needed.known else None
        return self.judge(cause, needed, self.averaged(nothing), pilot=pilot, able=able, **more)

    def of(self, paths: Quantity, effect: Quantity) -> Needed:
        """What something had to supply.

        Args:
            paths: Needed moment coefficient.
            effect: Moment coefficient per unit of what moves.

        Returns:
            The need at the knots.
        """
        return needed_history(self.judged, paths, effect)

    def averaged(self, make) -> Histories:
        """Histories as the data would show them.

        Args:
            make: From times, shape (n,), to histories.

        Returns:
            The histories at the knots.
        """
        return averaged(make, self.judged.required.time[self.judged.knots], self.judged.window)

    def judge(self, cause: CauseName, needed: Needed, histories: Histories, **more) -> Judgement:
        """The word for a cause.

        Args:
            cause: Which.
            needed: What it had to supply.
            histories: What it can make of itself.
            more: As `judge.judge` takes it.

        Returns:
            The judgement.
        """
        return judge(cause, needed, histories, judged=self.judged.span, rng=self.rng, **more)


def standing(required: Required) -> Array:
    """Moment coefficient that something other than the hands supplied, shape (S, m).

    Args:
        required: What it took.

    Returns:
        The change since trimmed flight with the column free.
    """
    return required.standing_coefficient


def trim_power(kind: str, required: Required) -> Array:
    """Moment coefficient per rad of the surface that trims.

    Args:
        kind: "stabilizer" or "tab".
        required: What it took.

    Returns:
        Shape (S, m).
    """
    return required.power.stabilizer if kind == "stabilizer" else required.power.tab


def _both_ways(sizes: Array) -> Array:
    return np.r_[-sizes[::-1], sizes]


def trim_causes(question: Question) -> list[Judgement]:
    """Runs of the pitch-trim motor, and a trim surface or elevator that came loose.

    Args:
        question: What is judged.

    Returns:
        None where the airplane has no pitch trim; no runs where it is turned by hand alone.
    """
    airplane, required = question.airplane, question.judged.required
    drive = airplane.trim_drive
    if drive.kind == "none":
        return []
    needed = question.of(standing, partial(trim_power, drive.kind))
    setting = float(np.median(required.setting))
    travel = (float(drive.travel_min) - setting, float(drive.travel_max) - setting)
    slow, fast = sorted((float(drive.loaded_rate), float(drive.rate)))
    rates = _both_ways(np.linspace(0.9 * slow, 1.1 * fast, 4))
    wider = _both_ways(np.linspace(0.5 * slow, 2.0 * fast, 5))
    double = (2.0 * travel[0], 2.0 * travel[1])
    compared = trim_needs(airplane, question.judged, travel)
    runaway = CauseName.STABILIZER_RUNAWAY if drive.kind == "stabilizer" else CauseName.TAB_RUNAWAY
    motors = ((runaway, motor_runs), (CauseName.INTERMITTENT_RUNAWAY, two_motor_runs))
    found = []
    for cause, make in motors if fast > 0.0 else ():  # turned by hand alone: nothing runs away

        def runs(rates: Array, travel: tuple[float, float], make=make) -> Histories:
            return question.averaged(lambda time: make(time, rates, travel))

        extras = (
            Extra(Grant.OTHER_RATE, 2.0 * fast, runs(wider, travel)),
            Extra(Grant.OTHER_TRAVEL, 2.0 * max(map(abs, travel)), runs(rates, double)),
        )
        found.append(
            question.judge(cause, needed, runs(rates, travel), extras=extras, comparisons=compared)
        )
    size = 3.0 * max(map(abs, travel))
    sizes = _both_ways(np.geomspace(0.01, 1.0, SIZES) * size)
    loose = question.averaged(lambda time: steps(time, sizes, BREAKS))
    found.append(question.judge(CauseName.SEPARATION, needed, loose, comparisons=compared[:1]))
    return found


def load_causes(question: Question, reach: LoadReach | None) -> list[Judgement]:
    """Load moved aft and forward; constant once moved.

    Args:
        question: What is judged.
        reach: What the load could do; None where no loading is known.

    Returns:
        Both.
    """
    chord = float(question.airplane.geometry.mean_chord)
    least, unlisted = UNLISTED_ITEM * chord, UNLISTED_SHIFT * chord
    aft, forward = (unlisted, unlisted), (-unlisted, -unlisted)
    if reach is not None:
        aft = (max(reach.aft, least), max(reach.all_aft, least))
        forward = (min(reach.forward, -least), min(reach.all_forward, -least))
    return [
        _load_cause(question, CauseName.LOAD_SHIFT_AFT, *aft),
        _load_cause(question, CauseName.LOAD_SHIFT_FORWARD, *forward),
    ]


def load_need(question: Question) -> Needed:
    """What a moved load had to supply.

    Args:
        question: What is judged.

    Returns:
        The need, with the normal force coefficient over the chord as the effect of a metre.
    """
    return question.of(standing, lambda required: required.shift_effect)


def shifts(question: Question, sizes: Array) -> Histories:
    """Loads that slide by a total shift of the CG.

    Args:
        question: What is judged.
        sizes: m aft, none of them zero.

    Returns:
        The histories.
    """
    return question.averaged(lambda time: steps(time, sizes, SLIDES))


def shift_chance(question: Question, forward: float, aft: float) -> float:
    """How often a flight on which the load moved that far would fit as poorly or worse.

    Args:
        question: What is judged.
        forward: Furthest shift forward, m (0 or less).
        aft: Furthest aft, m (0 or more).

    Returns:
        Probability with nobody on the column; NaN where the need is known at too few times.
    """
    needed = load_need(question)
    share = np.geomspace(LEAST_SHIFT, 1.0, SIZES)
    sizes = np.concatenate([share * reach for reach in (forward, aft) if reach != 0.0] or [[]])
    if not needed.known or sizes.size == 0:
        return float("nan")
    return flown(needed, shifts(question, sizes), NOBODY, question.rng).probability


def _load_cause(question: Question, cause: CauseName, loose: float, every: float) -> Judgement:
    """A load within reach; then fixed items too, then more than all that is listed."""
    share = np.geomspace(LEAST_SHIFT, 1.0, SIZES)
    extras = []
    if abs(every) > abs(loose):
        extras.append(Extra(Grant.FIXED_ITEMS, every, shifts(question, share * every)))
        more = MORE_LOAD * every
        extras.append(Extra(Grant.MORE_LOAD, more, shifts(question, share * more)))
    return question.judge(
        cause,
        load_need(question),
        shifts(question, share * loose),
        extras=tuple(extras),
        comparisons=shift_need(question.judged, (min(loose, 0.0), max(loose, 0.0))),
    )


def hand_causes(question: Question) -> list[Judgement]:
    """Nothing moved of itself: a pilot who flies, a hand that drives it, nobody at all.

    Args:
        question: What is judged.

    Returns:
        No failure, control input and incapacitation.
    """
    force = force_need(question.judged)
    trimming = _crew_trim(question)
    return [
        question.judge_still(CauseName.NO_FAILURE, FLYING, extras=trimming, comparisons=force),
        question.judge_still(CauseName.CONTROL_INPUT, DRIVING, comparisons=force),
        question.judge_still(CauseName.INCAPACITATION, NOBODY, comparisons=force),
    ]


def _crew_trim(question: Question) -> tuple[Extra, ...]:
    """The pitch trim used as it is meant to be, in newtons of pull."""
    drive, required = question.airplane.trim_drive, question.judged.required
    fast = max(float(drive.rate), float(drive.manual_rate))
    if drive.kind == "none" or fast == 0.0:
        return ()
    moves = trim_power(drive.kind, required) / worth_of_pull(required)
    worth = np.median(moves[:, question.judged.knots], axis=0)
    setting = float(np.median(required.setting))
    travel = (float(drive.travel_min) - setting, float(drive.travel_max) - setting)
    rates = fast * np.array([-1.0, -0.5, 0.5, 1.0])
    runs = question.averaged(lambda time: motor_runs(time, rates, travel))
    return (Extra(Grant.CREW_TRIM, fast, replace(runs, values=runs.values * worth)),)


def jam(question: Question) -> Judgement:
    """An elevator stuck where it was, or at another place; the pilot flies on the trim.

    Args:
        question: What is judged.

    Returns:
        The judgement. Hands on the column do nothing; trim moves within its travel and at its
        rate, which is what *anything* stands for here.
    """
    airplane = question.airplane
    needed = question.of(
        lambda required: required.moment_coefficient, lambda required: required.power.elevator
    )
    span = question.judged.span
    if not needed.known:
        return not_judged(CauseName.ELEVATOR_JAM, span, NotJudged.TOO_FEW_TIMES)
    control = airplane.pitch_control
    places = np.linspace(float(control.elevator_min), float(control.elevator_max), 2 * SIZES)
    stuck = question.averaged(lambda time: steps(time, places, BREAKS))
    most = np.broadcast_to(_trim_authority(question), stuck.values.shape)
    free = np.zeros(stuck.values.shape)
    alone = attempt(needed, stuck, free, free, question.rng)
    trimmed = attempt(needed, stuck, -most, most, question.rng)
    best = max(alone, trimmed, key=lambda trial: trial.probability)
    word = word_of(best.probability, documented=True)
    large = GrantedCondition(Grant.LARGE_ERRORS, float("nan")) if word is Word.CAN_IF else None
    return Judgement(
        cause=CauseName.ELEVATOR_JAM,
        word=word,
        probability=best.probability,
        judged=span,
        abilities=(
            Ability(Hands.NONE, alone.probability, float("nan")),
            Ability(Hands.ANYTHING, best.probability, float("nan")),
        ),
        comparisons=elevator_need(airplane, question.judged),
        estimates=estimates(best),
        condition=large,
        miss=largest_miss(needed, best),
    )


def _trim_authority(question: Question) -> Array:
    """Moment coefficient that the trim can have added by each knot, shape (k,)."""
    drive, required = question.airplane.trim_drive, question.judged.required
    time = required.time[question.judged.knots]
    if drive.kind == "none":
        return np.zeros(time.size)
    moves = trim_power(drive.kind, required)
    fast = max(float(drive.rate), float(drive.manual_rate))
    travel = float(drive.travel_max) - float(drive.travel_min)
    moved = np.minimum(fast * np.maximum(time - question.judged.span[0], 0.0), travel)
    return moved * np.abs(np.median(moves[:, question.judged.knots], axis=0))
