"""Power loss: does the path need thrust that the engines left over cannot give?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.stats import norm

from neutralpoint.moments.column_causes import FLYING
from neutralpoint.moments.energy import HIDDEN_DRAG, Energy
from neutralpoint.moments.judge import word_of
from neutralpoint.moments.judgement import (
    ComparedQuantity,
    Comparison,
    Grant,
    GrantedCondition,
    Judgement,
    ValueBand,
    Word,
)
from neutralpoint.moments.question import Question
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import GRAVITY
from neutralpoint.vocabulary import CauseName

BLOCK = 8.0  # s over which thrust is averaged; a loss must show in one of them. Analyst's


def power_causes(question: Question, found: Energy) -> list[Judgement]:
    """Loss of all engines, and of one where there are more.

    Args:
        question: What is judged.
        found: Thrust needed and the bounds of the engines.

    Returns:
        The judgements; the pitch controls stay as trimmed, or one hand flies.
    """
    engines = len(question.airplane.engines)
    if engines == 0:
        return []
    flown = question.judge_still(CauseName.POWER_LOSS_ALL, FLYING)
    if flown.word is Word.NOT_JUDGED:
        return [flown]
    dead = np.maximum(found.idle, 0.0)  # feathered or stopped drags less than idle may
    most = {CauseName.POWER_LOSS_ALL: dead}
    if engines > 1:
        left = (engines - 1.0) / engines
        most[CauseName.POWER_LOSS_ONE] = left * found.full + (1.0 - left) * dead
    return [_limited(replace(flown, cause=cause), question, found.thrust, thrust)
            for cause, thrust in most.items()]  # fmt: skip


def _limited(flown: Judgement, question: Question, thrust: Array, most: Array) -> Judgement:
    """The judgement on the hands, limited by the thrust that the path needs."""
    need, available, probability = lowest_block(question, thrust, most)
    probability = min(probability, flown.probability)
    word = word_of(probability, documented=flown.condition is None)
    large = GrantedCondition(Grant.LARGE_ERRORS, float("nan"))
    return replace(
        flown,
        word=word,
        probability=probability,
        comparisons=(Comparison(ComparedQuantity.THRUST, need, -np.inf, available),),
        condition=(flown.condition or large) if word is Word.CAN_IF else None,
        miss=None,
    )


def lowest_block(question: Question, thrust: Array, most: Array) -> tuple[ValueBand, float, float]:
    """The stretch in which the path needs least thrust beyond what is left.

    Args:
        question: What is judged.
        thrust: Needed along the path, N, shape (S, m).
        most: What is left gives at most, N, shape (S, m).

    Returns:
        Band of the need there, what is left there, and the probability that the need is no more
        than that and `HIDDEN_DRAG` of the weight.
    """
    time = question.judged.required.time
    inside = np.flatnonzero(question.judged.inside)
    blocks = np.array_split(inside, max(1, int(np.ptp(time[inside]) / BLOCK)))
    hidden = HIDDEN_DRAG * float(question.airplane.mass.mass) * GRAVITY
    needs = np.stack([thrust[:, nodes].mean(axis=1) for nodes in blocks])
    left = np.stack([most[:, nodes].mean(axis=1) for nodes in blocks])
    beyond = (needs - left - hidden).mean(axis=1) / np.maximum((needs - left).std(axis=1), 1.0)
    at = int(np.argmin(beyond))
    low, middle, high = (float(q) for q in np.quantile(needs[at], (0.05, 0.5, 0.95)))
    return ValueBand(low, middle, high), float(left[at].mean()), float(norm.sf(beyond[at]))
