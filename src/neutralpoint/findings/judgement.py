"""One entry a cause: what it needs, how near it comes, how likely it is, and one word.

`Findings.judgement` holds a row for every cause: the listed ones, those that airplane or facts
exclude, and the unlisted one. A reader goes through a row from left to right:

- `needs`: what the cause would have needed beside what the airplane has, in quantities of the
  registry (`vocabulary.QUANTITIES`) and SI units;
- `best_flight`: where even its nearest simulated flight stays off the track, and `p_value`: how
  often a flight of this cause would speak as clearly against it as this track does;
- `odds`: prior, probability and the range over the networks;
- `word`, with `excluded_by` for *cannot*, `condition` for *can if*, `open_because` where it is not
  judged.

`mechanisms` sums the odds, and `fit` answers the first question of all: does anything fit?
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from neutralpoint.findings.moments import Grant, Word
from neutralpoint.findings.part import Fraction, Part
from neutralpoint.findings.weighing import NearestFlight
from neutralpoint.vocabulary import CauseName, Mechanism

Exclusion = Literal["airplane-or-facts", "moment", "track"]
Open = Literal["unlisted", "no-test", "too-few-times", "bank-not-observable"]


class NeedAgainstHas(Part):
    """What a cause would have needed, with its 90% band, beside what there is; SI."""

    quantity: str = Field(description="Its name in the registry of quantities.")
    unit: str
    low90: float
    median: float
    high90: float
    least: float | None = Field(default=None, description="Least available; null: no limit.")
    most: float | None = Field(default=None, description="Most available; null: no limit.")


class CauseCondition(Part):
    """What must be granted beyond the documents for a cause to make the path."""

    grant: Grant
    value: float | None = Field(default=None, description="The value it takes; null: none is.")
    unit: str = Field(default="", description="SI; empty without a value.")
    beyond_measured: bool = Field(
        default=False, description="True where the largest force ever measured does not do."
    )


class JudgedOdds(Part):
    """Odds of one cause; the range is that of the networks and no confidence interval."""

    prior: Fraction
    probability: Fraction
    lowest: Fraction
    highest: Fraction


class CauseJudgement(Part):
    """All results on one cause."""

    cause: CauseName
    mechanism: Mechanism
    word: Word
    excluded_by: list[Exclusion] = Field(default=[], description="Of *cannot*: by which test.")
    condition: CauseCondition | None = Field(default=None, description="Of *can if*.")
    open_because: Open | None = Field(default=None, description="Of *not judged*.")
    moment_probability: Fraction | None = Field(
        default=None, description="p-value of its required moment."
    )
    needs: list[NeedAgainstHas] = Field(default=[])
    best_flight: NearestFlight | None = Field(
        default=None, description="Its nearest simulated flight and its largest residual."
    )
    p_value: Fraction | None = Field(
        default=None,
        description="How often a flight of this cause would speak as clearly against it as this "
        "track does; null: not computed.",
    )
    odds: JudgedOdds | None = Field(default=None, description="Null: not weighed.")


class MechanismSum(Part):
    """Odds summed over the causes of one mechanism."""

    mechanism: Mechanism
    causes: list[CauseName]
    excluded: list[CauseName] = Field(description="Those of them whose word is *cannot*.")
    odds: JudgedOdds


class Fit(Part):
    """Whether any listed cause comes near the track."""

    best: CauseName | None = Field(
        default=None, description="Listed cause of the largest p-value; null: none computed."
    )
    p_value: Fraction | None = Field(
        default=None,
        description="How often a flight of a listed cause would be as far from all of them: would "
        "leave the unlisted cause as large a share; null: not computed.",
    )
    threshold: Fraction = Field(description="P-value below which no listed cause comes near.")
    none_near: bool | None = Field(
        default=None,
        description="True where no listed cause comes near; null while that is not computed.",
    )


class JudgementFindings(Part):
    """One entry a cause, the most probable first, those that were not weighed last."""

    rows: list[CauseJudgement]
    mechanisms: list[MechanismSum] = Field(default=[])
    fit: Fit
    residual: Fraction = Field(
        description="A cause with a larger probability is never excluded, whatever a test says."
    )

    @model_validator(mode="after")
    def _word_and_odds_agree(self) -> JudgementFindings:
        for row in self.rows:
            kept = 0.0 if row.odds is None else row.odds.probability
            if row.word == "cannot" and kept > self.residual:
                raise ValueError(f"{row.cause} is excluded and keeps a probability of {kept:.3f}")
        return self
