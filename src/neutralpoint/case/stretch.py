"""The stretch of the record that is studied, where the analyst names one."""

from __future__ import annotations

from datetime import datetime, timedelta
from datetime import time as Clock

from neutralpoint.case.case import Taken
from neutralpoint.case.document import AnalysisEntry
from neutralpoint.case.tracks import utc
from neutralpoint.errors import NeutralPointError
from neutralpoint.track import Track


def track_seconds(clock: Clock | datetime, track: Track) -> float:
    """A time of the case on the track's axis.

    Args:
        clock: As written; a time alone is on the date of the track.
        track: Gives epoch and date.

    Returns:
        s after the track's epoch.
    """
    first, _ = track.span()
    day = (track.epoch + timedelta(seconds=first)).date()
    moment = utc(clock if isinstance(clock, datetime) else datetime.combine(day, clock))
    time = (moment - track.epoch).total_seconds()
    return time + 86400.0 if not isinstance(clock, datetime) and time < first - 43200.0 else time


def studied(entry: AnalysisEntry, track: Track, where: str) -> Track:
    """The part of a track that the case names.

    Args:
        entry: `start` and `end`, either of which may be left out.
        track: The whole record.
        where: What errors call the case file.

    Returns:
        The readings from `start` to `end`.

    Raises:
        NeutralPointError: `case-invalid` where nothing lies between them.
    """
    if entry.start is None and entry.end is None:
        return track
    first, last = track.span()
    start = first if entry.start is None else track_seconds(entry.start, track)
    end = last if entry.end is None else track_seconds(entry.end, track)
    if start < end and start < last and end > first:
        return track.between(start, end)
    raise NeutralPointError(
        "case-invalid",
        f"`analysis` studies nothing: from {start - first:.0f} s to {end - first:.0f} s after the "
        "first reading.",
        where=f"{where}: analysis.start",
        hint=f"The track lasts {last - first:.0f} s; times are UTC, `start` before `end`.",
    )


def stretch_taken(entry: AnalysisEntry) -> tuple[Taken, ...]:
    """What is said of the stretch.

    Args:
        entry: As written.

    Returns:
        Nothing where the whole record is studied.
    """
    ends = [
        f"{word} {x}" for word, x in (("from", entry.start), ("to", entry.end)) if x is not None
    ]
    if not ends:
        return ()
    return (
        Taken(
            "stretch studied",
            " ".join(ends) + " UTC",
            "case file",
            "Readings outside it are listed with their file and used for nothing.",
        ),
    )
