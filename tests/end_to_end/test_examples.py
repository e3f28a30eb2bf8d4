"""The second example gives the answer that its tutorial tells: these data cannot."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

from neutralpoint.cli.entry import run

EXAMPLE = Path(__file__).parents[2] / "examples" / "ashgrove"


def test_a_radar_cannot_tell(tmp_path: Path, capsys) -> None:
    folder = tmp_path / "case"
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("results"))
    assert run(["study", str(folder), "--until", "moments", "--json"]) == 0
    capsys.readouterr()
    findings = json.loads((folder / "results" / "findings.json").read_text(encoding="utf-8"))
    moments = next(s for s in findings["sections"] if s["stage"] == "moments")
    words = {verdict["cause"]: verdict["word"] for verdict in moments["verdicts"]}
    able = [cause for cause, word in words.items() if word == "can"]
    assert len(able) >= 5
    assert words["load-shift-forward"] == "can"  # the truth
    assert words["no-failure"] == "can"
    out = {cause for cause, word in words.items() if word == "cannot"}
    assert out <= {"wing-stall", "spiral-dive"}
    power = next(t for t in moments["tables"] if "Could these data tell?" in t["caption"])
    shares = [int(re.sub(r"\D", "", cell)) for row in power["rows"] for cell in row[1:]]
    assert max(shares) < 50  # no law is told from the others
    assert run(["report", str(folder), "--figures", str(folder / "figures"), "--json"]) == 0
    drawn = {path.name for path in (folder / "figures").iterdir()}
    assert {"motion-1.svg", "path.png", "timeline.svg", "moments-1.png"} <= drawn
    assert max(path.stat().st_size for path in (folder / "figures").glob("*.svg")) < 2_000_000
