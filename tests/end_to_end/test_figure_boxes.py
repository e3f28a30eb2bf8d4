"""No text of a picture lies over another or beyond the margin: every figure in every form."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from neutralpoint.report import load_results
from neutralpoint.report.figures import draw_figure, list_figures
from neutralpoint.report.figures.studio.formats import FORMATS
from neutralpoint.report.figures.studio.frame import MARGIN

TOUCH = 0.12  # of the smaller height: boxes of letters have room above and below them
SPARE = 2.0  # pixels: rounding of the layout

# One of each kind; `make slow` draws all, which takes minutes.
DRAWN = ("flight", "odds", "recovery", "signatures-1", "needs")


def _of_axes(axes: Axes) -> Iterator[Text]:
    yield from axes.texts
    yield from (axes.title, axes._left_title, axes._right_title)
    for axis in (axes.xaxis, axes.yaxis):
        yield axis.label
        low, high = sorted(axis.get_view_interval())
        spare = 1e-9 * (high - low)
        for place, label in zip(axis.get_ticklocs(), axis.get_ticklabels(), strict=False):
            if low - spare <= place <= high + spare:
                yield label
    for child in axes.child_axes:
        yield from _of_axes(child)


def boxes_of(sheet) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Text and its box in pixels, of all that is drawn."""
    FigureCanvasAgg(sheet)
    sheet.draw_without_rendering()
    texts = list(sheet.texts)
    for legend in (*sheet.legends, *(a for a in sheet.artists if hasattr(a, "get_texts"))):
        texts += legend.get_texts()
    for axes in sheet.axes:
        if axes.get_visible() and axes.axison:
            texts += _of_axes(axes)
        elif axes.get_visible():
            texts += axes.texts
    found = []
    for text in texts:
        if text.get_visible() and text.get_text().strip():
            box = Text.get_window_extent(text)
            found.append((text.get_text(), (box.x0, box.y0, box.x1, box.y1)))
    return found


def faults_of(sheet, form: str) -> list[str]:
    """What lies over another text, or beyond the margin."""
    shape, boxes = FORMATS[form], boxes_of(sheet)
    margin = MARGIN * min(shape.width, shape.height) - SPARE
    told = [
        f"cut: {text!r}"
        for text, (left, low, right, high) in boxes
        if left < margin / 2 or low < margin or right > shape.width - margin / 2
        or high > shape.height - margin
    ]  # fmt: skip
    for (one, a), (other, b) in itertools.combinations(boxes, 2):
        wide = min(a[2], b[2]) - max(a[0], b[0])
        high = min(a[3], b[3]) - max(a[1], b[1])
        if wide > SPARE and high > TOUCH * min(a[3] - a[1], b[3] - b[1]):
            told.append(f"over: {one!r} and {other!r}")
    return told


@pytest.fixture(scope="module")
def results(studied):
    return load_results(studied / "results")


@pytest.mark.parametrize("key", DRAWN)
def test_nothing_is_over_another_or_cut(results, key):
    for form in ("square", "tall"):
        assert faults_of(draw_figure(results, key, form=form), form) == [], form


@pytest.mark.slow
@pytest.mark.parametrize("form", FORMATS)
def test_no_figure_has_text_over_another_or_cut(results, form):
    told = {
        entry.key: faults_of(draw_figure(results, entry.key, form=form), form)
        for entry in list_figures(results)
    }
    assert {key: faults for key, faults in told.items() if faults} == {}


def test_a_text_over_another_is_found(results):
    """The measure itself: two texts on one place, and one beyond the edge."""
    sheet = draw_figure(results, "odds", form="square")
    sheet.text(0.5, 0.5, "one text")
    sheet.text(0.5, 0.5, "another text")
    sheet.text(0.99, 0.3, "beyond the edge")
    told = faults_of(sheet, "square")
    assert "over: 'one text' and 'another text'" in told and "cut: 'beyond the edge'" in told
