"""What could be done about one cause, as it was flown."""

from __future__ import annotations

from dataclasses import dataclass

from neutralpoint.explanations import Cause
from neutralpoint.numerics.arrays import Floats
from neutralpoint.response import Outcome
from neutralpoint.study.response.direction import FaultWay


@dataclass(frozen=True)
class Force:
    """With nobody at the column: the pull that holding on would take, and who could give it.

    Attributes:
        time: s after the fault began, shape (n,).
        pull: N, shape (n,).
        one_hand: Share of the population, shape (n,).
        two_hands: The same with two hands.
    """

    time: Floats
    pull: Floats
    one_hand: Floats
    two_hands: Floats


@dataclass(frozen=True)
class Answered:
    """One cause and all that could be done about it.

    Attributes:
        cause: The cause.
        flown: Which way its faults are flown.
        procedures: What is done; lessons follow the airplane's own.
        lessons: Names of the lessons, the last of `procedures`.
        reference: The procedure that lessons are compared with.
        over_height: Flights over procedure, delay and pilot.
        over_rate: Over procedure, rate, delay and pilot; None without a trim rate.
        stated: Over procedure and pilot, at the stated reaction.
        regulatory: Over procedure, delay of the rules and pilot.
        latest: Latest safe action, s after the fault began, over procedure and pilot; -1 even at
            once is too late, infinite no end within `LONGEST`; NaN where nothing is begun.
        force: None where the airplane that holding on is worked out for is not the faulty one.
    """

    cause: Cause
    flown: FaultWay
    procedures: tuple[str, ...]
    lessons: tuple[str, ...]
    reference: str
    over_height: Outcome[Floats]
    over_rate: Outcome[Floats] | None
    stated: Outcome[Floats]
    regulatory: Outcome[Floats]
    latest: Floats
    force: Force | None
