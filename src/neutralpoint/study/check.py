"""What a case holds, before anything is made of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pydantic import AwareDatetime

from neutralpoint.case import load_case
from neutralpoint.case.outside_entry import OutsideEntry
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import Assumption, Event, FlaggedRow, Source, Subject, Warned
from neutralpoint.findings.part import Part
from neutralpoint.plugins import CAUSES, EXAMINATIONS, missing, plugin_names
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
        warnings=[
            inventory.warned(warning)
            for warning in (*case.warnings, *not_installed(case.document.outside))
        ],
    )


def not_installed(asked: OutsideEntry | None) -> list[NeutralPointError]:
    """Plug-ins that a case names and that are not there: its last stage would end with this.

    Args:
        asked: Of the case.

    Returns:
        One error each.
    """
    if asked is None:
        return []
    named = ((CAUSES, "causes", asked.causes), (EXAMINATIONS, "examinations", asked.examinations))
    return [
        missing(group, name, f"case.toml: outside.{key}")
        for group, key, names in named
        for name in names
        if name not in plugin_names(group)
    ]
