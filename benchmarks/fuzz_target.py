"""A reader that is fed damaged input, and what came of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from neutralpoint.errors import NeutralPointError


@dataclass
class Target:
    """A reader with good input."""

    name: str
    good: bytes
    read: Callable[[bytes], object]
    inputs: int = 0
    outcomes: Counter[str] = field(default_factory=Counter)
    refused_rows: int = 0
    slowest: float = 0.0
    spent: float = 0.0
    faults: list[str] = field(default_factory=list)
    code: str = ""  # of the last refusal


def nothing_found(folder: Path, name: str, data: bytes, read: Callable[[Path], object]) -> object:
    """A file of a case that may be damaged: it counts as none, and nothing is raised."""
    (folder / name).write_bytes(data)
    found = read(folder)
    if not found:
        raise NeutralPointError("not-found", "Nothing usable.", where=name, hint="None.")
    return found
