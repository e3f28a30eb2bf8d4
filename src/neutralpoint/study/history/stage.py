"""The stage `history`; the engine that reads tables is loaded when it runs, not before."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from neutralpoint.case import Case
from neutralpoint.errors import NeutralPointError
from neutralpoint.study.record import BESIDE, Made, read_record
from neutralpoint.study.settings import HistorySettings
from neutralpoint.study.stages import Stage, Work

RESULTS = "results"


def tracks_folder(case: Case, told: str = "") -> Path | None:
    """Where the tracks of earlier flights are.

    Args:
        case: The case.
        told: Folder that the command names; empty for none.

    Returns:
        The folder: as told, as the case says, or that of the last run; None without any.

    Raises:
        NeutralPointError: `case-invalid` for a folder of the case that is none of its own.
    """
    if told:
        return Path(told).resolve()
    entry = case.document.history
    if entry is None:
        before = read_record(case.folder / RESULTS, "history")
        last = "" if before is None else str(before.settings.get("tracks", ""))
        return Path(last) if last else None
    base = case.folder.resolve()
    folder = (base / entry.tracks).resolve()
    if not folder.is_relative_to(base) or folder == base or folder == base / RESULTS:
        raise NeutralPointError(
            "case-invalid",
            f"The path {entry.tracks[:80]!r} leads out of the case folder.",
            where="case.toml: history.tracks",
            hint="Put the tracks into a folder of the case, or name theirs with `--tracks`.",
        )
    return folder


def _cannot(case: Case) -> str:
    return "" if tracks_folder(case) is not None else "The case names no tracks of earlier flights."


def _beside(case: Case, settings: Mapping[str, Any]) -> str:
    """Digest of names, sizes and times of the tracks."""
    folder = tracks_folder(case, str(settings.get("tracks", "")))
    if folder is None or not folder.is_dir():
        return "none"
    found = [
        [path.relative_to(folder).as_posix(), about.st_size, about.st_mtime_ns]
        for path in sorted(folder.rglob("*"))
        if path.is_file() and (about := path.stat())
    ]
    return hashlib.sha256(json.dumps(found).encode()).hexdigest()


def _told(settings: HistorySettings) -> bool:
    return bool(settings.tracks)


def _run(work: Work[HistorySettings]) -> Made:
    try:
        import polars  # noqa: F401 - asked for before anything is begun
    except ImportError as missing:
        raise NeutralPointError(
            "extra-missing",
            "Earlier flights are read with the optional extra `history`.",
            where="history",
            hint='Install it with: pip install "neutralpoint[history]".',
        ) from missing
    from neutralpoint.study.history.work_out import work_out

    folder = tracks_folder(work.case, work.settings.tracks)
    if folder is None:
        raise NeutralPointError(
            "argument-invalid",
            "No tracks of earlier flights are named.",
            where="--tracks",
            hint="Name their folder, or give the case a `[history]` entry.",
        )
    if work.case.document.history is None:
        # A later study of the case finds the folder in the record.
        work.settings = work.settings.model_copy(update={"tracks": str(folder)})
    return work_out(work, folder)


STAGE = Stage(
    name="history",
    title="Earlier flights",
    needs=("motion",),
    run=_run,
    settings=HistorySettings(),
    cannot=_cannot,
    ignores=(BESIDE - {"history"})
    | frozenset({"response", "terrain", "facts", "prior", "something_failed", "evidence"}),
    seconds=5.0,
    beside=_beside,
    told=_told,
)
