"""What every cause is judged on: the airplane, the flight and the needs that causes share."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.moments.judge import (
    HandsOfPilot,
    abilities,
    judge,
)
from neutralpoint.moments.judgement import (
    Ability,
    Judgement,
)
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
    nothing,
)
from neutralpoint.numerics.arrays import Array
from neutralpoint.vocabulary import CauseName


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
