"""Saying it: from saved findings to one page that opens anywhere, and to figures for print.

What comes in: a results folder with `findings.json` and the NetCDF files it names. What goes out:
one self-contained HTML page, SVG and PNG figures. It is assumed that the findings are what is to
be said: nothing is computed here but bands of saved sample paths and their drawing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from neutralpoint.report.claims.ledger import Ledger, load_ledger, write_drafts
    from neutralpoint.report.figures.compose import compose_figure
    from neutralpoint.report.figures.sheets import write_figures
    from neutralpoint.report.page.pdf import write_pdf
    from neutralpoint.report.page.write import write_report
    from neutralpoint.report.results import Results, load_results
    from neutralpoint.report.sheet.page import fresh_answer, write_answer
    from neutralpoint.report.sheet.prints import print_answer
    from neutralpoint.report.wording.review import Review, review_text
    from neutralpoint.report.wording.text import read_text
    from neutralpoint.report.words.sheet import sheet_of

__all__ = [
    "Ledger",
    "Results",
    "Review",
    "compose_figure",
    "fresh_answer",
    "load_ledger",
    "load_results",
    "print_answer",
    "read_text",
    "review_text",
    "sheet_of",
    "write_answer",
    "write_drafts",
    "write_figures",
    "write_pdf",
    "write_report",
]

# Module of each name. They are loaded when asked for: a page that needs one of them must not wait
# for what all of them need together.
PLACES = {
    "Ledger": "claims.ledger",
    "Results": "results",
    "Review": "wording.review",
    "compose_figure": "figures.compose",
    "fresh_answer": "sheet.page",
    "load_ledger": "claims.ledger",
    "load_results": "results",
    "print_answer": "sheet.prints",
    "read_text": "wording.text",
    "review_text": "wording.review",
    "sheet_of": "words.sheet",
    "write_answer": "sheet.page",
    "write_drafts": "claims.ledger",
    "write_figures": "figures.sheets",
    "write_pdf": "page.pdf",
    "write_report": "page.write",
}


def __getattr__(name: str) -> Any:
    if name not in PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{PLACES[name]}"), name)
