"""What a case holds at this moment: its words, its files, its stages."""

from __future__ import annotations

import hashlib
import sys
import threading
import tomllib
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from neutralpoint.app.folders import CASE_FILE, KEPT_NAMES, RESULTS
from neutralpoint.case import CaseDocument, parse_case
from neutralpoint.errors import NeutralPointError

if TYPE_CHECKING:
    from neutralpoint.study import StageState

# Main file of each stage.
FILES = {
    "motion": "motion.nc",
    "moments": "moments.nc",
    "weighing": "weighing.json",
    "response": "response.nc",
}
FINDINGS = "findings.json"
NOTHING = {"ready": False, "stale": False, "made": None, "cannot": ""}
KIND_WORDS = {
    "track": "track",
    "weather": "weather",
    "terrain": "heights of the ground",
    "airplane": "airplane",
    "case": "written by the analyst",
    "": "not used by the case",
}
PIECE = 1024 * 1024  # bytes hashed at once


class Digests:
    """SHA-256 of files, worked out again only where size or time has changed."""

    def __init__(self) -> None:
        self._known: dict[Path, tuple[int, int, str]] = {}
        self._lock = threading.Lock()

    def of(self, path: Path) -> str:
        """Digest of a file, hexadecimal."""
        about = path.stat()
        mark = (about.st_size, about.st_mtime_ns)
        with self._lock:
            known = self._known.get(path)
        if known is not None and known[:2] == mark:
            return known[2]
        digest = hashlib.sha256()
        with path.open("rb") as data:
            while piece := data.read(PIECE):
                digest.update(piece)
        with self._lock:
            self._known[path] = (*mark, digest.hexdigest())
        return digest.hexdigest()


def case_text(folder: Path) -> str:
    """The text of `case.toml`."""
    return (folder / CASE_FILE).read_bytes().decode("utf-8-sig", "replace")


def revision_of(folder: Path) -> str:
    """SHA-256 of `case.toml` as it is."""
    return hashlib.sha256((folder / CASE_FILE).read_bytes()).hexdigest()


def words(folder: Path) -> dict[str, str]:
    """Title and question, also of a case file that does not hold to the schema."""
    try:
        table: dict[str, Any] = tomllib.loads(case_text(folder))
    except (OSError, ValueError, RecursionError):
        table = {}
    return {key: str(table.get(key, ""))[:2000] for key in ("title", "question")}


def document_of(folder: Path) -> tuple[CaseDocument | None, dict[str, str] | None]:
    """The case file, or what is wrong with it."""
    try:
        return parse_case(case_text(folder)), None
    except NeutralPointError as error:
        return None, error.as_dict()


def listed_files(folder: Path, document: CaseDocument | None, digests: Digests) -> list[dict]:
    """Files of the case folder itself, with what each is used as.

    Args:
        folder: The case folder.
        document: The case file, where it can be read.
        digests: Those known.

    Returns:
        Name, kind, size, digest and whether the case uses it.
    """
    used = {} if document is None else _used(document)
    found = []
    for path in sorted(folder.iterdir()):
        if path.name.startswith(".") or path.is_symlink() or not path.is_file():
            continue
        role = used.get(path.name) or ("case" if path.name in KEPT_NAMES else "")
        found.append(
            {
                "name": path.name,
                "kind": KIND_WORDS[role],
                "size": path.stat().st_size,
                "sha256": digests.of(path),
                "used": role,
            }
        )
    return found


def _used(document: CaseDocument) -> dict[str, str]:
    """What the case uses each file as."""
    named = {entry.file: "track" for entry in document.tracks}
    for entry in document.weather:
        if getattr(entry, "file", None):
            named[entry.file] = "weather"
    named |= {entry.file: "terrain" for entry in document.terrain}
    if document.airplane.file is not None:
        named[document.airplane.file] = "airplane"
    return named


def stages(folder: Path) -> tuple[dict[str, dict[str, Any]], dict[str, str] | None]:
    """Which stages are there, and whether the case has changed since; or what is wrong with it.

    Args:
        folder: The case folder.

    Returns:
        State by stage, and the error of a case that cannot be read whole.
    """
    from neutralpoint.study import stage_states  # loads JAX: not before the page is up

    try:
        found = stage_states(folder)
    except NeutralPointError as error:
        kept = {stage: saved(folder / RESULTS, name) for stage, name in FILES.items()}
        return kept, error.as_dict()
    told = {name: _stage(state) for name, state in found.items() if state.made or state.cannot}
    if not (folder / RESULTS / FINDINGS).is_file():
        # A stage at work writes its file before the findings; until then there is nothing to show.
        bare = {s: told.get(s, {}).get("cannot", "") for s in FILES}
        return {s: NOTHING | {"cannot": cannot} for s, cannot in bare.items()}, None
    return {s: told.get(s) or saved(folder / RESULTS, name) for s, name in FILES.items()}, None


def study_is_loaded() -> bool:
    """Whether `stages` answers at once; the first time it loads JAX, which takes seconds."""
    return hasattr(sys.modules.get("neutralpoint.study"), "stage_states")


def stages_by_files(folder: Path) -> dict[str, dict[str, Any]]:
    """Which stages are there, by their files alone; whether they still hold is not looked at."""
    results = folder / RESULTS
    if not (results / FINDINGS).is_file():
        return dict.fromkeys(FILES, NOTHING)
    found = {stage: saved(results, name) for stage, name in FILES.items()}
    return {s: state | {"ready": state["stale"], "stale": False} for s, state in found.items()}


def saved(results: Path, name: str) -> dict[str, Any]:
    """The state of a stage of which nothing is known but its file."""
    path = results / name
    made = datetime.fromtimestamp(path.stat().st_mtime, UTC) if path.is_file() else None
    return {
        "ready": False,
        "stale": made is not None,
        "made": made.isoformat(timespec="seconds") if made else None,
        "cannot": "",
    }


def _stage(state: StageState) -> dict[str, Any]:
    made = state.made.isoformat(timespec="seconds") if state.made else None
    return {
        "ready": state.ready, "stale": state.stale, "made": made, "cannot": state.cannot
    }  # fmt: skip
