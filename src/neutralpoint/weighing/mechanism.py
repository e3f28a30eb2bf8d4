"""Causes grouped by what they change: prior weights shared out by group, odds summed by it.

Two rows of one mechanism are one answer to most questions: a runaway of the stabilizer and one that
stops and starts again differ in the relay, not in what was wrong. So every mechanism has one
weight, whatever the number of its rows, and its odds are the sum of theirs.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array
from neutralpoint.vocabulary import CauseName, Mechanism

# Chances that something failed that the odds are shown for where the case states none: an ordinary
# flight, a report of something odd, an accident. Analyst's estimate.
CHANCES = (0.01, 0.5, 0.95)


def mechanisms_of(causes: tuple[str, ...]) -> tuple[Mechanism, ...]:
    """Mechanisms of a list of causes.

    Args:
        causes: Names.

    Returns:
        Each once, in the order of the vocabulary.
    """
    there = {CauseName(name).mechanism for name in causes}
    return tuple(m for m in Mechanism if m in there)


def by_mechanism(causes: tuple[str, ...], values: Array) -> Array:
    """Probabilities summed over the causes of each mechanism.

    Args:
        causes: Names, C of them.
        values: Probabilities, shape (..., C).

    Returns:
        Shape (..., G), in the order of `mechanisms_of`.

    Source: probabilities of causes that exclude each other add.
    """
    own = [CauseName(name).mechanism for name in causes]
    member = np.array([[m == group for group in mechanisms_of(causes)] for m in own], dtype=float)
    return np.asarray(values) @ member


def own_weights(causes: tuple[str, ...], prior: ArrayLike) -> dict[str, float]:
    """Weights that `grouped_prior` without a chance of failure makes a prior of.

    Args:
        causes: Names.
        prior: Shape (C,).

    Returns:
        By name; 1 for what most causes have.
    """
    each = np.asarray(prior) * _rows_of(causes)
    # The commonest value is the unit, for most causes have no weight of their own; nine digits hide
    # rounding.
    told = [f"{value:.9g}" for value in each]
    unit = float(max(dict.fromkeys(told), key=told.count))
    return {name: float(f"{v / unit:.8g}") for name, v in zip(causes, each, strict=True)}


def _rows_of(causes: tuple[str, ...]) -> Array:
    """How many rows the mechanism of each cause has, shape (C,)."""
    own = [CauseName(name).mechanism for name in causes]
    return np.array([own.count(m) for m in own], dtype=float)


def grouped_prior(
    causes: tuple[str, ...], failed: float | None, weights: dict[str, float] | None = None
) -> Array:
    """Prior odds with one weight a mechanism, shared equally among its rows.

    Args:
        causes: Names, the one on which nothing failed among them where `failed` is given.
        failed: Chance that something failed; None leaves no-failure a mechanism among others.
        weights: By name of a cause or of a mechanism, 1 where not named; that of a cause
            multiplies its share of its mechanism.

    Returns:
        Sums to 1, shape (C,).

    Raises:
        NeutralPointError: `argument-invalid` for an unknown name, a weight that is not positive, or
            a chance that is not between 0 and 1.
    """
    weights = weights or {}
    own = tuple(CauseName(name).mechanism for name in causes)
    _check(causes, own, weights)
    values = np.array([_weight(n, m, weights) for n, m in zip(causes, own, strict=True)])
    values /= _rows_of(causes)
    if failed is None:
        return values / values.sum()
    if not 0.0 < failed < 1.0 or CauseName.NO_FAILURE not in causes:
        raise NeutralPointError(
            "argument-invalid",
            f"A chance of {failed} that something failed was given.",
            where="prior.failed",
            hint="Give a number between 0 and 1, and weigh with no-failure among the causes.",
        )
    # What is left of certainty goes to no failure, the rest to the others by their weights.
    null = causes.index(CauseName.NO_FAILURE)
    values[null] = 0.0
    values *= failed / values.sum()
    values[null] = 1.0 - failed
    return values


def _weight(name: str, group: Mechanism, weights: dict[str, float]) -> float:
    """Of a cause times of its mechanism; one name that means both counts once."""
    return weights.get(name, 1.0) * (1.0 if group == name else weights.get(group, 1.0))


def _check(
    causes: tuple[str, ...], groups: tuple[Mechanism, ...], weights: dict[str, float]
) -> None:
    for name, weight in weights.items():
        if (name not in causes and name not in groups) or not 0.0 < weight < np.inf:
            known = ", ".join((*causes, *(g for g in mechanisms_of(causes) if g not in causes)))
            raise NeutralPointError(
                "argument-invalid",
                f"A prior weight of {weight} was given for {name!r}.",
                where=f"prior.{name}",
                hint=f"Give a number above 0 for one of: {known}.",
            )
