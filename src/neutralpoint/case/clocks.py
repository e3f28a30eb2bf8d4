"""Clocks of a case: what each was off, for the events and track files that name it."""

from __future__ import annotations

from neutralpoint.case.case import ReadClock, Taken
from neutralpoint.case.document import CaseDocument
from neutralpoint.track import Track


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


def clocks_taken(document: CaseDocument, track: Track) -> tuple[Taken, ...]:
    """What is taken as given of the clocks.

    Args:
        document: The case file.
        track: The joined track.

    Returns:
        One entry a clock, and one for what the time stamps of the track are off by together.
    """
    shared = Taken(
        "error that the time stamps share",
        f"+- {2.0 * track.time_sigma:.3f} s",
        "fits of the clocks of the receivers, and `clocks` of the case",
        "When things happened; joined with the age of positions.",
    )
    named = tuple(
        Taken(
            f"clock {entry.name!r} less UTC",
            entry.offset.text,
            f"case file: {entry.basis}",
            "When the events and tracks read from it happened; they move together.",
        )
        for entry in document.clocks
    )
    return (*named, shared) if track.time_sigma > 0.0 else named
