"""The answer sheet of the shipped case: the same in its four places, every number bound."""

from __future__ import annotations

import re
import shutil

import pytest

from neutralpoint.findings import read_findings
from neutralpoint.report import fresh_answer, print_answer, sheet_of
from neutralpoint.report.sheet.choose import with_judgement
from neutralpoint.report.sheet.said import Bound, Piece

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")


def pieces(part):
    """Every piece of text of a sheet, wherever it stands."""
    if isinstance(part, Piece):
        yield part
    elif isinstance(part, tuple):
        for each in part:
            yield from pieces(each)
    elif hasattr(type(part), "model_fields"):
        for name in type(part).model_fields:
            yield from pieces(getattr(part, name))


@pytest.fixture(scope="module")
def findings(studied):
    return read_findings(studied / "results")


def test_every_number_of_the_shipped_case_names_its_finding(findings):
    bound, keyed = Bound(with_judgement(findings)), 0
    for piece in pieces(sheet_of(findings)):
        if piece.key:
            bound.value(piece.key)  # raises where the key names nothing
            keyed += 1
        else:
            assert not re.search(r"\d", re.sub(r"\b(?:50|90|95)%", "", piece.text)), piece.text
    assert keyed > 40


def test_the_page_is_that_of_these_findings_and_stands_in_the_report(studied, findings):
    results = studied / "results"
    alone, report = fresh_answer(results), (results / "report.html").read_text("utf-8")
    assert alone == (results / "answer.html").read_text("utf-8")
    headline = sheet_of(findings).headline.text
    for page in (alone, report):
        sheet = page[page.index("<article") : page.index("</article>")]
        text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", sheet))
        assert headline in text
    assert report.index("<article") < report.index("<h1")


def test_what_moves_the_leader_comes_first(findings):
    weighing = findings.weighing
    stands = weighing.rows[0].probability
    reach = [max(abs(end.probability - stands) for end in row.ends) for row in weighing.sways]
    assert {row.assumption for row in weighing.sways} >= {"failed", "networks", "wind", "cg"}
    assert reach[0] == max(reach)


@pytest.mark.skipif(BROWSER is None, reason="printing needs a browser")
def test_on_paper_it_is_one_page(studied, tmp_path):
    results = shutil.copytree(studied / "results", tmp_path / "results")
    pdf, picture = print_answer(results)
    assert len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes())) == 1
    assert picture.read_bytes().startswith(b"\x89PNG")
