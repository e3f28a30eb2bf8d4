"""Verdicts over the references that may be the last steady flight before the fault."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from neutralpoint.moments import GrantedCondition, Judgement, Reference
from neutralpoint.moments.judge import ABLE, UNABLE
from neutralpoint.moments.judgement import Grant, Word
from neutralpoint.vocabulary import CauseName


@dataclass(frozen=True)
class Reading:
    """The verdicts with the changes counted from one reference.

    Attributes:
        reference: Which.
        verdicts: One a cause.
    """

    reference: Reference
    verdicts: list[Judgement]


@dataclass(frozen=True)
class Moved:
    """What is said with the reference or the stated onset moved.

    Attributes:
        what: Which of the two.
        seconds: By how much, later positive.
        end: Last moment of the reference, s after the epoch.
        force: Column force furthest from 0 that was needed: 5, 50 and 95% of the paths, N, pull
            positive.
        verdicts: One a cause.
    """

    what: Literal["reference", "onset"]
    seconds: float
    end: float
    force: tuple[float, float, float]
    verdicts: list[Judgement]


def extreme(force: np.ndarray) -> tuple[float, float, float]:
    """The largest force either way over the judged time.

    Args:
        force: N, shape (S, k).

    Returns:
        5, 50 and 95% of the paths; NaN where nothing is judged.
    """
    if force.shape[1] == 0:
        return float("nan"), float("nan"), float("nan")
    furthest = np.take_along_axis(force, np.abs(force).argmax(axis=1)[:, None], axis=1)
    low, middle, high = np.quantile(furthest, (0.05, 0.5, 0.95))
    return float(low), float(middle), float(high)


def over_readings(readings: list[Reading]) -> list[Judgement]:
    """One verdict a cause: its probability is the mean over the readings.

    Args:
        readings: At least one, each with the same causes.

    Returns:
        The verdict of the reading that counts most for the mean, with the mean probability and the
        word that goes with it.
    """
    if len(readings) == 1:
        return readings[0].verdicts
    weights = np.array([reading.reference.weight for reading in readings])
    each = zip(*(reading.verdicts for reading in readings), strict=True)
    return [_mean(list(verdicts), weights) for verdicts in each]


def _mean(verdicts: list[Judgement], weights: np.ndarray) -> Judgement:
    """The verdict on one cause over all readings in which it could be judged."""
    share = weights * np.array([np.isfinite(verdict.probability) for verdict in verdicts])
    if not share.any():
        return verdicts[int(weights.argmax())]
    share = share / share.sum()
    each = np.nan_to_num([verdict.probability for verdict in verdicts])
    leading = verdicts[int((share * each if each.any() else share).argmax())]
    probability = float(share @ each)
    if leading.word is Word.CAN and probability >= ABLE:
        return replace(leading, probability=probability)
    if probability < UNABLE or leading.word is Word.CANNOT:
        return replace(leading, word=Word.CANNOT, probability=probability, condition=None)
    condition = leading.condition or GrantedCondition(Grant.LARGE_ERRORS, float("nan"))
    return replace(leading, word=Word.CAN_IF, probability=probability, condition=condition)


def differing(readings: list[Reading]) -> list[tuple[CauseName, list[Word]]]:
    """Causes on which the readings differ.

    Args:
        readings: One a reference.

    Returns:
        The cause and its word in each reading.
    """
    each = zip(*(reading.verdicts for reading in readings), strict=True)
    words = [(group[0].cause, [verdict.word for verdict in group]) for group in each]
    return [(cause, said) for cause, said in words if len(set(said)) > 1]
