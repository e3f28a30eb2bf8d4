"""What is public from Python is named in one place, documented, and nothing else is."""

from __future__ import annotations

import inspect
import subprocess
import sys

import neutralpoint

PUBLIC = {"Case", "NeutralPointError", "Results", "__version__"}


def members(thing) -> list[str]:
    return [name for name in vars(thing) if not name.startswith("_")]


def test_nothing_else_is_public():
    assert set(neutralpoint.__all__) == PUBLIC
    assert set(dir(neutralpoint)) == PUBLIC
    assert members(neutralpoint.Case) == ["check", "study", "results", "findings"]
    assert members(neutralpoint.Results) == [
        *("track", "motion", "moments", "weighing", "response", "history", "outside"),
        *("odds", "examine", "plot", "plot_odds"),
    ]


def test_every_public_name_says_what_it_takes_gives_and_raises(repository):
    page = (repository / "docs" / "reference" / "python.md").read_text("utf-8")
    for called in ("Case", "Results"):
        thing = getattr(neutralpoint, called)
        for name in members(thing):
            assert f"`{called}.{name}" in page
            value = vars(thing)[name]
            if inspect.isfunction(value):
                text = inspect.getdoc(value) or ""
                assert "Returns:" in text and "Raises:" in text, name


def test_naming_them_loads_nothing_slow():
    code = (
        "import sys, neutralpoint; neutralpoint.NeutralPointError; dir(neutralpoint);"
        "sys.exit(bool({'jax', 'xarray', 'matplotlib', 'scipy'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
