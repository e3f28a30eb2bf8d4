"""Two studies beside each other in the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table

from neutralpoint.report.compare.comparison import StudyComparison
from neutralpoint.report.compare.results import ALONE, BEYOND


def show_comparison(found: StudyComparison, out: Console) -> None:
    """Print what differs and what moved.

    Args:
        found: The comparison.
        out: Where to.
    """
    inputs = _table("Input", found)
    for one in found.inputs:
        inputs.add_row(f"{one.kind}: {one.name}", one.before, one.after)
    if found.inputs:
        out.print(inputs)
    for said in found.why:
        out.print(said)
    told = [row for row in found.moved if row.size in (BEYOND, ALONE)]
    results = _table("Moved beyond its band", found)
    for row in told:
        results.add_row(f"{row.topic}: {row.name}", row.before, row.after)
    if told:
        out.print(results)
    left = len(found.moved) - len(told)
    out.print(f"{left} more results are the same or within their bands; --json holds them.")


def _table(title: str, found: StudyComparison) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for name in (title, found.before, found.after):
        table.add_column(name, overflow="fold")
    return table
