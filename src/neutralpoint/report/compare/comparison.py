"""What moved between two studies, each result against its own band."""

from __future__ import annotations

from dataclasses import dataclass

from neutralpoint.report.compare.inputs import DifferingInput, differing
from neutralpoint.report.compare.results import MovedResult, results_of
from neutralpoint.report.compare.side import Side

ORDER = {"beyond its band": 0, "in one study alone": 1, "within its band": 2, "same": 3}
ALL_AT_ONCE = (
    "{count} inputs differ at once: which of them moved a result is not shown. Change one, run the "
    "study, and compare again."
)
ONE = "One input differs: {name}. What moved by more than its band follows from it."
NONE = "No input differs: whatever moved did so by chance or by files that changed unseen."
WORDS = "Only words of the case differ, which move no number."
UNKNOWN = (
    "The case file of {names} is no longer what that study has read, so single keys are "
    "not compared; files and assumptions are."
)


@dataclass(frozen=True)
class StudyComparison:
    """Two studies beside each other.

    Attributes:
        before: Name of the first.
        after: Name of the second.
        inputs: What differs in what they were made from.
        moved: Each result in both, what moved most surely first within its topic.
        why: What can be said of the reason, in sentences.
    """

    before: str
    after: str
    inputs: tuple[DifferingInput, ...]
    moved: tuple[MovedResult, ...]
    why: tuple[str, ...]


def compare(before: Side, after: Side) -> StudyComparison:
    """What moved from one study to another, and which inputs can have moved it.

    Args:
        before: The first study.
        after: The second.

    Returns:
        The comparison. A result counts as moved where its middle lies outside the band of the
        other study: that band does not hold what the two share, so that *within its band* is no
        proof that nothing moved.

    Source: analyst's rule.
    """
    inputs = differing(before, after)
    rows = results_of(before.findings, after.findings)
    topics = list(dict.fromkeys(row.topic for row in rows))
    rows.sort(key=lambda row: (topics.index(row.topic), ORDER[row.size]))
    return StudyComparison(
        before.name, after.name, tuple(inputs), tuple(rows), _why(before, after, inputs)
    )


def _why(before: Side, after: Side, inputs: list[DifferingInput]) -> tuple[str, ...]:
    acting = [one for one in inputs if not one.words_only]
    # A file or a key shows as an assumption too: then it is one difference, told twice.
    causes = [one for one in acting if one.kind != "assumption"] or acting
    if len(causes) > 1:
        said = ALL_AT_ONCE.format(count=len(causes))
    elif causes:
        said = ONE.format(name=causes[0].name)
    else:
        said = WORDS if inputs else NONE
    lost = [side.name for side in (before, after) if side.case is None]
    return (said, UNKNOWN.format(names=" and ".join(lost))) if lost else (said,)
