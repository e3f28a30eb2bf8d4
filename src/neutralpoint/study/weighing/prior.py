"""What is believed of the causes before the track is looked at, and who said so."""

from __future__ import annotations

from dataclasses import dataclass

from neutralpoint.case import Case
from neutralpoint.explanations import Facts
from neutralpoint.numerics.arrays import Array
from neutralpoint.weighing.mechanism import grouped_prior
from neutralpoint.weighing.odds import FAILED, NOTHING, UNLISTED
from neutralpoint.weighing.simulate import flyable


@dataclass(frozen=True)
class StatedPrior:
    """The analyst's weight of a cause or of a mechanism, and why."""

    cause: str
    weight: float
    reason: str


@dataclass(frozen=True)
class Belief:
    """Prior of the causes.

    Attributes:
        names: Of the causes that can act on the airplane, the unlisted one last.
        prior: Sums to 1, shape (C,).
        stated: Weights that the analyst stated; equal where empty.
        failed: Chance that something failed; None where a weight of no-failure speaks of it.
        said: Whether that chance was stated in the case.
    """

    names: tuple[str, ...]
    prior: Array
    stated: tuple[StatedPrior, ...]
    failed: float | None
    said: bool


def _stated(case: Case, given: dict[str, float]) -> tuple[StatedPrior, ...]:
    """Weights of the case file, those of a command instead where both speak of a cause."""
    written = [
        StatedPrior(entry.cause, entry.weight, entry.reason)
        for entry in case.document.prior
        if entry.cause not in given
    ]
    return (
        *written,
        *(StatedPrior(c, float(w), "stated with the command") for c, w in given.items()),
    )


def belief_of(case: Case, given: dict[str, float], facts: Facts) -> Belief:
    """Causes that can act on the airplane, and what is believed of them before the track.

    Args:
        case: The case; its airplane is known.
        given: Weights by cause that come before those of the case file. One of no-failure
            comes before the chance that something failed.
        facts: Of the flight; they exclude causes.

    Returns:
        The prior.

    Raises:
        NeutralPointError: `argument-invalid` for a cause that cannot act on the airplane.
    """
    names = (*(cause.name for cause in flyable(case.described.airplane, facts)), UNLISTED)
    stated = _stated(case, given)
    weights = {entry.cause: entry.weight for entry in stated}
    if NOTHING in weights:
        return Belief(names, grouped_prior(names, None, weights), stated, None, said=False)
    said = case.document.something_failed
    failed = FAILED if said is None else said
    prior = grouped_prior(names, failed, weights)
    return Belief(names, prior, stated, failed, said is not None)
