"""The figures of the answer sheet as data addresses, each with what it shows in words."""

from __future__ import annotations

import base64

from matplotlib.figure import Figure

from neutralpoint.findings.part import Part
from neutralpoint.report.figures.answer import (
    flight_curves,
    flights_figure,
    recovery_figure,
    sway_figure,
)
from neutralpoint.report.figures.draw_matplotlib import svg
from neutralpoint.report.results import Results
from neutralpoint.report.sheet.sheet import Sheet
from neutralpoint.report.words.sheet_alt import flights_said, recovery_said, sway_said


class DrawnAnswer(Part):
    """Addresses for an image element; empty where there is nothing to draw."""

    flights: str = ""
    flights_narrow: str = ""
    flights_said: str = ""
    recovery: str = ""
    recovery_said: str = ""
    sway: str = ""
    sway_said: str = ""


def drawn_of(results: Results, sheet: Sheet) -> DrawnAnswer:
    """Draw the figures of a sheet.

    Args:
        results: A results folder, read.
        sheet: Its sheet.

    Returns:
        The figures.
    """
    curves = flight_curves(results, sheet)
    found = {}
    if curves.bands and curves.time.size:
        found["flights"] = _address(flights_figure(curves))
        found["flights_narrow"] = _address(flights_figure(curves, narrow=True))
        found["flights_said"] = flights_said(sheet)
    if sheet.recovery is not None and sheet.recovery.shares:
        found["recovery"] = _address(recovery_figure(sheet.recovery))
        found["recovery_said"] = recovery_said(sheet.recovery)
    if sheet.sway is not None:
        found["sway"] = _address(sway_figure(sheet.sway))
        found["sway_said"] = sway_said(sheet.sway)
    return DrawnAnswer(**found)


def _address(figure: Figure) -> str:
    return f"data:image/svg+xml;base64,{base64.b64encode(svg(figure)).decode('ascii')}"
