"""Load moved aft or forward: one shift of the center of gravity from its move on."""

from __future__ import annotations

import numpy as np

from neutralpoint.moments.comparing import shift_need
from neutralpoint.moments.judge import (
    NOBODY,
    Extra,
    flown,
)
from neutralpoint.moments.judgement import (
    Grant,
    Judgement,
)
from neutralpoint.moments.loads import LoadReach
from neutralpoint.moments.needed import (
    Needed,
)
from neutralpoint.moments.question import Question, standing
from neutralpoint.moments.shapes import (
    Histories,
    steps,
)
from neutralpoint.numerics.arrays import Array
from neutralpoint.vocabulary import CauseName

UNLISTED_SHIFT = 0.3  # chords, where no loading is known. Analyst's estimate.
UNLISTED_ITEM = 0.005  # chords that something nobody listed may shift it. Analyst's estimate.
MORE_LOAD = 2.5  # times the reach of all listed items; analyst's
LEAST_SHIFT = 0.05  # of the reach: a load that moves moves the CG by no less; analyst's
SLIDES = np.array([0.5, 1.5, 3.0])  # s that a load takes to move (trade notes: 1 to 3 s)
SIZES = 30  # tried between the least and the most; finer than the data tell apart


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
        Probability with controls free; NaN where the need is known at too few times.
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
