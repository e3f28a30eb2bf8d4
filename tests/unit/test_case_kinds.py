"""Track files of every kind in one case: read, put on one clock, joined and told."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import numpy as np
import pytest

from neutralpoint.case import load_case
from neutralpoint.errors import NeutralPointError

pytest.importorskip("pyModeS", reason="needs the optional extra `modes`")
import squitters

EXAMPLE = Path(__file__).parents[2] / "examples" / "quorleigh"
POINT = (
    '<trkpt lat="{:.7f}" lon="{:.7f}"><ele>3000</ele>'
    "<time>2031-04-14T18:{:02d}:{:06.3f}Z</time></trkpt>"
)
TRACKS = """
[[tracks]]
kind = "modes"
file = "messages.txt"
time_form = "elapsed s"
start = 2031-04-14T18:55:00Z

[[tracks]]
kind = "gpx"
file = "flight.gpx"
"""
LATE = 7.5  # s: the clock of the second file


@pytest.fixture
def folder(tmp_path) -> Path:
    """The example with its track replaced by two files of other kinds."""
    case = tmp_path / "case"
    shutil.copytree(EXAMPLE, case, ignore=shutil.ignore_patterns("results"))
    text = (case / "case.toml").read_text("utf-8")
    head, rest = text.split("[[tracks]]", 1)
    tail = rest[rest.index("[[weather]]") :].split("[[events]]")[0]
    whole = re.sub(r"(?m)^(onset|reference_start|reference_end) .*$", "", head + TRACKS + tail)
    (case / "case.toml").write_text(whole, "utf-8")
    lines = "\n".join(f"{t:.4f} {m}" for t, m in squitters.flight("DBC123", 120))
    (case / "messages.txt").write_text(lines, "utf-8")
    points = ""
    for t in np.arange(2.0, 110.0, 1.0):
        now, stamp = squitters.truth(np.array(t)), t + LATE
        latitude, longitude = np.degrees(now.latitude), np.degrees(now.longitude)
        points += POINT.format(latitude, longitude, 55 + int(stamp // 60), stamp % 60)
    (case / "flight.gpx").write_text(f"<gpx><trk><trkseg>{points}</trkseg></trk></gpx>", "utf-8")
    return case


def test_two_kinds_are_joined_on_one_clock(folder):
    case = load_case(folder)
    modes, gpx = [s.report for s in case.sources if s.role == "track"]
    assert (modes.format, gpx.format) == ("Mode S messages", "GPX")
    assert any("offset 7.5" in said for said in gpx.assumed), gpx.assumed
    # On the clock of the first the two files follow one line.
    position = case.track.position
    truth = squitters.truth(position.time - position.time[0])
    assert set(position.source.tolist()) == {0, 1}
    assert np.abs(np.degrees(position.value[:, 0] - truth.latitude)).max() * 111e3 < 15.0


def test_a_kind_that_is_not_known(folder):
    path = folder / "case.toml"
    path.write_text(path.read_text("utf-8").replace('kind = "gpx"', 'kind = "gpz"'), "utf-8")
    with pytest.raises(NeutralPointError) as failed:
        load_case(folder)
    assert failed.value.code == "case-invalid" and "gpx" in failed.value.hint
