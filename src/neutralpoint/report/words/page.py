"""What a page is given of the findings: everything that it prints, in words already."""

from __future__ import annotations

from pydantic import Field

from neutralpoint.findings import Event, Findings, JudgementFindings, StageSection, Statement
from neutralpoint.findings.part import Part
from neutralpoint.report.words.motion import resolution_sentence, resolution_title
from neutralpoint.report.words.sections import sections_of, statements_of, undetermined_of


class ResolutionWords(Part):
    """What one window of the readings can resolve."""

    quantity: str
    window: float = Field(description="s")
    usable: bool
    sentence: str


class PageFindings(Part):
    """The findings in words, and the numbers of one judgement a cause."""

    statements: list[Statement]
    undetermined: list[Statement]
    sections: list[StageSection]
    events: list[Event]
    resolution: list[ResolutionWords]
    judgement: JudgementFindings | None


def page_findings(findings: Findings) -> PageFindings:
    """The findings as a page prints them.

    Args:
        findings: The document.

    Returns:
        The same in words.
    """
    return PageFindings(
        statements=statements_of(findings),
        undetermined=undetermined_of(findings),
        sections=sections_of(findings),
        events=findings.events,
        resolution=[
            ResolutionWords(
                quantity=resolution_title(row),
                window=row.window,
                usable=row.usable,
                sentence=resolution_sentence(row),
            )
            for row in findings.resolution
        ],
        judgement=findings.judgement,
    )
