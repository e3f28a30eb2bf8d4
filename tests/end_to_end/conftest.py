"""One study through all stages, shared by every test that starts from a studied case."""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.study.lock import locked
from neutralpoint.study.response import work_out

EXAMPLE = Path(__file__).parents[2] / "examples" / "quorleigh"
LINES = "steps.jsonl"
# Time and strength of one cause: the others would cost the tests a minute and show no more.
TABLE, FEWER = "[response]\n", 'causes = ["stabilizer-runaway"]\n'
# And of a quarter of the pilots of a quick look, in as few lanes: three thousand flights, where
# twelve thousand take half a minute more and fill the same maps.
PILOTS, LANES = (8, 2), 64
STUDY = f"""
from neutralpoint.cli.entry import main
from neutralpoint.study.response import work_out
work_out.QUICK, work_out.LANES = {PILOTS}, {LANES}
main()
"""


@pytest.fixture(scope="session")
def studied(tmp_path_factory) -> Path:
    """A copy of the shipped case, studied; its steps lie beside it. Not to be changed.

    The first worker that wants it makes it, the others wait.
    """
    base = tmp_path_factory.getbasetemp()
    shared = (base.parent if base.name.startswith("popen-") else base) / "studied"
    shared.mkdir(exist_ok=True)
    while not (shared / LINES).exists():
        try:
            with locked(shared):
                if not (shared / LINES).exists():
                    _make(shared)
        except NeutralPointError as busy:
            assert busy.code == "case-busy"
            time.sleep(0.5)
    return shared / "case"


@pytest.fixture
def few_pilots(monkeypatch) -> None:
    """A response that is made again is made as that of the studied case."""
    monkeypatch.setattr(work_out, "QUICK", PILOTS)
    monkeypatch.setattr(work_out, "LANES", LANES)


def _make(shared: Path) -> None:
    case = shared / "case"
    shutil.copytree(EXAMPLE, case, ignore=shutil.ignore_patterns("results"), dirs_exist_ok=True)
    text = (case / "case.toml").read_text("utf-8")
    assert TABLE in text
    (case / "case.toml").write_text(text.replace(TABLE, TABLE + FEWER), "utf-8")
    command = [sys.executable, "-c", STUDY, "study", str(case), "--progress-json"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    (shared / "new").write_text(done.stdout, "utf-8")
    (shared / "new").replace(shared / LINES)
