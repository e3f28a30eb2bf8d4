"""Results of a case that were kept under a name, to be compared with later ones.

`CASE/.kept/NAME/` holds the findings of one study and the case file that it was made from.
"""

from __future__ import annotations

import contextlib
import hashlib
import re
import shutil
from datetime import UTC, datetime
from pathlib import Path

from neutralpoint.app.contents import FINDINGS
from neutralpoint.app.folders import CASE_FILE, RESULTS, missing, plain_name
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import own_folder, read_own, write_whole

KEPT = ".kept"
BY_ITSELF, MOST = re.compile(r"run of .*"), 8  # of those that a new run keeps by itself


def kept_names(folder: Path) -> list[str]:
    """Names of what is kept, the oldest first.

    Args:
        folder: The case folder.

    Returns:
        The names; none where nothing is kept.
    """
    place = folder / KEPT
    if not place.is_dir() or place.is_symlink():
        return []
    held = [one for one in place.iterdir() if (one / FINDINGS).is_file() and not one.is_symlink()]
    return [one.name for one in sorted(held, key=lambda one: (one / FINDINGS).stat().st_mtime_ns)]


def kept_place(folder: Path, name: str) -> Path:
    """Where results of a name lie; the results as they are now for an empty name.

    Raises:
        NeutralPointError: `not-found`.
    """
    if not name:
        return folder / RESULTS
    if name not in kept_names(folder):
        raise missing(f"No results are kept as {name[:60]!r}.", "name")
    return folder / KEPT / name


def keep(folder: Path, name: str) -> str:
    """Keep the results as they are now.

    Args:
        folder: The case folder; its lock is held.
        name: A plain name; by the time of the results where empty.

    Returns:
        The name.

    Raises:
        NeutralPointError: `results-missing`, `request-invalid` for the name, or `case-exists`.
    """
    findings = folder / RESULTS / FINDINGS
    if not findings.is_file():
        raise NeutralPointError(
            "results-missing",
            "There are no results to keep yet.",
            where=RESULTS,
            hint="Run the study first.",
        )
    when = datetime.fromtimestamp(findings.stat().st_mtime, UTC)
    milli = when.microsecond // 1000
    chosen = plain_name(name) if name else f"run of {when:%Y-%m-%d %H.%M.%S}.{milli:03d}"
    if chosen in kept_names(folder):
        raise NeutralPointError(
            "case-exists",
            f"Results are kept as {chosen!r} already; they were not touched.",
            where=chosen,
            hint="Give another name, or remove those first.",
        )
    place = own_folder(own_folder(folder / KEPT, make=True) / chosen, make=True)
    case = read_own(folder / CASE_FILE)
    # Of a case that was changed since, this is no longer the file that the study has read.
    if hashlib.sha256(case).hexdigest().encode() in read_own(findings):
        write_whole(place / CASE_FILE, case)
    write_whole(place / FINDINGS, read_own(findings))
    return chosen


def keep_before_run(folder: Path) -> None:
    """Keep what a new run is about to write over, unless it is kept already; the oldest go.

    Args:
        folder: The case folder; its lock is held.
    """
    findings = folder / RESULTS / FINDINGS
    if not findings.is_file():
        return
    now = read_own(findings)
    if any(read_own(folder / KEPT / name / FINDINGS) == now for name in kept_names(folder)):
        return
    with contextlib.suppress(NeutralPointError, OSError):  # a full disk must not stop the run
        keep(folder, "")
    by_itself = [name for name in kept_names(folder) if BY_ITSELF.fullmatch(name)]
    for name in by_itself[:-MOST]:
        remove_kept(folder, name)


def remove_kept(folder: Path, name: str) -> None:
    """Remove kept results.

    Raises:
        NeutralPointError: `not-found`.
    """
    if not name:
        raise missing("Say which kept results are to be removed.", "name")
    shutil.rmtree(kept_place(folder, name))
