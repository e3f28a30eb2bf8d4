"""One study of a comparison: its findings, and the case file that they were made from."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from neutralpoint.documents.toml import TomlRefused, read_toml
from neutralpoint.files import read_own
from neutralpoint.findings import Findings, read_findings

CASE_FILE = "case.toml"


@dataclass(frozen=True)
class Side:
    """One study.

    Attributes:
        name: What it is called.
        findings: Its document.
        case: The case file it was made from, as TOML; None where that is no longer known.
    """

    name: str
    findings: Findings
    case: dict[str, Any] | None


def read_side(place: Path, name: str = "") -> Side:
    """A study as it was left on disk.

    Args:
        place: A case folder, its results folder, or a folder with kept results.
        name: What it is called; the name of the folder where empty.

    Returns:
        The study.

    Raises:
        NeutralPointError: `results-missing` or `results-version`.
    """
    results = place if (place / "findings.json").is_file() else place / "results"
    findings = read_findings(results)
    folder = place if (place / CASE_FILE).is_file() else place.parent
    return Side(name or folder.resolve().name, findings, _case_of(folder / CASE_FILE, findings))


def _case_of(path: Path, findings: Findings) -> dict[str, Any] | None:
    """The case file, where it still is what the study has read."""
    known = {one.sha256 for one in findings.sources if one.role == "case"}
    if not path.is_file():
        return None
    data = read_own(path)
    if hashlib.sha256(data).hexdigest() not in known:
        return None
    try:
        return read_toml(data.decode("utf-8", "replace"))
    except TomlRefused:  # no study read it so
        return None
