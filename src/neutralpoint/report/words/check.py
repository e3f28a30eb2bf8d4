"""What is printed of a case before anything is computed: files, steps, gaps, suspect readings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta

from neutralpoint.findings import FlaggedRow, ReadingStep, RefusedRows, Source
from neutralpoint.report.words.motion import readings
from neutralpoint.vocabulary import QUANTITIES

LISTED = 12  # gaps and readings printed; --json gives all
SUSPECT, ASSUMED, NO_WARNINGS = "Suspect readings (kept)", "Assumptions", "No warnings."
ASSUMED_HEADS = ("assumption", "value", "source")


def day_and_time(epoch: datetime, seconds: float) -> str:
    """A time as people write it, such as `2031-04-14 18:57:27.3 UTC`."""
    moment = epoch + timedelta(seconds=seconds, milliseconds=50)  # cut to the tenth below
    return f"{moment:%Y-%m-%d %H:%M:%S}.{moment.microsecond // 100000} UTC"


def source_lines(source: Source, epoch: datetime) -> list[tuple[str, str]]:
    """What a file holds.

    Args:
        source: The file.
        epoch: Zero of times.

    Returns:
        Label and text, line by line.
    """
    said = [("SHA-256", source.sha256)]
    if source.rows_read is not None:
        said.append(("rows", f"{source.rows_read:,}"))
    if source.first is not None and source.last is not None:
        ends = f"{day_and_time(epoch, source.first)} to {day_and_time(epoch, source.last)}"
        said += [("time", ends), ("length", f"{source.last - source.first:,.0f} s")]
    if source.interval is not None:
        said.append(("clock", source.clock))
    said += [("readings", readings_words(step)) for step in source.steps]
    said += _gaps(source, epoch)
    said += [("refused", refused_words(refused)) for refused in source.refused]
    return said + [("assumed", sentence) for sentence in source.assumed]


def _gaps(source: Source, epoch: datetime) -> list[tuple[str, str]]:
    said = [
        ("gap", f"{gap.end - gap.start:.1f} s from {day_and_time(epoch, gap.start)}")
        for gap in source.gaps[:LISTED]
    ]
    more = len(source.gaps) - LISTED
    if more > 0:
        longest = max(gap.end - gap.start for gap in source.gaps)
        said.append(("gap", f"... and {more} more, the longest {longest:.1f} s; --json has all"))
    return said


def readings_words(step: ReadingStep) -> str:
    """Readings of one quantity: how many, how often, how fine."""
    parts = [] if step.count is None else [f"{step.count:,} readings"]
    if step.interval is not None:
        parts.append(f"one in {step.interval:.2f} s (median)")
    if step.step:
        scale = QUANTITIES[step.quantity].shown
        parts.append(f"steps of {step.step / scale.factor:.4g} {scale.symbol}")
    else:
        parts.append("no step visible")
    return f"{readings(step.quantity)}: {', '.join(parts)}"


def refused_words(refused: RefusedRows) -> str:
    """Rows that could not be read, with the reason and the first lines."""
    lines = ", ".join(str(row) for row in refused.rows[:8])
    more = " ..." if refused.count > 8 else ""
    return f"{refused.count} x {refused.reason} (line {lines}{more})"


def suspect_lines(flagged: Sequence[FlaggedRow], epoch: datetime) -> list[str]:
    """Suspect readings, counted by reason, then the first of them.

    Args:
        flagged: Of all files.
        epoch: Zero of times.

    Returns:
        One line each.
    """
    if not flagged:
        return ["none"]
    counted = Counter(row.reason for row in flagged).most_common()
    said = [f"{count} x {reason}" for reason, count in counted]
    said += [
        f"{row.source}:{row.row}  {day_and_time(epoch, row.time)}  "
        f"{readings(row.quantity)}: {row.reason}"
        for row in flagged[:LISTED]
    ]
    more = len(flagged) - LISTED
    return [*said, f"... and {more} more; --json lists all."] if more > 0 else said
