"""The example whose answer lies beside the track: its page tells the odds that it has."""

from __future__ import annotations

import re
import runpy
import shutil
from pathlib import Path

import pytest

from neutralpoint.study.run import run_stage
from neutralpoint.study.weighing.saved import read_weighing

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples" / "orlembeck"
ROW = re.compile(r"(?m)^\| ([^|]+) \| (\d+)% \| (?:(\d+)%)? ?\|$")
NAMES = {
    "debris: places of the parts": "places of the parts",
    "impact: place": "place of the crater",
    "impact: cuts in trees": "cuts in trees",
    "recording: blade rate in farm.wav": "blade rate in `farm.wav`",
    "perception: two models of the vestibular organs": "what could be felt",
}
ROUNDED = 0.0101  # a percent is printed, and floors to it


def told() -> dict[str, tuple[float, float | None]]:
    """The table of the page: with an item alone, and with all others."""
    rows = ROW.findall((EXAMPLE / "README.md").read_text("utf-8"))
    return {n: (int(a) / 100.0, int(b) / 100.0 if b else None) for n, a, b in rows}


def test_the_page_speaks_of_every_item():
    assert set(told()) == {*NAMES.values(), "none (track alone)", "all together"}


@pytest.mark.slow
def test_examinations_change_the_odds_as_the_page_says(tmp_path):
    """Two examinations move the odds, one recording says nothing, and a break ends the limits."""
    chance = runpy.run_path(str(ROOT / "benchmarks" / "beside.py"))["chance"]
    case = tmp_path / "case"
    shutil.copytree(EXAMPLE, case, ignore=shutil.ignore_patterns("results"))
    run_stage(case, "weighing", lambda *_: None)
    saved = read_weighing(case / "results")
    assert saved.leader == "structural-failure"  # the truth
    page = told()

    def found(*items) -> float:
        return chance(saved, saved.leader, list(items))

    assert found() == pytest.approx(page["none (track alone)"][0], abs=ROUNDED)
    assert found(*saved.evidence) == pytest.approx(page["all together"][0], abs=ROUNDED)
    assert {item.name for item in saved.evidence} == set(NAMES)
    for item in saved.evidence:
        alone, others = page[NAMES[item.name]]
        rest = [other for other in saved.evidence if other is not item]
        assert found(item) == pytest.approx(alone, abs=ROUNDED)
        assert found(*rest) == pytest.approx(others, abs=ROUNDED)
