"""Every kind of picture of the studied case: legible type, caution, and words of the findings."""

from __future__ import annotations

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from neutralpoint.findings import read_findings
from neutralpoint.report import load_results
from neutralpoint.report.figures import draw_figure, list_figures
from neutralpoint.report.figures.studio.formats import FORMATS
from neutralpoint.vocabulary.cautions import IN_BRIEF

# One of each kind, in turn in every form; drawing all 70 would take half a minute.
DRAWN = (
    ("flight", "tall"),
    ("moments-needed-column-force", "column"),
    ("odds", "wide"),
    ("odds", "square"),
    ("needs", "tall"),
    ("sways", "column"),
    ("flights", "wide"),
    ("cause-elevator-jam", "tall"),
    ("signatures-1", "wide"),
    ("recovery", "square"),
)


@pytest.fixture(scope="module")
def results(studied):
    return load_results(studied / "results")


@pytest.mark.parametrize(("key", "form"), DRAWN)
def test_a_picture_is_legible_and_bears_its_caution(results, key, form):
    sheet, shape = draw_figure(results, key, form=form, ground="dark"), FORMATS[form]
    FigureCanvasAgg(sheet)
    sheet.draw_without_rendering()
    drawn = [t for t in sheet.findobj(Text) if t.get_visible() and t.get_text().strip()]
    assert min(t.get_fontsize() for t in drawn) >= shape.least - 1e-6
    burnt = " ".join(t.get_text() for t in sorted(sheet.texts, key=lambda t: -t.get_position()[1]))
    assert IN_BRIEF in burnt and results.findings.cut_off in burnt
    assert sum(axes.get_window_extent().height for axes in sheet.axes) > 0.12 * shape.height


def test_every_cause_and_stage_has_its_picture(studied, results):
    keys = [entry.key for entry in list_figures(results)]
    assert len(keys) == len(set(keys))
    findings = read_findings(studied / "results")
    assert {f"cause-{row.cause.value}" for row in findings.signatures.rows} <= set(keys)
    assert {key for key, _ in DRAWN} <= set(keys)


def test_odds_are_printed_as_found(results):
    sheet = draw_figure(results, "odds")
    leader = results.findings.weighing.rows[0]
    said = " ".join(t.get_text() for t in sheet.findobj(Text)).replace("\n", " ")
    assert f"{leader.cause.title}: {leader.least:.2f} to {leader.most:.2f}, as weighed " in said
    assert f"as weighed {leader.probability:.2f}" in said
