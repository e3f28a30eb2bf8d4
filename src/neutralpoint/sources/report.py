"""What a reader found in a file: rows used and refused, quality, and what was assumed."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from neutralpoint.errors import NeutralPointError
from neutralpoint.sources.units import Settled
from neutralpoint.track import Observations, Quality, Suspicion

ROWS_LISTED = 20  # rows named for each reason; all are counted


@dataclass(frozen=True)
class Refusal:
    """Rows or cells that could not be used, for one reason.

    Attributes:
        reason: What was wrong, in words.
        count: How many.
        rows: The first of them, as lines of the file.
    """

    reason: str
    count: int
    rows: tuple[int, ...]


@dataclass(frozen=True)
class SourceReport:
    """What one file holds.

    Attributes:
        format: The format it was read as.
        rows_read: Data rows in the file.
        first: Time of the first reading, s after the track's epoch; None without times.
        last: Time of the last reading.
        refused: Rows and cells that were not used, by reason.
        quality: Quality of each channel, by name.
        suspicions: Readings kept but marked.
        assumed: What the reader had to assume or found out, in sentences.
        warnings: What may affect a result, in the four fields of an error.
        onboard: What the airplane said of itself beside its track, by name: replies and the
            like. No stage uses them; they are there to compare with.
        settled: Unit of each column of a table, and how it is known, by role.
    """

    format: str
    rows_read: int
    first: float | None = None
    last: float | None = None
    refused: tuple[Refusal, ...] = ()
    quality: dict[str, Quality] = field(default_factory=dict)
    suspicions: tuple[Suspicion, ...] = ()
    assumed: tuple[str, ...] = ()
    warnings: tuple[NeutralPointError, ...] = ()
    onboard: dict[str, Observations] = field(default_factory=dict)
    settled: dict[str, Settled] = field(default_factory=dict)


class Refusals:
    """Counts what a reader refuses; every refusal has a reason and a row."""

    def __init__(self) -> None:
        self._rows: dict[str, list[int]] = defaultdict(list)
        self._counts: dict[str, int] = defaultdict(int)

    def add(self, reason: str, row: int) -> None:
        """Count one refusal.

        Args:
            reason: What was wrong, in words.
            row: Line of the file.
        """
        self._counts[reason] += 1
        if len(self._rows[reason]) < ROWS_LISTED:
            self._rows[reason].append(row)

    def result(self) -> tuple[Refusal, ...]:
        """All refusals.

        Returns:
            One entry for each reason, the most frequent first.
        """
        ordered = sorted(self._counts.items(), key=lambda item: (-item[1], item[0]))
        return tuple(Refusal(reason, count, tuple(self._rows[reason])) for reason, count in ordered)
