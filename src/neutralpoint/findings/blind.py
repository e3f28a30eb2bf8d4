"""How the odds did on flights of known cause: `calibration.json`, and the score as shipped."""

from __future__ import annotations

from typing import Annotated

from pydantic import ConfigDict, Field

from neutralpoint.findings.part import Fraction, Part
from neutralpoint.vocabulary import CauseName

Count = Annotated[int, Field(ge=0)]


class ReliabilityDiagram(Part):
    """Stated probability against frequency, one entry a bin; null where a bin is empty."""

    edges: list[Fraction] = Field(description="Of the bins; one more than there are.")
    stated: list[Fraction | None] = Field(description="Mean probability that was given.")
    happened: list[Fraction | None] = Field(description="Share that was true.")
    count: list[Count] = Field(description="Statements.")


class BlindCases(Part):
    """Scores over blind cases. What a file has beside them is not read."""

    model_config = ConfigDict(extra="ignore", frozen=True, allow_inf_nan=False)

    cases: int = Field(ge=1)
    mean_log_score: float = Field(description="nats")
    log_score_error: float = Field(ge=0.0, description="Standard error of the mean, nats.")
    prior_log_score: float = Field(description="Without knowledge, nats.")
    brier: float = Field(ge=0.0, le=2.0)
    true_cause_below_1_percent: Fraction
    cover_of_90_percent_sets: Fraction
    true_cause_leads: Fraction
    reliability: ReliabilityDiagram


class CalibratedCause(Part):
    """Scores over the cases of one cause."""

    cases: int = Field(ge=1)
    mean_log_score: float = Field(description="nats")
    leads: Fraction
    below_1_percent: Fraction


class Calibration(BlindCases):
    """What `neutralpoint calibrate` writes."""

    by_cause: dict[CauseName, CalibratedCause]
    where: str = Field(description="Start and data that the cases were flown from.")
    seed: int
    program: str
