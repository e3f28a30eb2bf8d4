"""The first look at a case and the study that follows read its file once."""

from __future__ import annotations

from neutralpoint.case.document import CaseDocument
from neutralpoint.case.load import load_case
from neutralpoint.case.text import first_look


def test_a_case_file_is_parsed_once(monkeypatch, repository):
    folder = repository / "examples" / "quorleigh"
    first_look(folder)
    monkeypatch.setattr(CaseDocument, "model_validate", None)
    assert load_case(folder).document.title
