"""Two studies beside each other: what differs, what moved and by how much, kept on disk."""

from __future__ import annotations

import hashlib
import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from neutralpoint.cli.entry import run
from neutralpoint.findings import Assumption, Findings, Source, read_findings, write_findings
from neutralpoint.findings.judgement import CauseJudgement, Fit, JudgedOdds, JudgementFindings
from neutralpoint.report.compare import Side, compare, read_side
from neutralpoint.vocabulary import CauseName

CASE = {"title": "Over the lake", "weather": [{"kind": "constant", "wind_speed": "15 kt"}]}


def judged(jam: float, trim: float, word: str = "can") -> JudgementFindings:
    def row(cause: CauseName, share: float, word: str) -> CauseJudgement:
        odds = JudgedOdds(
            prior=0.5, probability=share, lowest=share - 0.1, highest=min(share + 0.1, 1.0)
        )
        kept = {"odds": None, "excluded_by": ["track"]} if word == "cannot" else {"odds": odds}
        return CauseJudgement(cause=cause, mechanism=cause.mechanism, word=word, **kept)

    rows = [
        row(CauseName.ELEVATOR_JAM, jam, word),
        row(CauseName.STABILIZER_RUNAWAY, trim, "can"),
    ]
    return JudgementFindings(rows=rows, fit=Fit(threshold=0.01), residual=0.01)


@pytest.fixture
def findings(results_folder: Path) -> Findings:
    return read_findings(results_folder).model_copy(update={"judgement": judged(0.3, 0.7)})


def sizes(found: Any, topic: str) -> dict[str, str]:
    return {row.name: row.size for row in found.moved if row.topic == topic}


def test_a_study_beside_itself_has_moved_nowhere(findings: Findings) -> None:
    found = compare(Side("a", findings, CASE), Side("b", findings, CASE))
    assert found.inputs == ()
    assert {row.size for row in found.moved} == {"same"}
    assert {row.topic for row in found.moved} >= {"Verdict", "Odds", "Flight path"}
    assert found.why[0].startswith("No input differs")


def test_what_moved_is_held_against_its_band(findings: Findings) -> None:
    # 0.35 lies within 0.2 to 0.4, and 0.3 within 0.25 to 0.45; 0.9 lies outside 0.6 to 0.8.
    after = findings.model_copy(update={"judgement": judged(0.35, 0.9)})
    odds = sizes(compare(Side("a", findings, CASE), Side("b", after, CASE)), "Odds")
    assert list(odds) == ["Stabilizer trim runaway", "Elevator jam"]  # what moved comes first
    assert list(odds.values()) == ["beyond its band", "within its band"]
    excluded = findings.model_copy(update={"judgement": judged(0.3, 0.7, "cannot")})
    found = compare(Side("a", findings, CASE), Side("b", excluded, CASE))
    assert sizes(found, "Verdict")["Elevator jam"] == "beyond its band"
    assert sizes(found, "Odds")["Elevator jam"] == "in one study alone"
    low = findings.key_times[0].values["normal_load_factor"]
    away = low.model_copy(update={"median": low.high90 + 1.0, "high90": low.high90 + 2.0})
    first = findings.key_times[0]
    values = {**first.values, "normal_load_factor": away}
    moved = findings.model_copy(
        update={"key_times": [first.model_copy(update={"values": values}), *findings.key_times[1:]]}
    )
    path = sizes(compare(Side("a", findings, CASE), Side("b", moved, CASE)), "Flight path")
    assert list(path.values()).count("beyond its band") == 1


def test_only_one_change_at_a_time_says_why(findings: Findings) -> None:
    wind = {**CASE, "weather": [{"kind": "constant", "wind_speed": "35 kt"}]}
    found = compare(Side("a", findings, CASE), Side("b", findings, wind))
    assert [(one.name, one.before, one.after) for one in found.inputs] == [
        ("weather[1].wind_speed", "15 kt", "35 kt")
    ]
    assert "One input differs: weather[1].wind_speed" in found.why[0]
    both = {**wind, "seed": 5, "title": "Elsewhere"}
    found = compare(Side("a", findings, CASE), Side("b", findings, both))
    assert "2 inputs differ at once" in found.why[0]  # a title moves no number
    said = {**CASE, "title": "Elsewhere"}
    why = compare(Side("a", findings, CASE), Side("b", findings, said)).why
    assert why == ("Only words of the case differ, which move no number.",)
    other = findings.model_copy(
        update={
            "assumptions": [Assumption(name="mass", value="6 100 kg", source="case file")],
            "sources": [findings.sources[0].model_copy(update={"sha256": "12" * 32})],
        }
    )
    found = compare(Side("a", findings, None), Side("b", other, CASE))
    assert [one.kind for one in found.inputs] == ["file", "assumption"]
    assert "One input differs: track track.csv" in found.why[0]
    assert "The case file of a is no longer" in found.why[1]


