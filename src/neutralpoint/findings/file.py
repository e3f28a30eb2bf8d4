"""Reading and writing `findings.json`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import present, read_own, write_whole
from neutralpoint.findings.document import SCHEMA_VERSION, Findings
from neutralpoint.findings.versions import refusal_of, upgraded

NAME = "findings.json"
HINT = "Run `neutralpoint study CASE` again with this version."


def write_findings(folder: Path, findings: Findings) -> Path:
    """Write `findings.json` so that no reader ever sees half of it.

    Args:
        folder: The results folder; it exists.
        findings: The document.

    Returns:
        Path of the file written.
    """
    text = findings.model_dump_json(indent=1) + "\n"
    return write_whole(folder / NAME, text.encode("utf-8"))


def read_findings(folder: Path) -> Findings:
    """Read `findings.json` from a results folder.

    Args:
        folder: The results folder.

    Returns:
        The document.

    Raises:
        NeutralPointError: `results-missing` without a file, `results-version` for a file that
            this version does not read. Earlier schema versions are brought up to date.
    """
    path = present(folder, NAME)
    text = read_own(path).decode("utf-8", "replace")
    return _checked(_parsed(text, path), path)


def schema_text() -> str:
    """The JSON schema of the document, as published in the reference."""
    return json.dumps(Findings.model_json_schema(), indent=1, sort_keys=True) + "\n"


def _parsed(text: str, path: Path) -> dict[str, Any]:
    try:
        raw = json.loads(text)
    except (ValueError, RecursionError) as broken:
        raise _unreadable(f"The file is not JSON: {broken}.", str(path)) from broken
    if not isinstance(raw, dict):
        raise _unreadable("The file does not hold a findings document.", str(path))
    return raw


def _checked(raw: dict[str, Any], path: Path) -> Findings:
    version = raw.get("schema_version")
    if (reason := refusal_of(version)) is not None:
        later = isinstance(version, int) and version > SCHEMA_VERSION
        hint = "Use a later version of the program, or run the study again with this one."
        raise _unreadable(reason, f"{path}: schema_version", hint if later else HINT)
    try:
        return Findings.model_validate(upgraded(raw))
    except ValidationError as invalid:
        first = invalid.errors()[0]
        key = ".".join(str(part) for part in first["loc"])
        raise _unreadable(
            f"Findings of another version: {key}: {first['msg']}.", f"{path}: {key}"
        ) from invalid


def _unreadable(message: str, where: str, hint: str = HINT) -> NeutralPointError:
    return NeutralPointError("results-version", message, where=where, hint=hint)
