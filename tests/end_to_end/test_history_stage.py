"""Earlier flights as a stage of a study: from a folder of tracks to the page, and into the odds."""

from __future__ import annotations

import shutil

import pytest

from neutralpoint.findings import read_findings
from neutralpoint.history.generated import InventedTail
from neutralpoint.report.figures.history_sheet import history_sheet
from neutralpoint.report.results import load_results
from neutralpoint.report.words.history import NO_FINDING, history_section
from neutralpoint.study import run_stage, stage_states

pytest.importorskip("polars")


@pytest.fixture(scope="module")
def compared(studied, tmp_path_factory):
    """The shipped case with eighteen earlier flights, of which six depart from their level."""
    from neutralpoint.history.generated_files import write_fleet

    case = tmp_path_factory.mktemp("history") / "case"
    shutil.copytree(studied, case)
    tails = [
        InventedTail("qq-qla", "Tessera 2", 18, "trim-event", 12),
        InventedTail("inv01", "Tessera 2", 8),
        InventedTail("inv02", "Tessera 2", 8),
    ]
    write_fleet(case / "earlier", tails, 4, rows=2000)
    (case / "earlier" / "broken.parquet").write_bytes(b"PAR1")
    text = (case / "case.toml").read_text("utf-8")
    entry = '[history]\ntracks = "earlier"\nchanged = 2030-01-04\n\n[response]\n'
    (case / "case.toml").write_text(text.replace("[response]\n", entry, 1), "utf-8")
    steps = []
    results = run_stage(case, "history", lambda step: steps.append(str(step)))
    return case, results, steps


def test_what_was_worked_out_before_stands(compared):
    case, _, steps = compared
    assert any("motion" in step and "saved" in step for step in steps)
    states = stage_states(case)
    assert states["history"].ready and states["motion"].ready and states["moments"].ready
    assert states["weighing"].stale  # departures on earlier flights enter the odds


def test_the_findings_count_and_compare(compared):
    found = read_findings(compared[1]).history
    assert (found.own, found.others, found.airplanes, found.later) == (18, 16, 2, 0)
    assert found.troubled_files == 1 and found.troubles[0].file == "broken.parquet"
    assert any(row.own is not None and row.own.count == 18 for row in found.measures)
    assert found.events
    assert found.evidence.events == len(found.events)
    assert 0.0 < found.evidence.ordinary < 1.0


def test_words_and_figure_say_it(compared):
    results = load_results(compared[1])
    section = history_section(results.findings.history)
    said = " ".join(statement.text for statement in section.statements)
    assert "18 earlier flights" in said and "enter the odds as evidence" in said
    assert section.cautions[0] == NO_FINDING
    assert history_sheet(results) is not None
