"""Figures: what is drawn, described once, and its drawing for page, print, film and publication.

What comes in: a results folder, read. What goes out: descriptions that the pages draw, printed
sheets, and pictures to be published (`list_figures`, `draw_figure`, `save_figures`). It is assumed
that the findings are what is to be shown: nothing is computed here but bands of saved paths.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from neutralpoint.report.figures.studio.entries import Entry, list_figures
    from neutralpoint.report.figures.studio.formats import FORMATS, GROUNDS
    from neutralpoint.report.figures.studio.save import draw_figure, figure_bytes, save_figures

__all__ = [
    "FORMATS",
    "GROUNDS",
    "Entry",
    "draw_figure",
    "figure_bytes",
    "list_figures",
    "save_figures",
]

STUDIO = "neutralpoint.report.figures.studio"


def __getattr__(name: str) -> Any:
    """Loaded when asked for: drawing takes long to load, and most pages draw nothing here."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(STUDIO), name)
