"""A fault of the case file is found before what a study needs is loaded."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from neutralpoint.case.document import CaseDocument
from neutralpoint.case.load import load_case
from neutralpoint.case.text import first_look

PROGRAM = (
    "import sys; from neutralpoint.cli.entry import run; code = run(sys.argv[1:]); "
    "slow = {'jax', 'matplotlib', 'xarray'} & set(sys.modules); sys.exit(9 if slow else code)"
)


@pytest.mark.parametrize("command", ["check", "motion", "study"])
@pytest.mark.parametrize("text", [None, "schema = ", "schema = 1"])
def test_errors_of_the_case_load_nothing_slow(tmp_path, command, text):
    if text is not None:
        (tmp_path / "case.toml").write_text(text, "utf-8")
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, command, str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2, done.stderr
    assert "Error case-" in done.stderr


def test_a_case_file_is_parsed_once(monkeypatch):
    """The look at it and the study that follows share one document."""
    folder = Path(__file__).parents[2] / "examples" / "quorleigh"
    first_look(folder)
    monkeypatch.setattr(CaseDocument, "model_validate", None)
    assert load_case(folder).document.title
