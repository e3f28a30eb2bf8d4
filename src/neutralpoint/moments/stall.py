"""Wing stall and spiral dive: did the airplane get to where they begin?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.stats import norm

from neutralpoint.moments.column_causes import FLYING
from neutralpoint.moments.judge import UNABLE, word_of
from neutralpoint.moments.judgement import (
    ComparedQuantity,
    Comparison,
    Grant,
    GrantedCondition,
    Judgement,
    Miss,
    NotJudged,
    ValueBand,
    Word,
    not_judged,
)
from neutralpoint.moments.question import Question
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.numerics.extremes import highest, lowest
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName

# Share of the lift between zero and the stall that ice can take: roughness like coarse sandpaper on
# the leading edge lowers the maximum lift by some 30% (FAA AC 91-74, from memory).
ICE_LOSS = 0.3
STEEP_BANK = 45.0 * DEGREE  # upset recovery aids count bank beyond it as an upset
LEAST_TILT = 3.0 * DEGREE  # of the steepest bank; analyst's
LEAST_SEEN = 0.5  # share of the time at which a bank must be known; analyst's
LEAST_SPREAD = 0.25 * DEGREE  # of the least margin; smoothing hides a short peak. Analyst's


def _later(question: Question) -> Flags:
    """All of the flight that is left after the reference."""
    return question.judged.required.time >= question.judged.span[0]


def wing_stall(question: Question) -> Judgement:
    """Whether the angle of attack reached the stall, at any time after the reference.

    Args:
        question: What is judged.

    Returns:
        The judgement over all of the flight that is left; *can if* where ice would have had to
        lower the stalling angle, with the angle by which.
    """
    airplane, required = question.airplane, question.judged.required
    after = _later(question)
    least = lowest(required.stall_margin[:, after])
    mean, spread = float(least.value.mean()), max(float(least.value.std()), LEAST_SPREAD)
    lon = airplane.longitudinal
    lost = ICE_LOSS * (float(lon.stall_angle) + float(lon.CL_0) / float(lon.CL_alpha))
    clean, iced = (float(norm.sf((mean - less) / spread)) for less in (0.0, lost))
    word = word_of(clean, documented=True)
    condition = GrantedCondition(Grant.LARGE_ERRORS, float("nan")) if word is Word.CAN_IF else None
    if word is not Word.CAN and iced >= UNABLE:
        word, condition = Word.CAN_IF, GrantedCondition(Grant.ICE, max(mean, 0.0))
    highest_angle = ValueBand(*highest(required.angle_of_attack[:, after]).band())
    angles = (float(lon.negative_stall_angle), float(lon.stall_angle))
    at = float(np.median(required.time[after][least.node]))
    return Judgement(
        cause=CauseName.WING_STALL,
        word=word,
        probability=clean if condition is None or condition.grant is not Grant.ICE else iced,
        judged=(float(required.time[after][0]), float(required.time[-1])),
        comparisons=(Comparison(ComparedQuantity.INCIDENCE, highest_angle, *angles),),
        condition=condition,
        miss=Miss(at, mean / spread, float("nan")) if mean > 0.0 else None,
    )


def spiral_dive(question: Question, bank: Array, bank_known: Flags) -> Judgement:
    """A steep bank, with the column force of one hand at most.

    Args:
        question: What is judged.
        bank: rad, shape (S, m).
        bank_known: True where the data bear a value of it, shape (m,).

    Returns:
        The judgement; not judged where the bank is known at less than half of the times.
    """
    after = _later(question)
    seen = after & bank_known
    span = question.judged.span
    if seen.sum() < LEAST_SEEN * after.sum():
        return not_judged(CauseName.SPIRAL_DIVE, span, NotJudged.BANK_NOT_OBSERVABLE)
    found = question.judge_still(CauseName.SPIRAL_DIVE, FLYING)
    if found.word is Word.NOT_JUDGED:
        return found
    steepest = highest(np.abs(bank[:, seen]))
    mean, spread = float(steepest.value.mean()), max(float(steepest.value.std()), LEAST_TILT)
    steep = float(norm.sf((STEEP_BANK - mean) / spread))
    word = word_of(min(steep, found.probability), documented=found.condition is None)
    return replace(
        found,
        word=word,
        probability=min(steep, found.probability),
        comparisons=(
            *found.comparisons,
            Comparison(ComparedQuantity.BANK, ValueBand(*steepest.band()), STEEP_BANK, np.pi),
        ),
        condition=found.condition if word is Word.CAN_IF else None,
    )
