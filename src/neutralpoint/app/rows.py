"""The rows as received behind any moment of the record."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from neutralpoint.sources import decode
from neutralpoint.track import Track

if TYPE_CHECKING:
    from neutralpoint.case import Case, LoadedSource

LISTED = 200  # rows of one answer
WIDEST = 400  # characters of a row
# Formats whose rows are lines of the file.
LINED = ("delimited text", "Mode S")


def rows_near(case: Case, time: float, half: float, start: float) -> list[dict[str, Any]]:
    """Rows whose readings lie near a moment.

    Args:
        case: The case as it is now.
        time: s after `start`.
        half: Half-width of the stretch, s.
        start: Beginning of the figure, s after the epoch.

    Returns:
        One entry a row, in order of time: source, row, text, time after `start`, what it was read
        as, whether it is marked, and why.
    """
    sources = [source for source in case.sources if source.role == "track"]
    found: dict[tuple[int, int], dict[str, Any]] = {}
    for name, near in _near(case.track, start + time, half).items():
        channel = getattr(case.track, name)
        for k in near:
            key = (int(channel.source[k]), int(channel.row[k]))
            row = found.setdefault(key, _row(case, sources, key, float(channel.time[k]) - start))
            row["quantities"].append(name.replace("_", " "))
            row["suspect"] = row["suspect"] or bool(channel.suspect[k])
    return sorted(found.values(), key=lambda row: row["time"])[:LISTED]


def _near(track: Track, time: float, half: float) -> dict[str, list[int]]:
    return {
        name: np.flatnonzero(np.abs(channel.time - time) <= half).tolist()
        for name, channel in track.channels().items()
    }


def _row(case: Case, sources: list[LoadedSource], key: tuple[int, int], time: float) -> dict:
    source, row = sources[key[0]], key[1]
    reasons = [
        f"{s.quantity.replace('_', ' ')}: {s.reason}"
        for s in (source.report.suspicions if source.report is not None else ())
        if s.row == row
    ]
    return {
        "source": source.path,
        "row": row,
        "text": _text(case.folder / source.path, source, row),
        "time": time,
        "quantities": [],
        "suspect": False,
        "reason": "; ".join(dict.fromkeys(reasons)),
    }


def _text(path: Path, source: LoadedSource, row: int) -> str:
    """The row itself, where a row is a line."""
    if source.report is None or not source.report.format.startswith(LINED):
        return ""
    lines = _lines(path, source.sha256)
    return lines[row - 1][:WIDEST] if 0 < row <= len(lines) else ""


@lru_cache(maxsize=4)
def _lines(path: Path, _digest: str) -> list[str]:
    return decode(path.read_bytes(), path.name).splitlines()
