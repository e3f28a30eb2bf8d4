"""The notebook and the report look alike: the same colours, by the same names."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from neutralpoint.report.figures import palette

STATIC = Path(__file__).parents[2] / "src/neutralpoint/app/static"
READABLE = 4.5  # WCAG 2.2, success criterion 1.4.3, level AA


THEME = Path(__file__).parents[2] / "frontend/src/bench/theme.ts"
# What the style sheets alone know: the backs of cards, and text on a full color.
OWN = {"card", "on-ink", "here", "doubted"}


def roles(start: str) -> dict[str, str]:
    """Colors by role in the first rule of a selector."""
    style = (STATIC / "workbench.css").read_text(encoding="utf-8")
    rule = style[style.index(start) :].split("}", 1)[0]
    return {
        name: color
        for name, color in re.findall(r"--([a-z0-9-]+):\s*(#[0-9a-fA-F]{6})\b", rule)
        if name not in OWN
    }


def test_colours_are_those_of_the_report() -> None:
    assert roles(":root{--paper") == palette.ROLES
    assert roles("[data-theme=dark]{") == palette.DARK_ROLES
    drawn = set(re.findall(r"#[0-9a-f]{6}", THEME.read_text(encoding="utf-8")))
    known = {*palette.DARK_ROLES.values(), *palette.DARK_INKS} - {palette.DARK_ROLES["caution"]}
    assert drawn == known


@pytest.mark.parametrize("name", ["ink", "quiet", "derived", "limit", "event", "caution"])
def test_text_can_be_read_on_paper(name: str) -> None:
    assert palette.contrast(palette.ROLES[name], palette.PAPER) >= READABLE
    dark = palette.DARK_ROLES
    for back in (dark["paper"], "#1a222b"):  # a card's
        assert palette.contrast(dark[name], back) >= READABLE


def test_nothing_is_asked_of_another_place() -> None:
    for path in STATIC.iterdir():
        if path.suffix == ".woff2":
            assert path.read_bytes().startswith(b"wOF2")
            continue
        # The license of the plotting library stands where its code does.
        if path.name in ("workbench.js", "workbench.css"):
            assert "Permission is hereby granted" in path.read_text(encoding="utf-8")
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"(https?:)?//[a-z0-9-]+\.[a-z]", text), path.name
        assert "eval(" not in text
        assert "innerHTML" not in text or path.suffix != ".js"


def test_drawings_take_their_colors_from_the_sheet() -> None:
    """A color written into a drawing cannot be read on the other of light and dark."""
    # Those that know both: the theme, a sky and a ground, cells that bring their own paper.
    known = {"theme.ts", "picture.ts", "attitude.ts", "heat.ts"}
    for path in sorted(THEME.parent.glob("*.ts")):
        if path.name not in known:
            found = re.findall(r"#[0-9a-fA-F]{6}\b", path.read_text(encoding="utf-8"))
            assert not found, f"{path.name}: {found}"
