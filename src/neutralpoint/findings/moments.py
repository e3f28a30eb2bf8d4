"""What the required moment establishes, in numbers."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.part import Fraction, Part
from neutralpoint.vocabulary import CauseName

Word = Literal["cannot", "can if", "can", "not judged"]
Drive = Literal["stabilizer", "tab", "none"]
Grant = Literal[
    "stronger-hands",
    "crew-trim",
    "other-rate",
    "other-travel",
    "fixed-items",
    "more-load",
    "ice",
    "large-errors",
]


class HandsRow(Part):
    """What a cause can do beside one kind of hands on the column."""

    hands: Literal["none", "resisting", "anything"]
    probability: Fraction = Field(
        description="How often a flight of this cause with such hands, two of them at their "
        "short-term force, would show a fit as poor or poorer."
    )
    price: float | None = Field(default=None, description="Least force that does, N.")
    end: Literal["known", "none", "beyond-measured"] = Field(
        default="known",
        description="none: no force is asked of these hands; beyond-measured: the largest force "
        "ever measured does not do.",
    )


class Need(Part):
    """The extreme that was needed of a cause, with its 90% band, beside what there is; SI."""

    quantity: Literal[
        "trim-angle", "trim-rate", "elevator", "force", "cg-shift", "thrust", "incidence", "bank"
    ]
    low90: float
    median: float
    high90: float
    least: float | None = Field(default=None, description="Least available; null: no limit.")
    most: float | None = Field(default=None, description="Most available; null: no limit.")


class Estimated(Part):
    """A parameter of the histories that fit, with the 90% band they leave; SI."""

    name: Literal["start", "duration", "first duration", "hold", "second duration", "rate", "size"]
    low90: float
    best: float
    high90: float


class Granted(Part):
    """What must be granted beyond the documents for a cause to make the path."""

    grant: Grant
    value: float | None = Field(default=None, description="The value it takes, SI.")
    end: Literal["known", "beyond-measured"] = "known"


class ClosestMiss(Part):
    """Largest residual of the best history."""

    time: float = Field(description="s after the epoch.")
    deviations: float = Field(description="Standard deviations of that time.")
    moment: float | None = Field(default=None, description="N m, needed less made.")


class Verdict(Part):
    """What the required moment says of one cause, and the numbers that the word follows from."""

    cause: CauseName
    word: Word
    reason: Literal["too-few-times", "bank-not-observable"] | None = Field(
        default=None, description="Why it is not judged."
    )
    probability: Fraction | None = Field(
        default=None,
        description="p-value: how often a flight of this cause would show a fit as poor or "
        "poorer: a tail "
        "probability, not a probability of the cause.",
    )
    judged_from: float | None = Field(default=None, description="First time looked at, s.")
    judged_to: float | None = Field(default=None, description="Last time looked at, s.")
    hands: list[HandsRow] = Field(default=[])
    needs: list[Need] = Field(default=[])
    estimates: list[Estimated] = Field(default=[])
    granted: Granted | None = None
    miss: ClosestMiss | None = None


class VerdictScore(Part):
    """How often the verdicts were right on blind flights whose cause was known."""

    name: Literal["true-cause-excluded", "wrong-causes-excluded", "upsets-with-an-exclusion"]
    value: Fraction
    low90: Fraction = Field(description="Lower end over the flights drawn.")
    high90: Fraction
    cases: int = Field(ge=1, description="Verdicts or flights that the share is of.")
    flights: int = Field(ge=1)


class Discrimination(Part):
    """Ways in which the unexplained moment may grow, and whether such data could tell them."""

    laws: list[str]
    posterior: list[Fraction] = Field(description="Of each way, equal before the data.")
    power: list[list[Fraction]] = Field(
        description="Mean probability given to the way of the column when that of the row made "
        "the data."
    )
    separable: bool
    surface: Fraction = Field(description="That a surface moved, of either kind.")
    surface_power: Fraction = Field(description="Mean probability given to the true kind.")


class FastestTrim(Part):
    """The fastest that the trim would have moved, had it alone done it; rad/s."""

    drive: Drive
    time: float
    span: float = Field(description="Over which it is taken, s.")
    median: float
    low90: float
    high90: float
    motor: bool = Field(description="False where the airplane's trim has none.")
    loaded: float = Field(description="Rate of the motor.")
    unloaded: float
    beyond_loaded: Fraction
    beyond_unloaded: Fraction


class ThrustChange(Part):
    """Thrust along the path before, and its change; N."""

    before: float
    change: float
    low90: float
    high90: float
    fell: Fraction
    rose: Fraction
    idle: Fraction = Field(description="Probability that idle or less was left.")


class TimeAboveForce(Part):
    """How long the needed column force was above a limit of strength; s."""

    name: str
    force: float = Field(description="N")
    source: str
    median: float
    low90: float
    high90: float
    probability: Fraction = Field(description="That it was above at any time.")


class LoadReachRow(Part):
    """How far one listed item could move the center of gravity; m, aft positive."""

    name: str
    mass: float = Field(description="kg")
    loose: bool
    forward: float
    aft: float
    probability: Fraction | None = Field(
        default=None,
        description="p-value of flights on which it alone moved; null: not observable.",
    )


class CurveMark(Part):
    """A level drawn across a curve, SI."""

    value: float
    kind: Literal["travel", "stop", "loose-aft", "loose-forward", "strength"]
    strength: str = Field(default="", description="Name of the limit of strength.")


class Curve(Part):
    """A variable of a result file that is worth drawing."""

    variable: str
    quantity: str = Field(description="Its name in the registry.")
    cause: CauseName | None = Field(default=None, description="If it was this cause.")
    marks: list[CurveMark] = Field(default=[])


class ReferenceRow(Part):
    """A steady stretch that may be the last before the fault, and the verdicts counted from it."""

    end: float = Field(description="s after the epoch.")
    weight: Fraction = Field(description="Probability that it is the last.")
    words: dict[CauseName, Word] = Field(description="Verdict by cause.")


class MovedReference(Part):
    """The results with reference or stated onset moved by some seconds; the first is as it is."""

    what: Literal["reference", "onset"] = Field(
        default="reference",
        description="What was moved; the reference of a moved onset is the last before it.",
    )
    seconds: float = Field(description="By how much it was moved, later positive.")
    end: float = Field(description="Last moment of the reference, s after the epoch of the track.")
    force: list[float] | None = Field(
        default=None, description="Largest column force needed: 5, 50 and 95%, N, pull positive."
    )
    words: dict[CauseName, Word] = Field(description="Verdict by cause.")


class MomentsFindings(Part):
    """The required moment. Times are s after the epoch."""

    file: str
    first: float = Field(description="First time of the file.")
    reference_from: float
    reference_to: float
    steady: bool = Field(
        description="False where the reference is not as steady as trimmed flight."
    )
    window: float = Field(description="Of the smoothing, s.")
    stated_onset: float | None = Field(default=None, description="Onset that the case states, s.")
    references: list[ReferenceRow] = Field(default=[], description="The earliest first.")
    moved: list[MovedReference] = Field(default=[], description="As it is first.")
    discrimination: Discrimination | None = None
    rate: FastestTrim | None = None
    thrust: ThrustChange | None = None
    lost: dict[str, Fraction] = Field(default={}, description="Share of the time, by variable.")
    forces: list[TimeAboveForce] = Field(default=[])
    loads: list[LoadReachRow] = Field(default=[])
    verdicts: list[Verdict] = Field(default=[])
    scores: list[VerdictScore] = Field(default=[], description="Of the verdicts, not of the odds.")
    curves: list[Curve] = Field(default=[])
