"""Lines of raw Mode S: a time, 14 or 28 hexadecimal digits, and perhaps a receiver."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.sources.clock import ClockSettings, read_times
from neutralpoint.sources.report import Refusals

MESSAGE = re.compile(r"[*@]?([0-9A-Fa-f]{28}|[0-9A-Fa-f]{14});?")
TICKED = re.compile(r"@([0-9A-Fa-f]{12})([0-9A-Fa-f]{28}|[0-9A-Fa-f]{14});?")
TICKS = 12e6  # per second: the multilateration clock of common receivers (common practice)
TICKS_FORM = "ticks 12 MHz"
MOST_LINES = 1_000_000  # a day of one airplane is fewer; noise of so many takes half a minute
LONGEST_LINE = 200  # characters
MOST_RECEIVERS = 64  # a limit against files that are no messages


@dataclass(frozen=True)
class Raw:
    """One message as it was received.

    Attributes:
        time: s after the epoch.
        text: Hexadecimal digits, capitals.
        row: Line of the file.
        receiver: Index of the receiver.
    """

    time: float
    text: str
    row: int
    receiver: int


def read_lines(
    text: str, clock: ClockSettings, refusals: Refusals, where: str
) -> tuple[datetime, list[Raw], tuple[str, ...], tuple[str, ...]]:
    """Messages with their times.

    Args:
        text: The file.
        clock: What is known of the times; `ticks 12 MHz` counts from its `start`.
        refusals: Counts the lines left out.
        where: Name of the file, for errors.

    Returns:
        Epoch, messages in order of time, names of the receivers, and what was assumed.

    Raises:
        NeutralPointError: `file-empty` without a message, `file-too-large`, or `time-unclear`.
    """
    lines = text.splitlines()
    if len(lines) > MOST_LINES:
        raise NeutralPointError(
            "file-too-large",
            f"The file has {len(lines)} lines.",
            where=where,
            hint=f"At most {MOST_LINES} are read; cut the file to the flight.",
        )
    cells, texts, rows, names = [], [], [], []
    for row, line in enumerate(lines, start=1):
        found = _split(line)
        if found is None:
            if line.strip() and not line.lstrip().startswith("#"):
                refusals.add("the line holds no time and message", row)
            continue
        time, message, name = found
        cells.append(time)
        texts.append(message)
        rows.append(row)
        names.append(name)
    if not texts:
        raise NeutralPointError(
            "file-empty",
            "No line holds a time and 14 or 28 hexadecimal digits.",
            where=where,
            hint="One message a line: time, digits, and a receiver's name if there are several.",
        )
    epoch, seconds, said = _times(cells, clock, where)
    known = list(dict.fromkeys(names))[:MOST_RECEIVERS]
    place = {name: k for k, name in enumerate(known)}
    found = []
    for k, message in enumerate(texts):
        if not np.isfinite(seconds[k]):
            refusals.add("the time cannot be read", rows[k])
        elif names[k] not in place:
            refusals.add(f"more than {MOST_RECEIVERS} receivers", rows[k])
        else:
            found.append(Raw(float(seconds[k]), message, rows[k], place[names[k]]))
    found.sort(key=lambda raw: (raw.time, raw.row))
    return epoch, found, tuple(known), said


def _split(line: str) -> tuple[str, str, str] | None:
    """Time, message and receiver of a line; None where it is no such line."""
    if len(line) > LONGEST_LINE:
        return None
    cells = [c for c in re.split(r"[,;\t ]+", line.strip()) if c]
    if cells and (ticked := TICKED.fullmatch(cells[0])) is not None:
        return ticked[1], ticked[2].upper(), cells[1] if len(cells) > 1 else ""
    for k, cell in enumerate(cells):
        match = MESSAGE.fullmatch(cell)
        if match is not None and k > 0:
            rest = cells[k + 1 :]
            return " ".join(cells[:k]), match[1].upper(), rest[0] if rest else ""
    return None


def _times(cells: list[str], clock: ClockSettings, where: str):
    if clock.form != TICKS_FORM:
        return read_times(cells, clock, where)
    seconds = np.array([_ticks(cell) for cell in cells]) / TICKS
    elapsed = ClockSettings("elapsed s", clock.day, clock.offset, clock.start)
    return read_times([repr(float(s)) for s in seconds], elapsed, where)


def _ticks(cell: str) -> float:
    try:
        return float(int(cell, 16))
    except ValueError:
        return float("nan")
