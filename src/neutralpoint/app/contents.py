"""What a case holds at this moment: its words, its files, its stages."""

from __future__ import annotations

import hashlib
import sys
import threading
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from neutralpoint.app.folders import CASE_FILE, KEPT_NAMES, RESULTS
from neutralpoint.case import Draft, parse_case, parse_draft
from neutralpoint.documents.toml import read_toml
from neutralpoint.errors import NeutralPointError

if TYPE_CHECKING:
    from neutralpoint.study import StageState

# Main file of each stage.
FILES = {
    "motion": "motion.nc",
    "moments": "moments.nc",
    "limits": "limits.nc",
    "wreckage": "wreckage.json",
    "heard": "heard.nc",
    "felt": "felt.nc",
    "history": "history.nc",
    "weighing": "weighing.json",
    "response": "response.nc",
    "outside": "outside.nc",
}
FINDINGS = "findings.json"
# Lists of the case whose entries name a file, and what each is used as.
FILED = {
    "tracks": "track", "weather": "weather", "terrain": "terrain", "recordings": "recording"
}  # fmt: skip
NOTHING = {"ready": False, "stale": False, "made": None, "cannot": ""}
KIND_WORDS = {
    "track": "track",
    "weather": "weather",
    "terrain": "heights of the ground",
    "recording": "recorded sound",
    "airplane": "airplane",
    "case": "written by the analyst",
    "": "not used by the case",
}
WAITS = "The case is not whole yet: the entry on evidence says what is missing."
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
    table = table_of_case(folder)
    return {key: str(table.get(key, ""))[:2000] for key in ("title", "question")}


def table_of_case(folder: Path) -> dict[str, Any]:
    """The case file as TOML; empty where it is none."""
    try:
        return read_toml(case_text(folder))
    except (OSError, ValueError):
        return {}


def draft_of(folder: Path) -> tuple[Draft | None, dict[str, str] | None]:
    """The case file as far as it has been written, and what it holds that it must not."""
    text = case_text(folder)
    try:
        draft = parse_draft(text)
        if draft.faults:
            parse_case(text)  # says the first of them, with its line
    except NeutralPointError as error:
        return None, error.as_dict()
    return draft, None


def listed_files(folder: Path, digests: Digests) -> list[dict]:
    """Files of the case folder itself, with what each is used as.

    Args:
        folder: The case folder.
        digests: Those known.

    Returns:
        Name, kind, size, digest and whether the case uses it.
    """
    used = {name: role for _, name, role in named_files(table_of_case(folder))}
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


def named_files(table: Mapping[str, Any]) -> list[tuple[str, str, str]]:
    """Files that a case names, also one that is half written.

    Args:
        table: The case file as TOML.

    Returns:
        Path of the key, file and what it is used as, of each.
    """
    found = []
    for array, role in FILED.items():
        entries = table.get(array)
        for number, entry in enumerate(entries if isinstance(entries, list) else [], start=1):
            if isinstance(entry, dict) and isinstance(entry.get("file"), str):
                found.append((f"{array}[{number}].file", entry["file"], role))
    airplane = table.get("airplane")
    if isinstance(airplane, dict) and isinstance(airplane.get("file"), str):
        found.append(("airplane.file", airplane["file"], "airplane"))
    return found


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


def stages_wanting(folder: Path, cannot: str) -> dict[str, dict[str, Any]]:
    """The stages of a case that is not whole yet: what is saved can be read, nothing be made.

    Args:
        folder: The case folder.
        cannot: What is missing, in words.

    Returns:
        State by stage.
    """
    kept = stages_by_files(folder)
    return {
        stage: state
        | {
            "ready": False,
            "stale": state["made"] is not None,
            "cannot": cannot if stage == "motion" else WAITS,
        }
        for stage, state in kept.items()
    }


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