def as_read(folder: Path, findings: Findings) -> None:
    """Results that name the case file as it is now."""
    data = (folder / "case.toml").read_bytes()
    digest = hashlib.sha256(data).hexdigest()
    source = Source(role="case", path="case.toml", sha256=digest, size=len(data))
    made = findings.model_copy(update={"sources": [*findings.sources, source]})
    write_findings(folder / "results", made)


def test_results_are_kept_and_compared(
    workbench: Any, served_case: Path, findings: Findings, capsys: pytest.CaptureFixture[str]
) -> None:
    api = f"/c/{served_case.name}/api"
    as_read(served_case, findings)
    assert workbench.post(f"{api}/kept", json={"name": "first"}).json() == {"kept": "first"}
    refused = workbench.post(f"{api}/kept", json={"name": "first"})
    assert refused.json()["error"]["code"] == "case-exists"
    case = served_case / "case.toml"
    case.write_text(case.read_text().replace("[airplane]", "[airplane]\nplace_of_test = 1", 1))
    as_read(served_case, findings.model_copy(update={"judgement": judged(0.1, 0.9)}))
    found = workbench.get(f"{api}/compare?before=first").json()
    assert (found["before"], found["after"]) == ("first", "results as they are now")
    assert [one["name"] for one in found["inputs"]] == ["airplane.place_of_test"]
    assert {"topic": "Odds", "size": "beyond its band"}.items() <= next(
        row for row in found["moved"] if row["topic"] == "Odds"
    ).items()
    assert read_side(served_case / ".kept/first").case is not None
    # From the command line the same, with the cautions.
    assert run(["compare", str(served_case / ".kept/first"), str(served_case), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["moved"] == json.loads(json.dumps(found["moved"]))
    assert "Not for flight" in told["caution"]
    assert run(["compare", str(served_case / ".kept/first"), str(served_case)]) == 0
    assert "airplane.place_of_test" in capsys.readouterr().out
    assert workbench.delete(f"{api}/kept?name=first").json() == {"removed": "first"}
    assert workbench.get(f"{api}/kept").json() == {"names": []}
    for bad in ("first", "../results", "..", "a/b"):
        assert workbench.get(f"{api}/compare", params={"before": bad}).status_code == 404
        assert workbench.delete(f"{api}/kept", params={"name": bad}).status_code == 404
    for bad in ("../x", "a/b", ".", ".."):
        assert workbench.post(f"{api}/kept", json={"name": bad}).status_code == 400


def test_a_run_keeps_what_it_writes_over(
    workbench: Any, served_case: Path, findings: Findings
) -> None:
    api = f"/c/{served_case.name}/api"
    jobs = workbench.app.state.workbench.jobs
    workbench.app.state.workbench.notebooks[served_case.name].jobs = Refusing()
    try:
        for number in range(3):
            made = findings.model_copy(update={"seed": number // 2})  # the second is the first
            write_findings(served_case / "results", made)
            workbench.post(f"{api}/jobs", json={"kind": "study"})
            workbench.post(f"{api}/jobs", json={"kind": "report"})
    finally:
        workbench.app.state.workbench.notebooks[served_case.name].jobs = jobs
    names = workbench.get(f"{api}/kept").json()["names"]
    assert len(names) == 2
    assert all(name.startswith("run of ") for name in names)
    shutil.rmtree(served_case / "results")
    nothing = workbench.post(f"{api}/kept", json={"name": "nothing"}).json()["error"]
    assert nothing["code"] == "results-missing"


class Refusing:
    """Jobs that begin nothing."""

    def submit(self, *_: Any) -> Any:
        return self

    def of(self, _name: str) -> list[Any]:
        return []

    def as_dict(self) -> dict[str, Any]:
        return {}
