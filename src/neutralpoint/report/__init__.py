"""Saying it: from saved findings to one page that opens anywhere, and to figures for print.

What comes in: a results folder with `findings.json` and the NetCDF files it names. What goes out:
one self-contained HTML page, SVG and PNG figures. It is assumed that the findings are what is to
be said: nothing is computed here but bands of saved sample paths and their drawing.
"""

from neutralpoint.report.compose import compose_figure
from neutralpoint.report.page import write_report
from neutralpoint.report.results import Results, load_results

__all__ = ["Results", "compose_figure", "load_results", "write_report"]
