"""Every cause that the required moment can judge, one judgement each."""

from __future__ import annotations

from neutralpoint.moments.column_causes import hand_causes, jam
from neutralpoint.moments.energy import Energy
from neutralpoint.moments.judgement import Judgement
from neutralpoint.moments.load_causes import load_causes
from neutralpoint.moments.loads import LoadReach
from neutralpoint.moments.question import Question
from neutralpoint.moments.stall import spiral_dive, wing_stall
from neutralpoint.moments.thrust import power_causes
from neutralpoint.moments.trim_causes import trim_causes
from neutralpoint.numerics.arrays import Array, Flags


def judge_causes(
    question: Question,
    found: Energy,
    *,
    bank: Array,
    bank_known: Flags,
    reach: LoadReach | None = None,
) -> list[Judgement]:
    """Judge every cause that this airplane can have and a pitching moment can tell of.

    Args:
        question: The airplane, the flight and the times that are looked at.
        found: Thrust needed, and the bounds of the engines.
        bank: rad, shape (S, m).
        bank_known: True where the data bear a value of it, shape (m,).
        reach: What the load could do; None where no loading is known.

    Returns:
        One judgement a cause.

    Checked against: tests/recovery/test_moments.py and benchmarks/moments_verdicts.py.
    """
    return [
        *hand_causes(question),
        *trim_causes(question),
        jam(question),
        *load_causes(question, reach),
        *power_causes(question, found),
        wing_stall(question),
        spiral_dive(question, bank, bank_known),
    ]
