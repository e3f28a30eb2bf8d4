"""Clocks that events and track files share: taken off, their error carried, each one told."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from neutralpoint.case import load_case, parse_case
from neutralpoint.errors import NeutralPointError
from neutralpoint.study.inventory import events

EXAMPLE = Path(__file__).parents[2] / "examples" / "quorleigh"
CLOCKS = """
[[clocks]]
name = "tape"
offset = "2.4 s +- 0.8 s"
basis = "a radio call heard on both"

[[clocks]]
name = "receiver"
offset = "-1.5 s +- 0.2 s"
basis = "time signal"

[[events]]
time = 18:59:30
clock = "tape"
error = "0.6 s"
kind = "voice"
text = "first call"
source = "the tape"

[[events]]
time = 18:59:40
clock = "tape"
kind = "voice"
text = "second call"

[[events]]
time = 18:59:50
kind = "radar"
text = "on true time"
"""


@pytest.fixture
def folder(tmp_path) -> Path:
    """The example with three events of its own, two of them from one clock."""
    case = tmp_path / "case"
    shutil.copytree(EXAMPLE, case, ignore=shutil.ignore_patterns("results"))
    text = (case / "case.toml").read_text("utf-8").split("[[events]]")[0]
    (case / "case.toml").write_text(text + CLOCKS, "utf-8")
    return case


def rewrite(folder: Path, old: str, new: str) -> None:
    path = folder / "case.toml"
    path.write_text(path.read_text("utf-8").replace(old, new, 1), "utf-8")


def test_events_of_one_clock_move_together(folder):
    case = load_case(folder)
    first, second, plain = case.events
    assert second.time - first.time == pytest.approx(10.0)
    assert plain.time - first.time == pytest.approx(20.0 + 2.4)
    assert first.half_width == pytest.approx(1.0)  # 0.6 and 0.8 s, independent
    assert second.half_width == pytest.approx(0.8)
    assert (plain.clock, plain.half_width) == (None, 0.0)
    taken = {t.name: (t.value, t.source) for t in case.taken}
    assert taken["clock 'tape' less UTC"] == (
        "2.4 s +- 0.8 s",
        "case file: a radio call heard on both",
    )


def test_the_findings_carry_the_clock(folder):
    first, second, plain = events(load_case(folder))
    assert (first.clock_offset, first.clock_half_width) == pytest.approx((2.4, 0.8))
    assert first.clock_basis == second.clock_basis == "tape: a radio call heard on both"
    assert (first.source, second.source) == ("the tape", "tape")
    assert (plain.clock_offset, plain.clock_basis) == (0.0, "")


def test_a_track_is_moved_to_true_time_and_keeps_the_error_of_its_clock(folder):
    before = load_case(folder).track
    rewrite(folder, "[[tracks]]\n", '[[tracks]]\nclock = "receiver"\n')
    case = load_case(folder)
    assert case.track.position.time - before.position.time == pytest.approx(1.5, abs=1e-6)
    assert case.track.time_sigma == pytest.approx(0.1)
    assert "+- 0.200 s" in [t.value for t in case.taken if t.name.startswith("error that the time")]
    (report,) = [s.report for s in case.sources if s.role == "track"]
    assert report.first == pytest.approx(before.span()[0] + 1.5)
    assert any("'receiver', -1.500 +- 0.200 s off" in said for said in report.assumed)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('clock = "tape"', 'clock = "tapes"', "no entry"),
        ('name = "receiver"', 'name = "tape"', "two entries"),
        ('offset = "2.4 s +- 0.8 s"', 'offset = "2.4 m"', "2.4 m"),
    ],
)
def test_a_wrong_clock_is_refused(folder, old, new, message):
    rewrite(folder, old, new)
    with pytest.raises(NeutralPointError, match=message) as refused:
        parse_case((folder / "case.toml").read_text("utf-8"))
    assert refused.value.hint
