"""Saved findings brought up to what the case says now, before they are printed again.

What is printed as text (title, question, events, cut-off) is taken from the case; numbers stay
those of the stage that worked them out, and a stage whose numbers the case no longer gives is
named in the findings, so that whatever is printed of it says so.
"""

from __future__ import annotations

from pathlib import Path

from neutralpoint.case import Case, load_case
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import Findings, read_findings, write_findings
from neutralpoint.study.assembly import as_heard, key_times_of, texts_of
from neutralpoint.study.lock import locked
from neutralpoint.study.motion.file import MOTION_FILE, read_motion
from neutralpoint.study.record import record_path
from neutralpoint.study.run import RESULTS, STAGES, held_records


def retell(folder: Path) -> None:
    """Bring the findings of a case up to its words, and name the stages that are out of date.

    Nothing is done without records of a study, or while another process studies the case, which
    then does the same.

    Args:
        folder: The case folder.

    Raises:
        NeutralPointError: `results-version` of findings that cannot be read.
    """
    results = folder / RESULTS
    recorded = [stage.name for stage in STAGES if record_path(results, stage.name).is_file()]
    if not recorded:
        return
    try:
        with locked(results):
            findings = read_findings(results)
            fresh = _retold(findings, folder, results, recorded)
            if fresh != findings:
                write_findings(results, fresh)
    except NeutralPointError as refused:
        if refused.code != "case-busy":
            raise


def _retold(findings: Findings, folder: Path, results: Path, recorded: list[str]) -> Findings:
    try:
        case = load_case(folder)
    except NeutralPointError:
        # Text and numbers stay those of the last study: nothing of them can be checked.
        return findings.model_copy(update={"outdated": recorded})
    held = held_records(case, results)
    outdated = [name for name in recorded if name not in held]
    told = texts_of(case) | {"outdated": outdated}
    if case.track.epoch != findings.epoch:
        del told["events"]  # counted from another moment than the numbers
    if findings.weighing is not None:
        told["weighing"] = as_heard(findings.weighing, case)
    if told.get("events", findings.events) != findings.events:
        told |= _with_key_times(findings, case, results)
    return findings.model_copy(update=told)


def _with_key_times(findings: Findings, case: Case, results: Path) -> dict[str, object]:
    """The table at key times with the events as they are now."""
    if not any(file.path == MOTION_FILE for file in findings.results):
        return {}
    return {"key_times": key_times_of(case, read_motion(results / MOTION_FILE))}
