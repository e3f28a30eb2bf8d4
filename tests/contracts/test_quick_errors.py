"""Help and errors of a case load nothing slow, whatever the command.

`pint` loads the outermost module of SciPy by itself, which is quick; its parts are not loaded.
"""

from __future__ import annotations

import subprocess
import sys

import pytest

SLOW = (
    "jax",
    "jaxlib",
    "xarray",
    "matplotlib",
    "h5py",
    "scipy.linalg",
    "scipy.special",
    "starlette",
)
PROGRAM = f"""
import json, os, sys
from neutralpoint.cli.entry import run
for line in sys.stdin:
    code = run(json.loads(line))
    loaded = [name for name in {SLOW} if name in sys.modules]
    print("\\n##", code, *loaded, flush=True)
"""
CASE_COMMANDS = (
    "check",
    "motion",
    "study",
    "weigh",
    "fly --cause elevator-jam",
    "response",
    "calibrate",
)
RESULT_COMMANDS = ("next-evidence", "report", "claims", "film")
COMMANDS = ("new", "airplane", "wording", "serve", "compare", *CASE_COMMANDS, *RESULT_COMMANDS)


def said_of(commands):
    """Exit code and slow modules after each command, all in one process, and what it printed."""
    import json

    done = subprocess.run(
        [sys.executable, "-c", PROGRAM],
        input="\n".join(json.dumps(command) for command in commands),
        capture_output=True,
        text=True,
        check=True,
    )
    marks = [line.split()[1:] for line in done.stdout.splitlines() if line.startswith("## ")]
    assert len(marks) == len(commands), done.stderr
    return marks, done.stderr


@pytest.fixture
def faulty(tmp_path, repository):
    """Case folders with one fault each, by the code of the error."""
    text = (repository / "examples" / "quorleigh" / "case.toml").read_text("utf-8")
    texts = {
        "case-syntax": "schema = ",
        "case-incomplete": "schema = 1",
        "case-invalid": text.replace("schema = 1", "schema = 1\nnonsense = 1", 1),
        "file-missing": text,
    }
    folders = {"case-missing": tmp_path / "nowhere"}
    for code, held in texts.items():
        folders[code] = tmp_path / code
        folders[code].mkdir()
        (folders[code] / "case.toml").write_text(held, "utf-8")
    return folders


def test_help_loads_nothing_slow():
    commands = [[], ["--help"], ["--version"], ["frob"], ["check", "--frob"]]
    commands += [[name.split()[0], "--help"] for name in COMMANDS]
    marks, _ = said_of(commands)
    assert marks == [["0"]] * 3 + [["2"]] * 2 + [["0"]] * len(COMMANDS)


def test_faults_of_the_case_load_nothing_slow(faulty):
    commands = [
        [*name.split()[:1], str(folder), *name.split()[1:]]
        for folder in faulty.values()
        for name in CASE_COMMANDS
    ]
    marks, errors = said_of(commands)
    assert marks == [["2"]] * len(commands)
    said = [line.split()[1].rstrip(":") for line in errors.splitlines() if line[:6] == "Error "]
    assert said == [code for code in faulty for _ in CASE_COMMANDS]


def test_what_is_missing_is_said_before_anything_slow_is_loaded(tmp_path):
    commands = [[name, str(tmp_path)] for name in RESULT_COMMANDS]
    commands += [["wording", str(tmp_path / "none.md")], ["airplane", "nobody"]]
    commands += [["serve", str(tmp_path / "none")], ["compare", str(tmp_path), str(tmp_path)]]
    marks, errors = said_of(commands)
    assert marks == [["2"]] * len(commands)
    said = [line.split()[1].rstrip(":") for line in errors.splitlines() if line[:6] == "Error "]
    assert said == ["results-missing"] * 4 + ["file-missing"] * 2 + [
        "case-missing",
        "results-missing",
    ]
