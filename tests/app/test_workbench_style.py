"""The notebook and the report look alike: the same colours, by the same names."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from neutralpoint.report.figures import palette

STATIC = Path(__file__).parents[2] / "src/neutralpoint/app/static"
READABLE = 4.5  # WCAG 2.2, success criterion 1.4.3, level AA


def test_colours_are_those_of_the_report() -> None:
    style = (STATIC / "workbench.css").read_text(encoding="utf-8")
    found = dict(re.findall(r"--([a-z0-9-]+):\s*(#[0-9a-fA-F]{6})", style))
    assert found == palette.ROLES


@pytest.mark.parametrize("name", ["ink", "quiet", "derived", "limit", "event", "caution"])
def test_text_can_be_read_on_paper(name: str) -> None:
    assert palette.contrast(palette.ROLES[name], palette.PAPER) >= READABLE


def test_nothing_is_asked_of_another_place() -> None:
    for path in STATIC.iterdir():
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"(https?:)?//[a-z0-9-]+\.[a-z]", text), path.name
        assert "eval(" not in text
        assert "innerHTML" not in text or path.suffix != ".js"
