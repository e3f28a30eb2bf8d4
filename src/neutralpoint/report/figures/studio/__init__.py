"""Figures to be published: one result a picture, in the shape and on the ground that it needs.

What comes in: a results folder, and where there is one `figures.toml` of the case with notes of
the analyst. What goes out: pictures as SVG, PNG or PDF that bear their title, sources, data
cut-off and caution. It is assumed that a picture is passed on without its page, so that all it
needs to be read rightly stands on it.
"""

from neutralpoint.report.figures.studio.entries import Entry, list_figures
from neutralpoint.report.figures.studio.formats import FORMATS, GROUNDS, Format
from neutralpoint.report.figures.studio.save import draw_figure, figure_bytes, save_figures

__all__ = [
    "FORMATS",
    "GROUNDS",
    "Entry",
    "Format",
    "draw_figure",
    "figure_bytes",
    "list_figures",
    "save_figures",
]
