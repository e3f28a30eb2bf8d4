"""What a case holds, before anything is made of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pydantic import AwareDatetime

from neutralpoint.case import load_case
from neutralpoint.findings import Assumption, Event, FlaggedRow, Source, Subject, Warned
from neutralpoint.findings.part import Part
from neutralpoint.study import inventory


class Check(Part):
    """What each file of a case holds, what is doubtful, and what was assumed.

    Times are seconds after `epoch`; SI units and radians.
    """

    epoch: AwareDatetime
    subject: Subject
    sources: list[Source]
    flagged: list[FlaggedRow]
    assumptions: list[Assumption]
    events: list[Event]
    warnings: list[Warned]


def check_case(folder: Path, tell: Callable[[str], None] = lambda _: None) -> Check:
    """Read a case and say what it holds.

    Args:
        folder: The case folder.
        tell: Told which track file is read.

    Returns:
        What was found.

    Raises:
        NeutralPointError: For the first thing wrong.
    """
    case = load_case(folder, tell)
    return Check(
        epoch=case.track.epoch,
        subject=inventory.subject(case),
        sources=inventory.inventory(case),
        flagged=inventory.suspicions(case),
        assumptions=inventory.assumptions(case),
        events=inventory.events(case),
        warnings=[inventory.warned(warning) for warning in case.warnings],
    )
