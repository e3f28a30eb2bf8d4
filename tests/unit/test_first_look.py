"""The first look at a case and the study that follows read its file once."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

from neutralpoint.case.document import CaseDocument
from neutralpoint.case.load import load_case
from neutralpoint.case.text import first_look


def test_a_case_file_is_parsed_once(monkeypatch, repository):
    folder = repository / "examples" / "quorleigh"
    first_look(folder)
    monkeypatch.setattr(CaseDocument, "model_validate", None)
    assert load_case(folder).document.title


def test_a_fault_of_the_airplane_file_is_told_before_anything_slow_is_loaded(repository, tmp_path):
    case = tmp_path / "case"
    shutil.copytree(
        repository / "examples" / "quorleigh", case, ignore=shutil.ignore_patterns("results")
    )
    text = (case / "case.toml").read_text("utf-8")
    (case / "case.toml").write_text(text.replace('"ostrel-7"', '"own.toml"'), "utf-8")
    catalogue = repository / "src" / "neutralpoint" / "airplane" / "catalogue" / "ostrel-7.toml"
    (case / "own.toml").write_text("nonsense = 1\n" + catalogue.read_text("utf-8"), "utf-8")
    script = (
        "import sys; from neutralpoint.cli.entry import run; code = run(sys.argv[1:]);"
        "slow = {'jax', 'xarray', 'scipy.signal', 'scipy.stats'} & set(sys.modules);"
        "sys.exit(f'loaded {slow}' if slow else code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, "check", str(case)],
        capture_output=True,
        text=True,
        check=False,
        env=os.environ,
    )
    assert done.returncode == 2, done.stderr
    assert "nonsense" in done.stderr and "own.toml" in done.stderr
