"""Odds from evidence: prior by the analyst, Bayes factors beside, words on one scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.special import logsumexp

from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array
from neutralpoint.vocabulary import CauseName

# Rows for a flight on which nothing failed, and for a cause that nobody has listed.
NOTHING, UNLISTED = CauseName.NO_FAILURE, CauseName.UNLISTED

Strength = Literal["not worth more than a bare mention", "positive", "strong", "very strong"]
# Kass and Raftery, J. Am. Stat. Assoc. 90 (1995) 773-795, section 3.2: limits of 2 ln B (found),
# wording from memory.
WORDS: tuple[tuple[float, Strength], ...] = (
    (2.0, "not worth more than a bare mention"),
    (6.0, "positive"),
    (10.0, "strong"),
    (np.inf, "very strong"),
)

# Chance that something failed on a flight nothing is known of: far above any rate of failures that
# show in the path, so that it favours no quick "nothing failed". Analyst's estimate.
FAILED = 0.01


@dataclass(frozen=True)
class Odds:
    """Probabilities of the causes, with the band over repeated runs.

    Attributes:
        causes: Names, C of them.
        prior: The analyst's, shape (C,).
        probability: Posterior, shape (C,).
        low: Lowest over the runs, shape (C,).
        high: Highest over the runs, shape (C,).
        log_evidence: ln p(data | cause), up to one constant, mean over the runs, shape (C,).
        log_evidence_error: Standard deviation of one run, shape (C,).
    """

    causes: tuple[str, ...]
    prior: Array
    probability: Array
    low: Array
    high: Array
    log_evidence: Array
    log_evidence_error: Array

    def order(self) -> list[int]:
        """Indices, most probable first.

        Returns:
            C indices.
        """
        return list(np.argsort(-self.probability, kind="stable"))


def posterior(prior: Array, log_evidence: Array) -> Array:
    """Bayes' rule.

    Args:
        prior: Sums to 1, shape (C,).
        log_evidence: Shape (..., C).

    Returns:
        Probabilities, shape (..., C).
    """
    with np.errstate(divide="ignore"):
        joint = np.log(prior) + log_evidence
    return np.exp(joint - np.asarray(logsumexp(joint, axis=-1, keepdims=True)))


def equal_prior(causes: tuple[str, ...], weights: dict[str, float] | None = None) -> Array:
    """Prior odds: 1 each, unless the analyst gave another weight.

    Args:
        causes: Names.
        weights: Weight by name; a cause that is not named has weight 1.

    Returns:
        Sums to 1, shape (C,).

    Raises:
        NeutralPointError: `argument-invalid` for an unknown cause or a weight that is not positive.
    """
    weights = weights or {}
    for name, weight in weights.items():
        if name not in causes or not 0.0 < weight < np.inf:
            raise NeutralPointError(
                "argument-invalid",
                f"A prior weight of {weight} was given for {name!r}.",
                where=f"prior.{name}",
                hint=f"Give a number above 0 for one of: {', '.join(causes)}.",
            )
    values = np.array([weights.get(name, 1.0) for name in causes], dtype=float)
    return values / values.sum()


def prior_of_failure(
    causes: tuple[str, ...], failed: float = FAILED, weights: dict[str, float] | None = None
) -> Array:
    """Prior odds by the chance that anything failed at all.

    Equal weights of C causes hold it for (C - 1) / C certain that something failed. That suits a
    flight of which it is known; for one that is only looked at, the chance is stated instead.

    Args:
        causes: Names, the one on which nothing failed among them.
        failed: Chance that something failed, shared out by the weights.
        weights: Weight by name; a cause that is not named has weight 1.

    Returns:
        Sums to 1, shape (C,).

    Raises:
        NeutralPointError: `argument-invalid` for an unknown cause, a weight that is not positive,
            or a chance that is not between 0 and 1.
    """
    if not 0.0 < failed < 1.0 or NOTHING not in causes:
        raise NeutralPointError(
            "argument-invalid",
            f"A chance of {failed} that something failed was given.",
            where="prior.failed",
            hint="Give a number between 0 and 1, and weigh with no-failure among the causes.",
        )
    values = equal_prior(causes, weights)
    null = causes.index(NOTHING)
    values[null] = 0.0
    values *= failed / values.sum()
    values[null] = 1.0 - failed
    return values


def combine(causes: tuple[str, ...], prior: Array, runs: Array) -> Odds:
    """Odds with their band from repeated runs.

    Args:
        causes: Names.
        prior: Shape (C,).
        runs: Log evidence of each run, shape (R, C).

    Returns:
        The odds; the probability is the mean over the runs.
    """
    each = posterior(prior, runs)
    centred = runs - np.asarray(logsumexp(runs, axis=1, keepdims=True))
    return Odds(
        causes,
        prior,
        each.mean(axis=0),
        each.min(axis=0),
        each.max(axis=0),
        centred.mean(axis=0),
        centred.std(axis=0, ddof=1) if len(runs) > 1 else np.full(len(causes), np.nan),
    )


def bayes_factor_words(log_factor: float) -> Strength:
    """Kass and Raftery's words for a Bayes factor.

    Args:
        log_factor: ln B, of either sign.

    Returns:
        The words; for a negative one they hold for the other side.
    """
    return next(word for limit, word in WORDS if 2.0 * abs(log_factor) <= limit)
