"""The first look at a case and the study that follows read its file once."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

import pytest

from neutralpoint.case.document import CaseDocument
from neutralpoint.case.load import load_case
from neutralpoint.case.text import first_look
from neutralpoint.cli.entry import run


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


@pytest.mark.parametrize(
    "wrong",
    [["--duration", "nan"], ["--set", "lean=nan"], ["--set", "lean=inf"], ["--set", "lean=1=2"]],
)
def test_a_flight_is_asked_for_in_finite_numbers(tmp_path, capsys, wrong):
    assert run(["fly", str(tmp_path), "--cause", "spiral-dive", *wrong]) == 2
    assert "argument-invalid" in capsys.readouterr().err


@pytest.mark.parametrize(
    "command",
    ["fly --cause spiral-dive --from", "response --height-ft", "response --from", "figures --last"]
    + [f"film --{name}" for name in ("last", "rate", "speed", "stop-short")],
)
@pytest.mark.parametrize("value", ["nan", "inf"])
def test_no_option_takes_what_is_no_number(tmp_path, capsys, command, value):
    first, *rest = command.split()
    assert run([first, str(tmp_path), *rest, value]) == 2
    assert "argument-invalid" in capsys.readouterr().err


def test_figures_that_cannot_be_saved_are_refused_before_they_are_drawn(tmp_path, capsys):
    results = tmp_path / "results"
    results.mkdir()
    (results / "findings.json").write_text("not read", "utf-8")
    (tmp_path / "file").write_text("", "utf-8")
    assert run(["report", str(tmp_path), "--figures", str(tmp_path / "file" / "x")]) == 2
    assert "path-invalid" in capsys.readouterr().err
