"""What `neutralpoint check` prints for people; units of the trade, times in UTC."""

from __future__ import annotations

from collections import Counter
from datetime import datetime, timedelta

from rich.console import Console
from rich.table import Table
from rich.text import Text

from neutralpoint.findings import ReadingStep, Source
from neutralpoint.study import Check
from neutralpoint.vocabulary import QUANTITIES

LISTED = 12  # flagged rows printed; --json gives all


def clock(epoch: datetime, seconds: float) -> str:
    """A time as people write it, such as `2031-04-14 18:57:27.3 UTC`."""
    moment = epoch + timedelta(seconds=seconds)
    return f"{moment:%Y-%m-%d %H:%M:%S}.{moment.microsecond // 100000} UTC"


def show_check(found: Check, out: Console) -> None:
    """Print what a case holds.

    Args:
        found: What was found.
        out: Where to print.
    """
    out.print(Text(found.subject.title, style="bold"))
    for source in found.sources:
        _show_source(source, found.epoch, out)
    _show_flagged(found, out)
    out.print(Text("\nTaken as given", style="bold"))
    table = Table("what", "value", "from", box=None, pad_edge=False)
    for taken in found.assumptions:
        table.add_row(Text(taken.name), Text(taken.value), Text(taken.source))
    out.print(table)
    for warning in found.warnings:
        out.print(Text.assemble(("\nWarning ", "bold yellow"), warning.message))
        out.print(Text(f"  at   {warning.where}\n  hint {warning.hint}"))
    if not found.warnings:
        out.print("\nNo warnings.")


def _show_source(source: Source, epoch: datetime, out: Console) -> None:
    out.print(
        Text.assemble(("\n" + source.path, "bold"), f"  ({source.role}, {source.size} bytes)")
    )
    out.print(Text(f"  SHA-256    {source.sha256}"), soft_wrap=True)
    if source.rows_read is not None:
        out.print(f"  rows       {source.rows_read}")
    if source.first is not None and source.last is not None:
        lapse = source.last - source.first
        out.print(f"  time       {clock(epoch, source.first)} to {clock(epoch, source.last)}")
        out.print(f"  length     {lapse:.0f} s")
    if source.interval is not None:
        out.print(f"  clock      {source.clock}")
    for step in source.steps:
        _line(out, "holds", _held(step))
    for gap in source.gaps[:LISTED]:
        out.print(f"  gap        {gap.end - gap.start:.1f} s from {clock(epoch, gap.start)}")
    if len(source.gaps) > LISTED:
        longest = max(gap.end - gap.start for gap in source.gaps)
        more = len(source.gaps) - LISTED
        out.print(f"  gap        ... and {more} more, the longest {longest:.1f} s; --json has all")
    for refused in source.refused:
        lines = ", ".join(str(row) for row in refused.rows[:8])
        more = " ..." if refused.count > 8 else ""
        _line(out, "refused", f"{refused.count} x {refused.reason} (line {lines}{more})")
    for sentence in source.assumed:
        _line(out, "assumed", sentence)


def _line(out: Console, name: str, text: str) -> None:
    """A line whose text stays in its own column where it is too long for the screen."""
    table = Table.grid(padding=0)
    table.add_column(width=13, no_wrap=True)
    table.add_column()
    table.add_row(f"  {name}", Text(text))
    out.print(table)


def _held(step: ReadingStep) -> str:
    """Readings of one quantity: how many, how often, how fine."""
    parts = [] if step.count is None else [f"{step.count} readings"]
    if step.interval is not None:
        parts.append(f"one in {step.interval:.2f} s (median)")
    if step.step:
        scale = QUANTITIES[step.quantity].shown
        parts.append(f"steps of {step.step / scale.factor:.4g} {scale.symbol}")
    else:
        parts.append("no step visible")
    return f"{step.quantity}: {', '.join(parts)}"


def _show_flagged(found: Check, out: Console) -> None:
    out.print(Text("\nSuspicious rows (kept)", style="bold"))
    if not found.flagged:
        out.print("  none")
        return
    for reason, count in Counter(row.reason for row in found.flagged).most_common():
        out.print(f"  {count} reading(s): {reason}")
    for row in found.flagged[:LISTED]:
        when = clock(found.epoch, row.time)
        out.print(Text(f"  {row.source}:{row.row}  {when}  {row.quantity}: {row.reason}"))
    if len(found.flagged) > LISTED:
        out.print(f"  ... and {len(found.flagged) - LISTED} more; --json lists all.")
