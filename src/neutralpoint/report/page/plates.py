"""The figures of a report as pictures: short ones for its body, whole ones for after it."""

from __future__ import annotations

import base64
from dataclasses import replace
from functools import cached_property

from matplotlib.figure import Figure as Sheet

from neutralpoint.findings import StageSection
from neutralpoint.report.figures.compose import compose_figure, compose_stage
from neutralpoint.report.figures.draw_matplotlib import path_sheet, strip_sheets, svg
from neutralpoint.report.figures.felt_sheet import felt_sheets
from neutralpoint.report.figures.figure import Figure, Strips
from neutralpoint.report.figures.heard_sheet import heard_sheets
from neutralpoint.report.figures.history_sheet import history_sheet
from neutralpoint.report.figures.load_sheet import load_sheets
from neutralpoint.report.figures.sheets import PRINT_TIMES
from neutralpoint.report.figures.signature_sheet import signature_sheets
from neutralpoint.report.figures.timeline import timeline_sheet
from neutralpoint.report.figures.wreckage_sheet import wreckage_sheets
from neutralpoint.report.results import Results

Drawn = list[tuple[str, str]]

# What tells most of a flight, and of a moment, where all of it would fill pages.
PATH_PANELS = (
    "pressure_altitude",
    "calibrated_airspeed",
    "flight_path_angle",
    "pitch_angle",
    "normal_load_factor",
)
MOMENT_PANELS = 3
HISTORY = "The flight over the cloud of its earlier flights, and its measures among theirs"
LOW = 1.0  # inch a panel


class Plates:
    """Draws what a report prints.

    Args:
        results: A results folder, read.
    """

    def __init__(self, results: Results) -> None:
        self.results = results

    @cached_property
    def figure(self) -> Figure:
        """The motion, thinned for print."""
        return compose_figure(self.results, limit=PRINT_TIMES)

    def path_brief(self) -> Drawn:
        """The panels of the motion that tell most."""
        strips = self.figure.strips
        kept = tuple(panel for panel in strips.panels if panel.key in PATH_PANELS)
        return _sheets("The flight", replace(strips, panels=kept), height=LOW)

    def path_full(self) -> Drawn:
        """Every panel of the motion, and the path from above and from the side."""
        path = address(path_sheet(self.figure.views, self.figure.strips))
        return [
            *_sheets("The motion", self.figure.strips),
            ("The path from above and from the side", path),
        ]

    def timeline(self) -> Drawn:
        """The events on one axis."""
        findings = self.results.findings
        return [("Timeline", address(timeline_sheet(findings)))] if findings.events else []

    @cached_property
    def signatures(self) -> Drawn:
        """Every cause beside the data."""
        named = "Every cause flown from the last trimmed flight, beside the data"
        return _numbered(named, signature_sheets(self.results))

    def load_diagram(self) -> Drawn:
        """The flown path in the diagram of speed and load factor."""
        sheets = load_sheets(self.results)
        return [("The flight in the diagram of speed and load factor", address(s)) for s in sheets]

    def felt(self) -> Drawn:
        """Perceived against flown attitude."""
        sheets = felt_sheets(self.results)
        return [("Flown attitude, and what two models perceive", address(s)) for s in sheets]

    def stage_brief(self, section: StageSection) -> Drawn:
        """The first panels of the required moment; of other stages the whole is in an appendix."""
        if section.stage == "signatures":
            return self.signatures[:1]
        if section.stage == "limits":
            return [] if _told_in_full(section) else self.load_diagram()
        if section.stage == "history":
            sheet = history_sheet(self.results)
            return [] if sheet is None else [(HISTORY, address(sheet))]
        if section.stage == "heard":
            sheets = heard_sheets(self.results)
            return [("Spectrum with the blade rate followed", address(s)) for s in sheets]
        if section.stage == "wreckage":
            sheets = wreckage_sheets(self.results)
            return [("Where the airplane and its parts came down", address(s)) for s in sheets]
        if section.stage != "moments" or not section.panels:
            return []
        return _sheets(section.title, self._strips(section, MOMENT_PANELS), height=LOW)

    def stage_full(self, section: StageSection) -> Drawn:
        """Every panel of a stage, where its body has not shown them all."""
        if section.stage == "signatures":
            return self.signatures[1:]
        if section.stage == "limits" and _told_in_full(section):
            return self.load_diagram() + _sheets(section.title, self._strips(section))
        if section.stage == "felt":
            strips = _sheets(section.title, self._strips(section)) if section.panels else []
            return self.felt() + strips
        short = MOMENT_PANELS if section.stage == "moments" else 0
        if len(section.panels) <= short:
            return []
        return _sheets(section.title, self._strips(section))

    def _strips(self, section: StageSection, first: int | None = None) -> Strips:
        return compose_stage(self.results, section.panels[:first], limit=PRINT_TIMES)


def _told_in_full(section: StageSection) -> bool:
    """Whether the tables of a section stand in its appendix: then its picture does too."""
    return all(table.detail for table in section.tables)


def _sheets(title: str, strips: Strips, height: float | None = None) -> Drawn:
    sheets = strip_sheets(strips) if height is None else strip_sheets(strips, height=height)
    return _numbered(title, sheets)


def _numbered(title: str, sheets: list[Sheet]) -> Drawn:
    """Sheets under one title, numbered where there is more than one."""
    count = len(sheets)
    return [
        (title if count == 1 else f"{title}, sheet {number} of {count}", address(sheet))
        for number, sheet in enumerate(sheets, start=1)
    ]


def address(sheet: Sheet) -> str:
    """A sheet as a data address."""
    return f"data:image/svg+xml;base64,{base64.b64encode(svg(sheet)).decode('ascii')}"
