"""The word for one cause, from what it can make of itself and beside hands.

*Can* where the documented set, resisted by hands, fits as a flight of its own would; *can if* where
one thing granted saves it; *cannot* where nothing does. The two levels bound the worst error,
excluding the true cause (benchmarks/moments_verdicts.py).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.moments.chance import chance, changes
from neutralpoint.moments.fit import Fits, closest
from neutralpoint.moments.hands import limits
from neutralpoint.moments.judgement import (
    Ability,
    Comparison,
    Grant,
    GrantedCondition,
    Hands,
    Judgement,
    Miss,
    NotJudged,
    ValueBand,
    Word,
    not_judged,
)
from neutralpoint.moments.needed import Needed
from neutralpoint.moments.shapes import Histories
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import POUND_FORCE
from neutralpoint.vocabulary import CauseName
from neutralpoint.vocabulary.strength import LARGEST, TWO_HANDS

# Measured in benchmarks/results/moments_verdicts.md.
ABLE = 0.05
UNABLE = 0.01
NARROWED = 0.5  # share of what was tried within which a band is worth printing
# Forces that a price is looked for among, up to the largest measured.
PRICES = POUND_FORCE * np.array([5, 10, 15, 20, 25, 30, 40, 50, 60, 75, 95, 120, 150, 175, 200])
SEEN = 0.05  # standard deviations below which nothing is off
LIKELY = 2.7  # squared distance beyond the best within which a history belongs to the 90% band


@dataclass(frozen=True)
class Extra:
    """A wider set with what must be granted for it."""

    grant: Grant
    value: float
    histories: Histories


@dataclass(frozen=True)
class Trial:
    """One hypothesis held against the need."""

    probability: float
    fits: Fits
    histories: Histories


@dataclass(frozen=True)
class HandsOfPilot:
    """Hands that belong to a cause as such: what they do, with how much force (N)."""

    hands: Hands
    force: float


NOBODY = HandsOfPilot(Hands.NONE, 0.0)
RESISTED = HandsOfPilot(Hands.RESISTING, TWO_HANDS.force)


def attempt(
    needed: Needed, histories: Histories, low: Array, high: Array, rng: np.random.Generator
) -> Trial:
    """Hold one hypothesis against the need.

    Args:
        needed: The need.
        histories: What the cause can make of itself.
        low: Least moment coefficient that may be added to each, shape (c, k).
        high: Most, shape (c, k).
        rng: Source of random numbers.

    Returns:
        Its probability and its closest histories.
    """
    made = histories.values * needed.effect
    fits = closest(needed, made, low, high)
    directions = changes(needed.time, np.stack([np.ones_like(needed.pull), needed.pull]))
    chances = np.empty(len(fits.off))
    for bound in np.unique(fits.bound, axis=0):  # strata that share a null distribution
        same = (fits.bound == bound).all(axis=1)
        chances[same] = chance(
            fits.off[same], needed.covariance, bound, directions, samples=needed.samples, rng=rng
        )
    return Trial(float(needed.weights @ chances), fits, histories)


def flown(
    needed: Needed, histories: Histories, pilot: HandsOfPilot, rng: np.random.Generator
) -> Trial:
    """Compare a cause with hands on the column with the need.

    Args:
        needed: The need.
        histories: What the cause can make of itself.
        pilot: The hands.
        rng: Source of random numbers.

    Returns:
        Its probability and its closest histories.
    """
    made = histories.values * needed.effect
    low, high = limits(pilot.hands, pilot.force, needed, made, histories.start)
    return attempt(needed, histories, low, high, rng)


def price(needed: Needed, histories: Histories, hands: Hands, rng: np.random.Generator) -> float:
    """Least force with which the cause and such hands make the path.

    Args:
        needed: The need.
        histories: What the cause can make of itself.
        hands: What hands may add.
        rng: Source of random numbers.

    Returns:
        N, one of `PRICES`; infinite beyond the largest measured.
    """

    low, high = -1, len(PRICES)
    while high - low > 1:
        middle = (low + high) // 2
        pilot = HandsOfPilot(hands, float(PRICES[middle]))
        enough = flown(needed, histories, pilot, rng).probability >= ABLE
        low, high = (low, middle) if enough else (middle, high)
    return float("inf") if high == len(PRICES) else float(PRICES[high])


def abilities(
    needed: Needed, histories: Histories, rng: np.random.Generator
) -> tuple[Ability, ...]:
    """What a cause can do beside each kind of hands.

    Args:
        needed: The need.
        histories: As documented.
        rng: Source of random numbers.

    Returns:
        One row for each kind of hands.
    """

    alone = flown(needed, histories, NOBODY, rng).probability
    found = [Ability(Hands.NONE, alone, float("nan"))]
    for hands in (Hands.RESISTING, Hands.ANYTHING):
        if alone >= ABLE:  # no hands are needed, and none can hurt
            found.append(Ability(hands, 1.0, 0.0))
            continue
        trial = flown(needed, histories, HandsOfPilot(hands, TWO_HANDS.force), rng)
        found.append(Ability(hands, trial.probability, price(needed, histories, hands, rng)))
    return tuple(found)


def judge(
    cause: CauseName,
    needed: Needed,
    histories: Histories,
    *,
    judged: tuple[float, float],
    rng: np.random.Generator,
    able: tuple[Ability, ...] | None = None,
    pilot: HandsOfPilot = RESISTED,
    extras: tuple[Extra, ...] = (),
    comparisons: tuple[Comparison, ...] = (),
) -> Judgement:
    """The word for a cause.

    Args:
        cause: Which.
        needed: What it had to supply.
        histories: What it can make of itself, as documented.
        judged: First and last time looked at, s.
        rng: Source of random numbers.
        able: What it can do beside each kind of hands, where that is worked out already.
        pilot: The hands that belong to it.
        extras: Wider sets with what must be granted for them.
        comparisons: Needed against available, for the reader.

    Returns:
        The judgement.
    """
    if not needed.known:
        return not_judged(cause, judged, NotJudged.TOO_FEW_TIMES)
    able = able or abilities(needed, histories, rng)
    trial, condition = flown(needed, histories, pilot, rng), None
    if trial.probability < ABLE:
        options = _options(histories, pilot, able, extras)
        trial, condition = _first_able(needed, options, trial, rng)
    word = word_of(trial.probability, documented=condition is None)
    if word is Word.CAN_IF and trial.probability < ABLE:
        condition = GrantedCondition(Grant.LARGE_ERRORS, float("nan"))
    return Judgement(
        cause=cause,
        word=word,
        probability=trial.probability,
        judged=judged,
        abilities=able,
        comparisons=comparisons,
        estimates=estimates(trial),
        condition=condition if word is Word.CAN_IF else None,
        miss=largest_miss(needed, trial),
    )


def word_of(probability: float, *, documented: bool) -> Word:
    """The word that follows from a probability.

    Args:
        probability: Of the best hypothesis.
        documented: Whether nothing was granted for it.

    Returns:
        The word.
    """
    if probability < UNABLE:
        return Word.CANNOT
    return Word.CAN if documented and probability >= ABLE else Word.CAN_IF


Option = tuple[GrantedCondition, Histories, HandsOfPilot]


def _options(
    histories: Histories, pilot: HandsOfPilot, able: tuple[Ability, ...], extras: tuple[Extra, ...]
) -> list[Option]:
    """What may be granted, one thing at a time."""
    prices = {ability.hands: ability.price for ability in able}
    stronger = GrantedCondition(Grant.STRONGER_HANDS, prices[pilot.hands])
    found: list[Option] = [
        (GrantedCondition(extra.grant, extra.value), extra.histories, pilot) for extra in extras
    ]
    if 0.0 < pilot.force < LARGEST.force:
        found.insert(0, (stronger, histories, HandsOfPilot(pilot.hands, LARGEST.force)))
    return found


def _first_able(
    needed: Needed, options: list[Option], documented: Trial, rng: np.random.Generator
) -> tuple[Trial, GrantedCondition | None]:
    """The first grant that does, or else what comes closest."""
    best, condition = documented, None
    for granted, histories, pilot in options:
        trial = flown(needed, histories, pilot, rng)
        if trial.probability > best.probability:
            best, condition = trial, granted
        if best.probability >= ABLE:
            break
    return best, condition


def estimates(trial: Trial) -> tuple[tuple[str, ValueBand], ...]:
    """Parameters of the histories that fit, with the band they leave.

    Args:
        trial: The hypothesis.

    Returns:
        Only parameters that the data narrow to less than `NARROWED` of what was tried.

    Source: profile likelihood, the 90% region of one parameter lies within 2.7 of the least
    squared distance (chi-square with one degree of freedom).
    """
    if trial.probability < UNABLE:
        return ()
    every = trial.fits.every
    best, likely = int(every.argmin()), every <= every.min() + LIKELY
    found = []
    for index, name in enumerate(trial.histories.names):
        tried = trial.histories.parameters[:, index]
        low, high = float(tried[likely].min()), float(tried[likely].max())
        if high - low <= NARROWED * np.ptp(tried):
            found.append((name, ValueBand(low, float(tried[best]), high)))
    return tuple(found)


def largest_miss(needed: Needed, trial: Trial) -> Miss | None:
    """The largest residual of the closest history.

    Args:
        needed: The need.
        trial: The hypothesis.

    Returns:
        The place and size, None where nothing is off.
    """
    off = trial.fits.off[int(trial.fits.squares.argmin())]
    own = off / np.sqrt(np.diag(needed.covariance))
    at = int(np.argmax(np.abs(own)))
    if abs(own[at]) < SEEN:
        return None
    return Miss(float(needed.time[at]), float(own[at]), float(off[at] * needed.scale[at]))
