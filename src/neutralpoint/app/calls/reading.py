"""What a page reads of a case: its state, its findings, its figures."""

from __future__ import annotations

import contextlib
from dataclasses import asdict
from typing import Any

import numpy as np
from starlette.responses import Response

from neutralpoint.app.calls.call import Call, Entry
from neutralpoint.app.contents import draft_of, revision_of
from neutralpoint.app.dark import in_dark
from neutralpoint.app.figures import Ground
from neutralpoint.app.folders import missing
from neutralpoint.app.out import path_gpx, path_kml, series_csv, series_parquet
from neutralpoint.app.replies import numbers
from neutralpoint.app.rows import rows_near
from neutralpoint.app.stretches import found_stretches
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import read_findings
from neutralpoint.report.words.page import page_findings
from neutralpoint.report.words.sections import sections_of

HALF, MOST_HALF = 2.0, 60.0  # s around a moment in which rows are shown
# Files that are made of the motion when they are asked for, and their media types.
OUT = {
    "series.parquet": (series_parquet, "application/vnd.apache.parquet"),
    "series.csv": (series_csv, "text/csv; charset=utf-8"),
    "path.gpx": (path_gpx, "application/gpx+xml"),
    "path.kml": (path_kml, "application/vnd.google-earth.kml+xml"),
}
POINTS, MOST = 1600, 1e6  # times of a figure where the page does not say; more are never meant


def _state(call: Call) -> Any:
    return call.notebook.state()


def _findings(call: Call) -> Any:
    return page_findings(read_findings(call.notebook.results)).model_dump(mode="json")


def _answer(call: Call) -> Any:
    """The answer sheet alone, without the page around it."""
    from neutralpoint.app.pictures import DRAWING
    from neutralpoint.report import fresh_answer  # loads matplotlib: not before the page is up

    with call.notebook.answering, DRAWING:
        page = fresh_answer(call.notebook.results)
    sheet = page[page.index("<article") : page.index("</article>") + len("</article>")]
    return {"html": in_dark(sheet) if call.text("ground") == "dark" else sheet}


def _table(call: Call) -> Any:
    stage = call.place["stage"]
    sections = sections_of(read_findings(call.notebook.results))
    found = [section.model_dump(mode="json") for section in sections if section.stage == stage]
    if not found:
        raise missing(f"The stage {stage[:40]!r} has no result yet.", "stage")
    return {"sections": found}


def _within(call: Call) -> tuple[float, float]:
    """The stretch that is asked for, s on the time axis of the figure."""
    return call.number("from", -np.inf), call.number("to", np.inf)


def _figure(call: Call) -> Any:
    points = int(min(call.number("points", POINTS), MOST))
    shelf = call.notebook.shelf
    return numbers(shelf.figure(call.place["stage"], points=points, within=_within(call)))


def _ground(call: Call) -> Ground:
    """Heights of the ground as the case has them; NaN where it has none."""
    from neutralpoint.case.ground import ground_along  # loads JAX: not before the page is up

    notebook = call.notebook
    draft, _ = draft_of(notebook.folder)
    document = None if draft is None else draft.document

    def ground(latitude: Any, longitude: Any) -> Any:
        if document is None:
            return np.full(len(latitude), np.nan)
        with contextlib.suppress(NeutralPointError):  # the state says what is wrong with it
            return ground_along(
                notebook.folder, document.terrain, document.geoid_height, latitude, longitude
            )
        return np.full(len(latitude), np.nan)

    return ground


def _path(call: Call) -> Any:
    notebook = call.notebook
    points = int(min(call.number("points", POINTS), MOST))
    mark = revision_of(notebook.folder)
    within = _within(call)
    ground = _ground(call)
    return numbers(notebook.shelf.path(points=points, ground=ground, mark=mark, within=within))


def _surroundings(call: Call) -> Any:
    mark = revision_of(call.notebook.folder)
    return numbers(call.notebook.shelf.surroundings(ground=_ground(call), mark=mark))


def _stretches(call: Call) -> Any:
    """Parts of the time axis with a name, and why some of it is hatched."""
    from neutralpoint.app.hatches import hatches  # loads JAX: not before the page is up

    results = call.notebook.shelf.results()
    return {
        "stretches": [asdict(one) for one in found_stretches(results)],
        "hatches": [asdict(one) for one in hatches(results)],
    }


def _out(call: Call) -> Any:
    """The motion as a file for other programs."""
    name = call.place["name"]
    if name not in OUT:
        raise missing(f"There is no file {name[:40]!r} to hand out.", "name")
    make, media = OUT[name]
    made = make(call.notebook.shelf.results())
    data = made if isinstance(made, bytes) else made.encode()
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(data, media_type=media, headers=headers)


def _rows(call: Call) -> Any:
    start = float(call.notebook.shelf.results().time[0])
    half = min(max(call.number("half", HALF), 0.0), MOST_HALF)
    return rows_near(call.notebook.case(), call.number("time", 0.0), half, start)


READING: tuple[Entry, ...] = (
    ("GET", "state", "", _state),
    ("GET", "findings", "", _findings),
    ("GET", "answer", "", _answer),
    ("GET", "table/{stage}", "", _table),
    ("GET", "figure/{stage}", "", _figure),
    ("GET", "path3d", "", _path),
    ("GET", "surroundings", "", _surroundings),
    ("GET", "stretches", "", _stretches),
    ("GET", "out/{name}", "", _out),
    ("GET", "rows", "", _rows),
)
