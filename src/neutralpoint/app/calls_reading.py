"""What a page reads of a case: its state, its findings, its figures."""

from __future__ import annotations

from typing import Any

import numpy as np

from neutralpoint.app.call import Call, Entry
from neutralpoint.app.folders import missing
from neutralpoint.app.replies import numbers
from neutralpoint.findings import read_findings

POINTS, MOST = 1600, 1e6  # times of a figure where the page does not say; more are never meant


def _state(call: Call) -> Any:
    return call.notebook.state()


def _findings(call: Call) -> Any:
    return read_findings(call.notebook.results).model_dump(mode="json")


def _table(call: Call) -> Any:
    stage = call.place["stage"]
    sections = read_findings(call.notebook.results).sections
    found = [section.model_dump(mode="json") for section in sections if section.stage == stage]
    if not found:
        raise missing(f"The stage {stage[:40]!r} has said nothing yet.", "stage")
    return {"sections": found}


def _figure(call: Call) -> Any:
    within = (call.number("from", -np.inf), call.number("to", np.inf))
    points = int(min(call.number("points", POINTS), MOST))
    shelf = call.notebook.shelf
    return numbers(shelf.figure(call.place["stage"], points=points, within=within))


def _path(call: Call) -> Any:
    return numbers(call.notebook.shelf.path(points=int(min(call.number("points", POINTS), MOST))))


READING: tuple[Entry, ...] = (
    ("GET", "state", "", _state),
    ("GET", "findings", "", _findings),
    ("GET", "table/{stage}", "", _table),
    ("GET", "figure/{stage}", "", _figure),
    ("GET", "path3d", "", _path),
)
