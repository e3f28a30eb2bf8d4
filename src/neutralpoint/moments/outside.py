"""A cause that is not listed, judged by the histories that it says it can make."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from neutralpoint.moments.judgement import Judgement
from neutralpoint.moments.needed import Needed
from neutralpoint.moments.question import Question, standing
from neutralpoint.moments.shapes import Histories
from neutralpoint.numerics.arrays import Array
from neutralpoint.vocabulary import CauseName


@dataclass(frozen=True)
class OutsideJudged:
    """A judgement with what it compares.

    Attributes:
        judgement: The word and its numbers; `cause` says *unlisted*.
        needed: Moment coefficient that something beside the hands had to supply.
        made: What the cause says it can make, at the same times, shape (c, k).
    """

    judgement: Judgement
    needed: Needed
    made: Array


def judge_outside(question: Question, make: Callable[[Array], Histories]) -> OutsideJudged:
    """Judge a cause by the pitching moment coefficients that it can add.

    The test is that of the listed causes: two hands resist it, and where that does not do, the
    strongest hands measured.

    Args:
        question: The airplane, the flight and the times that are looked at.
        make: From times, s, shape (n,), to histories of the moment coefficient added since
            trimmed flight, nose up positive; the first parameter is the start, s.

    Returns:
        The judgement; not judged where too few times are known.

    Checked against: tests/unit/test_outside.py.
    """
    needed = question.of(standing, lambda took: np.ones_like(took.moment))
    histories = question.averaged(make)
    said = question.judge(CauseName.UNLISTED, needed, histories)
    return OutsideJudged(said, needed, histories.values)
