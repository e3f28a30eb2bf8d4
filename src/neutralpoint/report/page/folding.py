"""What of a section stands in the body of a report, and what in an appendix."""

from __future__ import annotations

from collections.abc import Sequence

from neutralpoint.findings import CauseOdds, Findings, SectionTable, StageSection, Statement
from neutralpoint.vocabulary import CauseName

LONG = 9  # rows from which a table of causes is folded to those that tell
LEADERS = 3  # causes whose rows and sentences tell
RARE = 0.01  # odds below which a cause of a long list is folded


def leading_causes(findings: Findings) -> list[CauseName]:
    """The causes that a report follows: the most probable, or the best fitting.

    Args:
        findings: The document.

    Returns:
        At most `LEADERS`, without the unlisted one; empty where nothing was judged.
    """
    if findings.weighing is not None:
        rows = [row.cause for row in findings.weighing.rows if row.cause != CauseName.UNLISTED]
        return rows[:LEADERS]
    if findings.moments is not None:
        able = sorted(
            (v for v in findings.moments.verdicts if v.word != "cannot"),
            key=lambda v: -(v.probability or 0.0),
        )
        return [verdict.cause for verdict in able[:LEADERS]]
    return []


def told(statements: Sequence[Statement], leaders: Sequence[CauseName]) -> list[Statement]:
    """The statements of the body."""
    return [
        said for said in statements if not said.detail and (not said.about or said.about in leaders)
    ]


def set_aside(statements: Sequence[Statement]) -> list[Statement]:
    """The statements of the appendix; those about single causes are in its tables."""
    return [said for said in statements if said.detail]


def folded(table: SectionTable, leaders: Sequence[CauseName]) -> SectionTable:
    """A long table with the rows of the leading causes alone, a short one as it is.

    Args:
        table: Whole.
        leaders: Causes to keep.

    Returns:
        The table; without rows where none of them tells.
    """
    if not is_long(table):
        return table
    titles = {cause.title for cause in leaders}
    return table.model_copy(update={"rows": [row for row in table.rows if row[0] in titles]})


def is_long(table: SectionTable) -> bool:
    """Whether a table is folded in the body and stands whole in an appendix."""
    return len(table.rows) >= LONG


def folded_odds(section: StageSection) -> tuple[list[CauseOdds], list[CauseOdds]]:
    """The rows of the odds that tell, and the others, most probable first."""
    rows = sorted(section.odds, key=lambda row: -row.probability)
    if len(rows) < LONG or not any(table.detail for table in section.tables):
        return rows, []
    kept = [row for at, row in enumerate(rows) if at < LEADERS or row.probability >= RARE]
    return kept, rows[len(kept) :]
