"""A record that never leaves the ground: a report of the motion, and why there is no more."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from neutralpoint.cli.entry import run
from neutralpoint.findings import read_findings
from neutralpoint.report.words.sections import statements_of

CASE = """
schema = 1
title = "A taxi"
question = "Did it fly?"
invented = true
cut_off = 2031-05-01
[airplane]
name = "Tarnley 180"
file = "tarnley-180"
[[tracks]]
file = "track.csv"
[tracks.columns]
time = "time"
latitude = { column = "lat", unit = "deg" }
longitude = { column = "lon", unit = "deg" }
pressure_altitude = { column = "alt", unit = "ft" }
[[weather]]
kind = "constant"
wind_from = "270 deg"
wind_speed = "5 kt"
"""


@pytest.mark.slow  # a study of its own, seven seconds
def test_a_taxi_is_reported_as_one_and_no_cause_is_looked_for(tmp_path, capsys):
    rng = np.random.default_rng(1)
    east = 6.0 * np.arange(40.0) + rng.standard_normal(40)
    rows = [
        f"2031-04-14T10:00:{t:02d}Z,46.2,{-36.1 + x / 77e3:.6f},200" for t, x in enumerate(east)
    ]
    (tmp_path / "track.csv").write_text("\n".join(["time,lat,lon,alt", *rows]) + "\n")
    (tmp_path / "case.toml").write_text(CASE)
    assert run(["study", str(tmp_path)]) == 0
    told = capsys.readouterr().err.splitlines()
    assert all(a != b for a, b in pairwise(told))
    found = read_findings(tmp_path / "results")
    assert found.warnings[-1].code == "not-flying"
    assert found.moments is None and found.weighing is None and found.response is None
    said = [s.text for s in statements_of(found) if "on the ground" in s.text]
    assert len(said) == 1
    assert "0 to 39 s" in said[0]
    assert (tmp_path / "results" / "report.html").is_file()
