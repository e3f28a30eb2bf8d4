"""How `neutralpoint check` lays out what a case holds."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from neutralpoint.findings import Source
from neutralpoint.report.words import check as words
from neutralpoint.study import Check


def show_check(found: Check, out: Console) -> None:
    """Print what a case holds.

    Args:
        found: What was found.
        out: Where to print.
    """
    out.print(Text(found.subject.title, style="bold"))
    for source in found.sources:
        _show_source(source, found, out)
    out.print(Text(f"\n{words.SUSPECT}", style="bold"))
    for line in words.suspect_lines(found.flagged, found.epoch):
        out.print(Text(f"  {line}"))
    out.print(Text(f"\n{words.ASSUMED}", style="bold"))
    table = Table(*words.ASSUMED_HEADS, box=None, pad_edge=False)
    for taken in found.assumptions:
        table.add_row(Text(taken.name), Text(taken.value), Text(taken.source))
    out.print(table)
    for warning in found.warnings:
        out.print(Text.assemble(("\nWarning ", "bold yellow"), warning.message))
        out.print(Text(f"  at   {warning.where}\n  hint {warning.hint}"))
    if not found.warnings:
        out.print(f"\n{words.NO_WARNINGS}")


def _show_source(source: Source, found: Check, out: Console) -> None:
    out.print(
        Text.assemble(("\n" + source.path, "bold"), f"  ({source.role}, {source.size:,} bytes)")
    )
    for label, text in words.source_lines(source, found.epoch):
        _line(out, label, text)


def _line(out: Console, name: str, text: str) -> None:
    """A line whose text stays in its own column where it is too long for the screen."""
    table = Table.grid(padding=0)
    table.add_column(width=13, no_wrap=True)
    table.add_column(overflow="fold")
    table.add_row(f"  {name}", Text(text))
    out.print(table)
