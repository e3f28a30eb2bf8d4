"""What the weighing establishes, in numbers: odds of the causes, and what would tell them apart."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.moments import Drive
from neutralpoint.findings.part import Fraction, Part
from neutralpoint.vocabulary import CauseName, Mechanism

Strength = Literal["not worth more than a bare mention", "positive", "strong", "very strong"]
Cost = Literal["low", "medium", "high"]
PRIOR_FACTORS = 1.0 / 3.0, 3.0  # by which the prior weight of a cause is moved; analyst's estimate


class PriorWeight(Part):
    """A weight that the analyst stated, and why."""

    of: CauseName | Mechanism = Field(description="A cause, or every cause of a mechanism.")
    weight: float = Field(gt=0.0)
    reason: str


class PriorFindings(Part):
    """What was believed before the track was looked at."""

    failed: Fraction | None = Field(
        default=None,
        description="Chance that something failed; null where a weight of no failure speaks of it.",
    )
    failed_stated: bool = Field(description="Whether the case states that chance.")
    weights: list[PriorWeight] = Field(default=[], description="All others are 1.")


class NearestFlight(Part):
    """The simulated flight of a cause that comes nearest to the one seen."""

    distance: float = Field(description="Standard deviations of data and gusts, RMS.")
    fails_in: str = Field(description="Where its residual is largest.")
    fails_at: float = Field(description="s after the epoch.")
    fails_by: float = Field(description="Standard deviations.")
    flights: float = Field(description="Effective number of flights that follow the track.")


class CauseParameter(Part):
    """A parameter of a cause, if it was the cause; SI."""

    name: str
    meaning: str
    unit: str
    after: list[float] = Field(description="5, 50 and 95%, after the track.")
    before: list[float] = Field(description="5, 50 and 95%, before it.")


class OddsRow(Part):
    """One cause among those listed and an unlisted one."""

    cause: CauseName
    prior: Fraction
    probability: Fraction
    lowest: Fraction = Field(description="Of the networks: no confidence interval.")
    highest: Fraction = Field(description="Of the networks.")
    least: Fraction | None = Field(
        default=None,
        description="Lowest with one assumption moved at a time, its own prior weight among them; "
        "null: made before this was kept.",
    )
    most: Fraction | None = Field(default=None, description="Highest, likewise.")
    log_evidence: float
    log_evidence_error: float | None = Field(
        default=None, description="Standard deviation of one network; null: not known."
    )
    log_bayes_factor: float = Field(description="Against the leader.")
    strength: Strength = Field(description="Words of Kass and Raftery (1995) for it.")
    p_value: Fraction | None = Field(
        default=None,
        description="How often a flight of this cause would speak as clearly against it; null: "
        "not known, for the networks do not know such an airplane or start.",
    )
    nearest: NearestFlight | None = None
    trim_end: list[float] = Field(default=[], description="Where the trim is left: 5, 50, 95%.")
    traced: Fraction | None = Field(
        default=None, description="Share of its simulated flights on which it leaves a trace."
    )
    nose_up: Fraction | None = Field(
        default=None,
        description="Share of its flights that follow the track on which the fault raises the "
        "nose; null: no parameter turns it either way.",
    )
    broke: Fraction | None = Field(
        default=None,
        description="Share of its flights that follow the track which pass ultimate load before "
        "the end of what is compared: from then on their path is not trusted.",
    )
    broke_from: float | None = Field(default=None, description="When the first 5% do, s.")
    parameters: list[CauseParameter] = Field(default=[])
    cannot_explain: list[str] = Field(default=[], description="Whatever its parameters.")
    not_separable: list[str] = Field(default=[], description="By the track alone.")


class ChanceRow(Part):
    """A probability at a chance that something failed."""

    chance: Fraction
    probability: Fraction


class MechanismRow(Part):
    """Odds summed over the causes of one mechanism."""

    mechanism: Mechanism
    causes: list[CauseName]
    prior: Fraction
    probability: Fraction
    lowest: Fraction
    highest: Fraction
    if_failed: list[ChanceRow] = Field(default=[])


class PriorReading(Part):
    """The same evidence under another prior."""

    kind: Literal["stated", "equal", "chance"]
    chance: Fraction | None = Field(default=None, description="That something failed.")
    probability: dict[CauseName, Fraction]


class EvidenceRow(Part):
    """One item of evidence beside the track."""

    name: str
    source: str
    doubt: Fraction = Field(description="That it says nothing.")
    caution: str
    kind: Literal["words", "perception", "other"] = "other"
    log_likelihood: list[float] = Field(description="By cause, up to one constant.")
    nats: list[float] = Field(description="By cause, from what all expect together.")


class GatedCause(Part):
    """A cause that was not weighed because airplane or facts exclude it."""

    title: str
    reason: str


class OddsWindow(Part):
    """The odds counted from one reference that may be the last before the fault."""

    begin: float = Field(description="End of the reference, s after the epoch.")
    end: float = Field(description="Of what is compared, s after the epoch.")
    weight: Fraction = Field(description="Probability that the reference is the last.")
    leader: CauseName = Field(description="Most probable from there.")
    probability: dict[CauseName, Fraction]


class Elsewhere(Part):
    """The same odds on upsets of a simulator that no network has learned from."""

    cases: int = Field(ge=1)
    mean_log_score: float = Field(description="Of the causes that fit, nats.")
    covered: Fraction = Field(description="Share of 90% sets that held a cause that fits.")
    lost: Fraction = Field(description="Share in which causes that fit were given less than 1%.")


class BlindScore(Part):
    """How well the method did on simulated flights whose cause was known."""

    of_this_case: bool = Field(description="Else of airplanes never learned from.")
    stratum: str = Field(description="Kind of data; empty for all.")
    cases: int = Field(ge=1)
    mean_log_score: float = Field(description="nats")
    prior_log_score: float = Field(description="Without knowledge, nats.")
    covered: Fraction = Field(description="Share of 90% sets that held the true cause.")
    lost: Fraction = Field(description="Share in which the true cause was given less than 1%.")
    elsewhere: Elsewhere | None = Field(
        default=None,
        description="On flights of another simulator, seen alike; null: a score of the case's own "
        "flights, or made before this was kept.",
    )


class SwayEnd(Part):
    """The odds with one assumption moved to one side."""

    setting: float | None = Field(
        default=None, description="What it was moved to, SI; null: left out or another network."
    )
    leader: CauseName = Field(description="Most probable then.")
    probability: Fraction = Field(description="Of the cause that leads as the case stands.")
    odds: dict[CauseName, Fraction] = Field(
        default={}, description="Of every cause then; empty: made before this was kept."
    )


class SwayRow(Part):
    """One assumption, and how far the odds of the leader hang on it."""

    assumption: Literal[
        "failed", "weight", "evidence", "networks", "wind", "cg", "mass", "reference"
    ]
    name: str = Field(
        default="",
        description="Of the item of evidence that was left out, or of the cause whose prior weight "
        "was moved; empty where that is the leader's.",
    )
    ends: list[SwayEnd] = Field(min_length=1, description="One side, or both.")


class WeighingFindings(Part):
    """The odds. Rows are most probable first; times are s after the epoch."""

    file: str
    data_file: str
    place: Literal["inside", "at the edge", "outside"] = Field(
        description="Of airplane and start among those that the networks were learned on."
    )
    odd: str = Field(description="The number of them that lies farthest from the median.")
    odd_by: float = Field(description="By how many standard deviations.")
    begin: float = Field(description="When flown flights begin: the safe reference.")
    windows: list[OddsWindow] = Field(
        default=[], description="The earliest first; the odds are the mean over them."
    )
    networks: int
    leader: CauseName
    rival: CauseName = Field(description="Whose nearest flight comes nearest after the leader's.")
    prior: PriorFindings
    rows: list[OddsRow]
    mechanisms: list[MechanismRow]
    readings: list[PriorReading]
    evidence: list[EvidenceRow] = Field(default=[])
    weighed: list[CauseName] = Field(description="Order of the lists in `evidence`.")
    gated: list[GatedCause] = Field(default=[])
    heard: bool = Field(description="Whether the case holds words from radio or recording.")
    drive: Drive
    travel: list[float] = Field(default=[], description="Of the trim, least and most, rad.")
    p_listed: Fraction | None = Field(
        default=None,
        description="How often a flight of a listed cause would leave the unlisted one as large a "
        "share; null: not known.",
    )
    p_limit: Fraction = Field(
        default=0.0, description="P-value below which the track excludes a cause."
    )
    score: BlindScore
    sways: list[SwayRow] = Field(
        default=[], description="What the odds of `rows[0]` hang on, the most moving first."
    )


class LeaderThen(Part):
    """A cause and its probability, were an outcome found."""

    cause: CauseName
    probability: Fraction


class OutcomeRow(Part):
    """What may be found, and the odds then."""

    outcome: str
    chance: Fraction
    leaders: list[LeaderThen]


class EvidenceItem(Part):
    """A piece of evidence that is not in hand, and what it would tell."""

    item: str
    key: str
    bits: float = Field(ge=0.0, description="Expected fall of entropy over the causes.")
    lowest: float = Field(description="Of the networks.")
    highest: float
    cost: Cost
    source: str
    caution: str = ""
    outcomes: list[OutcomeRow]


class EvidenceFindings(Part):
    """Evidence not in hand, most informative first."""

    file: str
    least: float = Field(description="Bits below which an item is not listed.")
    silent: int = Field(ge=0, description="Items that would tell less.")
    items: list[EvidenceItem]
