"""The second example gives the answer that its tutorial tells: these data cannot."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from neutralpoint.cli.entry import run

EXAMPLE = Path(__file__).parents[2] / "examples" / "drumoule"


@pytest.mark.slow  # a study of a second example, half a minute
def test_a_radar_cannot_tell(tmp_path: Path, capsys, monkeypatch) -> None:
    # The page is written below, with the figures.
    monkeypatch.setattr("neutralpoint.cli.studying.write_page", lambda results, tell: results)
    folder = tmp_path / "case"
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("results"))
    assert run(["study", str(folder), "--until", "moments", "--json"]) == 0
    capsys.readouterr()
    findings = json.loads((folder / "results" / "findings.json").read_text(encoding="utf-8"))
    # As docs/tutorial/when-data-cannot-tell.md says: observable, and too wide to tell.
    lost = {one["quantity"]: one["share"] for one in findings["motion"]["lost"]}
    assert lost.pop("longitudinal_load_factor") < 0.3 and max(lost.values()) < 0.1
    with xr.open_dataset(folder / "results" / "motion.nc", engine="h5netcdf") as motion:
        seen = motion["observable_normal_load_factor"].values == 1
        load = motion["normal_load_factor"].values[:, seen]
    low, high = np.quantile(load, [0.05, 0.95], axis=0)
    assert 0.2 < 0.5 * np.median(high - low) < 0.4
    moments = findings["moments"]
    words = {verdict["cause"]: verdict["word"] for verdict in moments["verdicts"]}
    able = [cause for cause, word in words.items() if word == "can"]
    assert len(able) >= 5
    assert words["load-shift-forward"] == "can"  # the truth
    assert words["no-failure"] == "can"
    out = {cause for cause, word in words.items() if word == "cannot"}
    assert out == {"wing-stall", "spiral-dive"} and len(words) == 13
    test = moments["discrimination"]
    shares = [share for row in [*test["power"], test["posterior"]] for share in row]
    assert max(shares) < 0.5  # no law is told from the others
    # The page of a whole study: test_study_through.py.
    for page in ("write_report", "write_answer"):
        monkeypatch.setattr(f"neutralpoint.report.{page}", lambda *paths: paths[0])
    assert run(["report", str(folder), "--figures", str(folder / "figures"), "--json"]) == 0
    drawn = {path.name for path in (folder / "figures").iterdir()}
    assert {"motion-1.svg", "path.png", "timeline.svg", "moments-1.png"} <= drawn
    assert max(path.stat().st_size for path in (folder / "figures").glob("*.svg")) < 2_000_000
