"""Two studies beside each other, from the results that each has left on disk.

What comes in: two findings documents, with the case files that they were made from where those are
still as they were. What goes out: what differs in the inputs, and what moved in the results by how
much against its own band. It is assumed that nothing is computed again: a result that is not in a
document is not compared.
"""

from __future__ import annotations

from neutralpoint.report.compare.comparison import (
    DifferingInput,
    MovedResult,
    StudyComparison,
    compare,
)
from neutralpoint.report.compare.side import Side, read_side

__all__ = ["DifferingInput", "MovedResult", "Side", "StudyComparison", "compare", "read_side"]
