"""Who moves the column: a pilot who flies, a hand that drives, nobody, or a stuck elevator."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from neutralpoint.moments.comparing import elevator_need, force_need
from neutralpoint.moments.judge import (
    NOBODY,
    Extra,
    HandsOfPilot,
    attempt,
    estimates,
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
from neutralpoint.moments.needed import (
    worth_of_pull,
)
from neutralpoint.moments.question import Question, trim_power
from neutralpoint.moments.shapes import (
    motor_runs,
    steps,
)
from neutralpoint.numerics.arrays import Array
from neutralpoint.vocabulary import CauseName
from neutralpoint.vocabulary.strength import LARGEST, ONE_HAND

FLYING = HandsOfPilot(Hands.ANYTHING, ONE_HAND.force)
DRIVING = HandsOfPilot(Hands.ANYTHING, LARGEST.force)
BREAKS = np.array([0.2, 1.0])  # s that an elevator takes to its place; analyst's
PLACES = 60  # tried between the stops


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
    places = np.linspace(float(control.elevator_min), float(control.elevator_max), PLACES)
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
