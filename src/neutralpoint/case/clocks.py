"""Clocks of a case: what each was off, for the events and track files that name it."""

from __future__ import annotations

from neutralpoint.case.case import ReadClock, Taken
from neutralpoint.case.document import CaseDocument


def read_clocks(document: CaseDocument) -> dict[str, ReadClock]:
    """The clocks by name.

    Args:
        document: The case file.

    Returns:
        Clocks in SI units.
    """
    return {
        entry.name: ReadClock(entry.name, entry.offset.value, entry.offset.sigma, entry.basis)
        for entry in document.clocks
    }


def clocks_taken(document: CaseDocument) -> tuple[Taken, ...]:
    """What is taken as given of the clocks.

    Args:
        document: The case file.

    Returns:
        One entry a clock.
    """
    return tuple(
        Taken(
            f"clock {entry.name!r} less UTC",
            entry.offset.text,
            f"case file: {entry.basis}",
            "When the events and tracks read from it happened; they move together.",
        )
        for entry in document.clocks
    )
