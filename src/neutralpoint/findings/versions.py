"""Documents of earlier versions: brought up to date, or refused with the reason."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from neutralpoint.findings.document import SCHEMA_VERSION

Raw = dict[str, Any]


def _from_1(raw: Raw) -> Raw:
    """Version 2 added clock offsets, odds, scores and evidence; each may be empty."""
    return raw | {"schema_version": 2}


# From which version: how to make the next one.
UPGRADES: dict[int, Callable[[Raw], Raw]] = {1: _from_1}


def refusal_of(version: object) -> str | None:
    """Why a document of a version is not read.

    Args:
        version: As it stands in the document.

    Returns:
        The reason in a sentence; None where it is read.
    """
    if not isinstance(version, int) or isinstance(version, bool):
        return f"The document names no schema version: {version!r} was found."
    if version > SCHEMA_VERSION:
        return (
            f"The document has schema version {version}, made by a later program; "
            f"this one reads up to {SCHEMA_VERSION}."
        )
    if version != SCHEMA_VERSION and version not in UPGRADES:
        return f"There never was a findings document of schema version {version}."
    return None


def upgraded(raw: Raw) -> Raw:
    """A document brought to this version, step by step.

    Args:
        raw: Parsed JSON of a version that `refusal_of` does not refuse.

    Returns:
        The same content in this version.
    """
    while raw["schema_version"] != SCHEMA_VERSION:
        raw = UPGRADES[raw["schema_version"]](raw)
    return raw
