"""Maps and clouds of the other stages: wreckage and earlier flights."""

from __future__ import annotations

from neutralpoint.report.figures.history_sheet import draw_cloud, read_cloud
from neutralpoint.report.figures.studio.frame import ChartPlace, Picture
from neutralpoint.report.figures.wreckage_sheet import draw_map, read_map
from neutralpoint.report.results import Results


def has_history(results: Results) -> bool:
    """Whether there are earlier flights to draw."""
    return read_cloud(results) is not None


def has_wreckage(results: Results) -> bool:
    """Whether there is a map to draw."""
    return read_map(results) is not None


def draw_history(body: Picture) -> None:
    """The flight over the cloud of its earlier flights."""
    cloud = read_cloud(body.results)
    if cloud is None:
        return
    rows = body.sheet.subplots(2, 1, sharex=True)
    draw_cloud(list(rows), cloud, body.look)
    _legend(body, rows[0])
    body.places["history"] = ChartPlace(rows[0])


def draw_wreckage(body: Picture) -> None:
    """The map of where it came down."""
    held = read_map(body.results)
    found = body.findings.wreckage
    if held is None or found is None:
        return
    axes = body.sheet.subplots()
    draw_map(axes, body.results, held, found.last, body.look)
    _legend(body, axes)
    body.places["wreckage"] = ChartPlace(axes)


def _legend(body: Picture, axes) -> None:
    handles, labels = axes.get_legend_handles_labels()
    body.handles += [(h, t.replace("\n", " ")) for h, t in zip(handles, labels, strict=True)]
