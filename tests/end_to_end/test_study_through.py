"""A case with an airplane through all stages: every one is in the findings and in the report."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from collections import Counter
from html import unescape
from itertools import pairwise
from pathlib import Path

import pytest

from neutralpoint.cli.entry import run
from neutralpoint.findings import read_findings
from neutralpoint.report import write_pdf
from neutralpoint.report.page.pdf import BROWSERS
from neutralpoint.report.page.pdf_places import places
from neutralpoint.report.words.sections import sections_of
from neutralpoint.study import stage_states
from neutralpoint.vocabulary import CauseName

PAGES = 12  # before the appendices
MINUS = "\u2212"


@pytest.fixture(scope="module")
def findings(studied):
    return read_findings(studied / "results")


def contents(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}


def borne(folder: Path) -> dict:
    """The stages that the data of the case bear."""
    return {name: state for name, state in stage_states(folder).items() if not state.cannot}


def test_every_stage_is_in_the_findings(studied, findings):
    states = borne(studied)
    assert all(state.ready and not state.stale for state in states.values())
    assert set(states) - {"motion"} <= {section.stage for section in sections_of(findings)}
    assert not [warning for warning in findings.warnings if warning.code == "program-fault"]
    for result in findings.results:
        data = (studied / "results" / result.path).read_bytes()
        assert result.sha256 == hashlib.sha256(data).hexdigest()


def test_every_section_is_in_the_report_without_network(studied, findings):
    page = (studied / "results" / "report.html").read_text(encoding="utf-8")
    assert not re.search(r"(?:src|href)\s*=\s*[\"']?(?:https?:)?//", page)
    text = unescape(page)
    plain = text.replace("-", MINUS)  # numbers of the page have true minus signs
    assert hashlib.sha256((studied / "track.csv").read_bytes()).hexdigest() in text
    for section in sections_of(findings):
        assert section.title in text
        # Sentences about single causes: those of the leading ones, the rest is in tables.
        general = [statement.text for statement in section.statements if not statement.about]
        assert all(said.replace("-", MINUS) in plain for said in general)


def test_the_report_says_nothing_twice(studied, sentences):
    found = sentences((studied / "results" / "report.html").read_text(encoding="utf-8"))
    assert [said for said, count in Counter(found).items() if count > 1] == []


@pytest.mark.slow  # prints a report, ten seconds
def test_the_printed_report_is_short_before_its_appendices(studied, tmp_path):
    if not any(map(shutil.which, BROWSERS)):
        pytest.skip("no Chromium on this machine: apt-get install chromium")
    pdf = write_pdf(studied / "results" / "report.html", tmp_path / "report.pdf").read_bytes()
    at = places(pdf)
    assert at["c-reading"] - 1 <= PAGES
    assert at["c-claims"] < at["c-reading"]


def test_the_odds_come_with_their_score(findings):
    weighing = next(section for section in sections_of(findings) if section.stage == "weighing")
    assert sum(odds.probability for odds in weighing.odds) == pytest.approx(1.0, abs=0.01)
    assert weighing.scores


def test_verdicts_and_odds_share_keys(findings):
    """Every cause that is judged was weighed, or is said not to have been."""
    judged = {verdict.cause for verdict in findings.moments.verdicts}
    weighed = {row.cause for row in findings.weighing.rows}
    gated = {row.title for row in findings.weighing.gated}
    assert judged & weighed
    assert {cause.title for cause in judged - weighed} <= gated


def test_one_judgement_a_cause_agrees_with_its_odds(findings):
    """No cause that is excluded keeps odds, and every cause that was weighed has its p-value."""
    found = findings.judgement
    weighed = {row.cause for row in findings.weighing.rows}
    assert weighed <= {row.cause for row in found.rows}
    for row in found.rows:
        if row.word == "cannot" and row.odds is not None:
            assert row.odds.probability <= found.residual
        assert (row.p_value is not None) == (row.cause in weighed - {CauseName.UNLISTED})
    assert found.fit.none_near is False


def test_steps_are_told_to_a_program(studied):
    lines = (studied.parent / "steps.jsonl").read_text("utf-8").splitlines()
    *steps, end = [json.loads(line) for line in lines]
    assert [set(step) for step in steps] == [{"stage", "text", "fraction"}] * len(steps)
    assert all(a["fraction"] <= b["fraction"] for a, b in pairwise(steps))
    assert {step["stage"] for step in steps} - {""} == set(borne(studied))
    assert end["done"]["report"].endswith("report.html")


# As much of a shorter run: tests/unit/test_study.py.
@pytest.mark.slow
@pytest.mark.usefixtures("few_pilots")
@pytest.mark.parametrize("name", ["limits.nc", "response.nc"])
def test_only_a_damaged_result_is_made_again_with_the_same_bits(studied, tmp_path, capsys, name):
    folder = shutil.copytree(studied, tmp_path / "case")
    before = contents(folder / "results")
    (folder / "results" / name).write_bytes(before[name][:-1])
    assert run(["study", str(folder)]) == 0
    printed = capsys.readouterr()
    assert str(folder / "results" / "report.html") in printed.out.splitlines()
    assert printed.err.count("from the saved results") == 5
    after = contents(folder / "results")
    assert {n for n in before if after[n] != before[n]} <= {"report.html"}
