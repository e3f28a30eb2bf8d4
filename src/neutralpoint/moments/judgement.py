"""What is said of one cause: a word and the numbers that it follows from, all typed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from neutralpoint.vocabulary import CauseName


class Word(StrEnum):
    """What the required moment says of a cause."""

    CANNOT = "cannot"
    CAN_IF = "can if"
    CAN = "can"
    NOT_JUDGED = "not judged"


class Hands(StrEnum):
    """What hands on the column are allowed to do beside a cause."""

    NONE = "none"
    RESISTING = "resisting"  # cancel the fault, bring the airplane back to its path
    ANYTHING = "anything"


class Grant(StrEnum):
    """What must be granted beyond the documents for a cause to make the path."""

    STRONGER_HANDS = "stronger-hands"
    CREW_TRIM = "crew-trim"
    OTHER_RATE = "other-rate"
    OTHER_TRAVEL = "other-travel"
    FIXED_ITEMS = "fixed-items"
    MORE_LOAD = "more-load"
    ICE = "ice"
    LARGE_ERRORS = "large-errors"


class ComparedQuantity(StrEnum):
    """What a need is compared in."""

    TRIM_ANGLE = "trim-angle"  # rad, change since trimmed flight
    TRIM_RATE = "trim-rate"  # rad/s, over `trim_rate.SPAN`
    ELEVATOR = "elevator"  # rad
    FORCE = "force"  # N, pull positive
    CG_SHIFT = "cg-shift"  # m aft
    THRUST = "thrust"  # N
    INCIDENCE = "incidence"  # rad of angle of attack left to the stall
    BANK = "bank"  # rad


class NotJudged(StrEnum):
    """Why a cause is not judged."""

    TOO_FEW_TIMES = "too-few-times"
    BANK_NOT_OBSERVABLE = "bank-not-observable"


@dataclass(frozen=True)
class ValueBand:
    """A value with its 90% band, SI."""

    low: float
    median: float
    high: float


@dataclass(frozen=True)
class Ability:
    """What a cause can do beside one kind of hands.

    Attributes:
        hands: What the hands are allowed to do.
        probability: How often a flight really made by this cause and such hands, of two hands'
            short-term force, would fit as poorly or worse; 1 where no hands are needed.
        price: Least force of such hands with which the cause makes the path, N; 0 where none are
            needed, infinite where the largest measured does not do, NaN for no hands.
    """

    hands: Hands
    probability: float
    price: float


@dataclass(frozen=True)
class Comparison:
    """What was needed of the cause beside what it has.

    Attributes:
        quantity: In what.
        needed: Of the extreme that was needed over the judged time, with its sign.
        low: Least available.
        high: Most available.
    """

    quantity: ComparedQuantity
    needed: ValueBand
    low: float
    high: float


@dataclass(frozen=True)
class GrantedCondition:
    """What saves a cause, and the value it takes (N, rad/s, rad or m; NaN where it has none)."""

    grant: Grant
    value: float


@dataclass(frozen=True)
class Miss:
    """The largest residual of the best history.

    Attributes:
        time: s.
        deviations: In standard deviations of that time.
        moment: In N m, needed less made.
    """

    time: float
    deviations: float
    moment: float


@dataclass(frozen=True)
class Judgement:
    """What the required moment says of one cause.

    Attributes:
        cause: Which.
        word: What is said.
        probability: How often a flight of this cause would fit as poorly or worse, under the
            hypothesis that the word rests on; NaN where not judged.
        judged: First and last time that were looked at, s.
        abilities: One for each kind of hands; empty where hands play no part.
        comparisons: Needed against available.
        estimates: Parameters of the best histories with their band, SI; only those that the data
            narrow.
        condition: What saves the cause; None for *can* and for *cannot*.
        miss: Its largest residual; None where nothing is off.
        reason: Why it is not judged.
    """

    cause: CauseName
    word: Word
    probability: float
    judged: tuple[float, float]
    abilities: tuple[Ability, ...] = ()
    comparisons: tuple[Comparison, ...] = ()
    estimates: tuple[tuple[str, ValueBand], ...] = ()
    condition: GrantedCondition | None = None
    miss: Miss | None = None
    reason: NotJudged | None = None


def not_judged(cause: CauseName, judged: tuple[float, float], reason: NotJudged) -> Judgement:
    """A cause of which nothing is said.

    Args:
        cause: Which.
        judged: First and last time, s.
        reason: Why.

    Returns:
        The judgement.
    """
    return Judgement(cause, Word.NOT_JUDGED, float("nan"), judged, reason=reason)
