"""Which verdict rests on which reference, as the findings document says it."""

from __future__ import annotations

from datetime import datetime

from neutralpoint.findings import SectionTable, Statement
from neutralpoint.study.moments.file import MOMENTS_FILE
from neutralpoint.study.moments.readings import Reading, differing
from neutralpoint.study.moments.work_out import Moments
from neutralpoint.study.motion.file import MOTION_FILE
from neutralpoint.study.motion.onset_findings import utc


def _percent(probability: float) -> str:
    return f"{100.0 * probability:.0f}%"


def _ends(reading: Reading, epoch: datetime) -> str:
    return f"{utc(epoch, reading.reference.end)} ({_percent(reading.reference.weight)})"


def reading_statements(found: Moments, epoch: datetime) -> list[Statement]:
    """The references that may be the last before the fault, and where they disagree.

    Args:
        found: What the stage found.
        epoch: UTC time of second 0.

    Returns:
        Nothing where there is one reference.
    """
    if len(found.readings) == 1:
        return []
    ends = ", ".join(_ends(reading, epoch) for reading in found.readings)
    said = [
        Statement(
            kind="inferred",
            text=f"{len(found.readings)} steady stretches may be the last before the fault; they "
            f"end at (UTC, with the probability of each) {ends}. Verdicts are the mean over them; "
            "curves and forces count from the most probable one.",
            basis=[f"{MOTION_FILE}: onset_weight", f"{MOMENTS_FILE}: is_reference"],
        )
    ]
    for cause, words in differing(found.readings):
        parts = [
            f"{word} from {utc(epoch, reading.reference.end)}"
            for word, reading in zip(words, found.readings, strict=True)
        ]
        said.append(
            Statement(
                kind="inferred",
                text=f"{cause.title} depends on the reference: {', '.join(parts)}.",
                basis=[MOMENTS_FILE],
            )
        )
    return said


def reading_tables(found: Moments, epoch: datetime) -> list[SectionTable]:
    """Every verdict by reference.

    Args:
        found: What the stage found.
        epoch: UTC time of second 0.

    Returns:
        Nothing where there is one reference.
    """
    if len(found.readings) == 1:
        return []
    rows = [
        [verdict.cause.title, *(str(reading.verdicts[number].word) for reading in found.readings)]
        for number, verdict in enumerate(found.verdicts)
    ]
    return [
        SectionTable(
            caption="Verdicts by reference: the columns are the ends, UTC, of the steady stretches "
            "that may be the last before the fault, with their probabilities.",
            kind="inferred",
            columns=["cause", *(_ends(reading, epoch) for reading in found.readings)],
            rows=rows,
        )
    ]
