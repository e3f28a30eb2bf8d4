"""Claims: sentences for the public, each tied to data, method, band, likelihood and confidence."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.document import Findings
from neutralpoint.findings.likelihood import Agreement, Evidence
from neutralpoint.findings.moments import Verdict
from neutralpoint.findings.part import Digest, Fraction, Kind, Part
from neutralpoint.findings.weighing import OddsRow
from neutralpoint.findings.worded import CauseOdds, CauseVerdict

Extreme = Literal["highest", "lowest"]


class ClaimedNumber(Part):
    """A value of the motion with the interval that the sentence gives it, SI."""

    quantity: str = Field(description="Variable of motion.nc.")
    time: float = Field(description="s after the epoch.")
    low: float
    high: float
    value: float | None = Field(default=None, description="Middle value, where one is stated.")
    extreme: Extreme | None = Field(
        default=None, description="The extreme of the flight, which each sample path has its own."
    )


class Claim(Part):
    """A sentence that the analyst wants to say."""

    name: str = Field(description="Short name, for the correction log.")
    says: str = Field(description="The sentence, as it will be read or heard.")
    kind: Kind
    data: list[str] = Field(description="Files of the case and of the results it rests on.")
    method: str = Field(description="How the data lead to the sentence.")
    number: ClaimedNumber | None = None
    cause: str = Field(default="", description="Cause that the sentence speaks of.")
    likelihood: Fraction | None = None
    evidence: Evidence | None = None
    agreement: Agreement | None = None
    results: dict[str, Digest] = Field(
        default={}, description="Digests of the result files when the claim was last agreed."
    )


class Doubt(Part):
    """Something that stands against saying a claim."""

    code: Literal[
        "source-unknown",
        "results-changed",
        "quantity-unknown",
        "not-observable",
        "outside-band",
        "likelihood-too-high",
        "likelihood-missing",
        "likelihood-of-fact",
        "cause-unknown",
        "cause-without-odds",
        "outside-odds",
        "verdict-against",
        "confidence-missing",
        "contradicts",
        "wording",
    ]
    about: str = Field(default="", description="File, quantity, cause or words it speaks of.")
    why: str = Field(default="", description="Of wording: the reason of the rule.")
    stated: float | None = Field(default=None, description="Likelihood that the claim gives.")
    found: float | None = Field(default=None, description="Likelihood that the findings give.")
    lowest: float | None = Field(default=None, description="Of the networks.")
    highest: float | None = Field(default=None, description="Of the networks.")


class CheckedClaim(Part):
    """A claim with what the findings bear of it."""

    claim: Claim
    said_likelihood: str = Field(default="", description="Word and number.")
    confidence: str = ""
    borne: Fraction | None = Field(
        default=None, description="Likelihood that the findings support for the interval claimed."
    )
    doubts: list[Doubt] = Field(default=[])

    @property
    def holds(self) -> bool:
        """True where nothing stands against it."""
        return not self.doubts


def verdicts_of(findings: Findings) -> list[Verdict] | list[CauseVerdict]:
    """What the required moment says of each cause."""
    if findings.moments is not None:
        return findings.moments.verdicts
    return [verdict for section in findings.worded.sections for verdict in section.verdicts]


def odds_of(findings: Findings) -> list[OddsRow] | list[CauseOdds]:
    """The odds of every cause."""
    if findings.weighing is not None:
        return findings.weighing.rows
    return [odds for section in findings.worded.sections for odds in section.odds]
