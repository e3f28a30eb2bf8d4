"""Which verdict rests on which reference, as the findings document says it."""

from __future__ import annotations

import math
from datetime import datetime

from neutralpoint.findings import MovedReference, SectionTable, Statement
from neutralpoint.study.moments.file import MOMENTS_FILE
from neutralpoint.study.moments.readings import Moved, Reading, differing, extreme
from neutralpoint.study.moments.work_out import Moments
from neutralpoint.study.motion.file import MOTION_FILE
from neutralpoint.study.motion.onset_findings import utc
from neutralpoint.vocabulary import CauseName


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


def moved_references(found: Moments) -> list[MovedReference]:
    """What changes where the reference is moved, as numbers.

    Args:
        found: What the stage found.

    Returns:
        One entry for each direction that the flight has room for, the reference as it is first.
    """
    main = max(found.readings, key=lambda reading: reading.reference.weight)
    inside = found.judged.inside & ~found.judged.required.stalled
    as_is = Moved(
        0.0,
        main.reference.end,
        extreme(found.judged.required.column_force[:, inside]),
        main.verdicts,
    )
    return [
        MovedReference(
            seconds=each.seconds,
            end=each.end,
            force=None if math.isnan(each.force[1]) else list(each.force),
            words={str(verdict.cause): str(verdict.word) for verdict in each.verdicts},
        )
        for each in (as_is, *found.moved)
    ]


def moved_statement(moved: list[MovedReference]) -> list[Statement]:
    """What changes where the reference is moved, in a sentence for each direction.

    Args:
        moved: As `moved_references` gives them.

    Returns:
        The sentences.
    """
    base, said = moved[0], []
    for each in moved[1:]:
        changed = [
            f"{CauseName(cause).title} from {base.words[cause]} to {word}"
            for cause, word in each.words.items()
            if word != base.words[cause]
        ]
        verdicts = "; ".join(changed) if changed else "no verdict changes"
        force = ""
        if base.force and each.force:
            force = f"; the largest column force goes from {base.force[1]:.0f} to "
            force += f"{each.force[1]:.0f} N (90%: {each.force[0]:.0f} to {each.force[2]:.0f} N)"
        way = "later" if each.seconds > 0.0 else "earlier"
        said.append(
            Statement(
                kind="derived",
                text=f"With the reference {abs(each.seconds):.0f} s {way}: {verdicts}{force}.",
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
