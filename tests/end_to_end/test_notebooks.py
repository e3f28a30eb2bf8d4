"""The notebooks of the documents run from first cell to last, on fresh copies of the examples.

Minutes, as they study a case; `make slow` runs them. That their cells hold what they showed, and
name no machine, is asked by tests/contracts/test_site.py at every change.
"""

from __future__ import annotations

import importlib.metadata
import json
import shutil
import tomllib
from pathlib import Path

import matplotlib
import pytest

from neutralpoint import plugins

ROOT = Path(__file__).parents[2]
NOTEBOOKS = sorted((ROOT / "docs" / "notebooks").glob("*.ipynb"))


@pytest.fixture
def beside_examples(tmp_path, monkeypatch):
    """A folder of notebooks beside unstudied examples, and the example plug-in as if installed."""
    shutil.copytree(
        ROOT / "examples", tmp_path / "examples", ignore=shutil.ignore_patterns("results")
    )
    folder = tmp_path / "docs" / "notebooks"
    folder.mkdir(parents=True)
    monkeypatch.chdir(folder)
    monkeypatch.syspath_prepend(ROOT / "examples" / "plug-in" / "src")
    text = (ROOT / "examples" / "plug-in" / "pyproject.toml").read_text("utf-8")
    points = [
        importlib.metadata.EntryPoint(name, value, group)
        for group, names in tomllib.loads(text)["project"]["entry-points"].items()
        for name, value in names.items()
    ]

    truly = importlib.metadata.entry_points

    def named(**wanted: str):
        """What is installed, the example, and what a notebook installs itself."""
        found = list(truly(**wanted))
        names = {(point.group, point.name) for point in found}
        added = [p for p in points if all(getattr(p, k) == v for k, v in wanted.items())]
        return found + [p for p in added if (p.group, p.name) not in names]

    monkeypatch.setattr(plugins, "entry_points", named)
    monkeypatch.setattr(importlib.metadata, "entry_points", named)
    matplotlib.use("agg")


@pytest.mark.slow
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_runs(path, beside_examples):
    names: dict = {}
    for number, cell in enumerate(json.loads(path.read_text("utf-8"))["cells"]):
        if cell["cell_type"] == "code":
            exec(compile("".join(cell["source"]), f"{path.stem}, cell {number}", "exec"), names)
    assert "results" in names
