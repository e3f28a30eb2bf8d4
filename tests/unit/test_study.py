"""The study: findings that agree with the files beside them, and nothing half written."""

from __future__ import annotations

import hashlib
import re
import shutil
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import xarray as xr

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import CAUTIONS, read_findings
from neutralpoint.motion import LiftData, Onsets
from neutralpoint.report import write_report
from neutralpoint.report.words.motion import motion_undetermined
from neutralpoint.report.words.sections import undetermined_of
from neutralpoint.study import check_case, retell, run_study, stage_states
from neutralpoint.study.motion.file import read_dataset, write_dataset
from neutralpoint.study.motion.findings import motion_findings
from neutralpoint.vocabulary.quantity import MOTION

EXAMPLE = Path(__file__).parents[2] / "examples" / "quorleigh"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    copy = tmp_path_factory.mktemp("study") / "case"
    shutil.copytree(EXAMPLE, copy, ignore=shutil.ignore_patterns("results"))
    case = (copy / "case.toml").read_text(encoding="utf-8")
    kept = [line for line in case.splitlines() if not line.startswith("onset")]
    (copy / "case.toml").write_text("\n".join(kept) + "\n", encoding="utf-8")  # cut off below
    rows = (copy / "track.csv").read_text(encoding="utf-8").splitlines()[:90]
    # The last row is an old state sent again with a new time.
    rows[-1] = ",".join([rows[-1].split(",")[0], *rows[-2].split(",")[1:]])
    later = (copy / "track.csv").read_text(encoding="utf-8").splitlines()[90:100]
    (copy / "track.csv").write_text("\n".join([*rows, *later]) + "\n", encoding="utf-8")
    return copy


@pytest.fixture(scope="module")
def told():
    return []


@pytest.fixture(scope="module")
def findings(folder, told):
    return read_findings(run_study(folder, told.append, until="moments"))


def test_findings_agree_with_the_files(folder, findings, told):
    assert str(told[0]) == "Reading the case" and str(told[-1]) == "Writing the findings"
    for source in findings.sources:
        if source.path.startswith("catalogue:"):
            continue
        assert source.sha256 == hashlib.sha256((folder / source.path).read_bytes()).hexdigest()
    for result in findings.results:
        data = (folder / "results" / result.path).read_bytes()
        assert result.sha256 == hashlib.sha256(data).hexdigest()
    assert {r.path for r in findings.results} >= {"track.nc", "motion.nc", "moments.nc"}
    assert findings.cautions == list(CAUTIONS)


def test_findings_carry_what_a_reader_needs(findings):
    track = next(s for s in findings.sources if s.role == "track")
    assert track.rows_read == 99
    assert {s.quantity for s in track.steps} >= {"pressure_altitude", "vertical_rate"}
    assert {a.name for a in findings.assumptions} >= {"altimeter setting", "no sideslip"}
    assert findings.resolution and findings.estimates and undetermined_of(findings)
    assert {k.label for k in findings.key_times} >= {"first fix", "last fix"}
    assert [row.reason for row in findings.flagged].count(
        "stale repeat"
    ) == 10  # the shipped one, and ours
    assert findings.cut_off and findings.seed


def test_key_times_agree_with_the_motion_file(folder, findings):
    motion = read_dataset(folder / "results" / "motion.nc")
    last = findings.key_times[-1]
    at = int(np.argmin(np.abs(motion["time"].values - last.time)))
    median = float(np.median(motion["altitude"].values[:, at]))
    assert last.values["altitude"].median == pytest.approx(median, abs=0.02)  # the file's grain


def test_check_says_the_same_of_the_sources(folder, findings):
    found = check_case(folder)
    assert found.sources == findings.sources
    assert found.assumptions == findings.assumptions


def saved(folder) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in (folder / "results").iterdir()}


def stages_run(folder) -> set[str]:
    told = []
    run_study(folder, told.append, until="moments")
    return {s.stage for s in told if s.stage and "from the saved" not in s.text}


def test_what_holds_is_not_run_again(folder, findings):
    before = saved(folder)
    assert stages_run(folder) == set()
    assert saved(folder) == before
    assert all(stage_states(folder)[name].ready for name in ("motion", "moments"))


@pytest.mark.slow  # a study, ten seconds; `test_cli.py` stops one as well
def test_a_run_that_was_stopped_is_taken_up_with_the_same_bits(folder, findings):
    before, results = saved(folder), folder / "results"
    (results / "moments.nc").write_bytes(before["moments.nc"][:1000])
    (results / ".moments.nc.new").write_bytes(b"half")
    assert stages_run(folder) == {"moments"}
    assert saved(folder) == before
    (results / "stage-motion.json").unlink()
    assert stages_run(folder) == {"motion"}  # with the same bits, what follows still holds
    assert saved(folder) == before


def test_words_of_the_case_reach_the_findings_without_a_run(folder, findings):
    text = (folder / "case.toml").read_text(encoding="utf-8")
    case = text.replace("question = ", 'question = "Another one?" # ')
    (folder / "case.toml").write_text(case, encoding="utf-8")
    assert stages_run(folder) == set()
    assert read_findings(folder / "results").subject.question == "Another one?"
    (folder / "case.toml").write_text(text, encoding="utf-8")
    assert stages_run(folder) == set()


PRINTED = {
    "title": ('title = "Quorleigh', 'title = "Elsewhere'),
    "question": ('question = "Which causes', 'question = "Which of all causes'),
    "place": ('place = "Quorleigh, an', 'place = "Moorside, an'),
    "cut_off": ("cut_off = 2031-05-01", "cut_off = 2031-06-02"),
    "invented": ("invented = true", "invented = false"),
    "registration": ('registration = "QQ-QLA"', 'registration = "QQ-XYZ"'),
    "event": ("unable to descend, stand by", "we cannot get it down"),
    "time of an event": ("time = 18:54:38", "time = 18:53:05"),
}


@pytest.fixture
def edited(folder, findings, tmp_path):
    """A copy of the studied case, and a function that edits its file."""
    copy = Path(shutil.copytree(folder, tmp_path / "case"))
    text = (copy / "case.toml").read_text(encoding="utf-8")

    def edit(*changes):
        changed = text
        for before, after in changes:
            assert before in changed
            changed = changed.replace(before, after)
        (copy / "case.toml").write_text(changed, encoding="utf-8")
        retell(copy)
        return read_findings(copy / "results")

    return copy, edit


@pytest.fixture
def undrawn(monkeypatch):
    """A report without its figures, which take most of its time: its words are looked at."""
    for module in ("page.plates", "sheet.draw"):
        monkeypatch.setattr(f"neutralpoint.report.{module}.svg", lambda sheet: b"<svg/>")


def stale(case) -> list[str]:
    return [name for name, state in stage_states(case).items() if state.stale]


@pytest.mark.usefixtures("undrawn")
def test_what_is_printed_alone_reaches_the_report_and_outdates_nothing(edited):
    case, edit = edited
    for name, change in PRINTED.items():
        told = edit(change)
        assert told.outdated == stale(case) == [], name
    told = edit(*PRINTED.values())
    page = write_report(case / "results", case / "results" / "report.html").read_text("utf-8")
    for said in (
        "Elsewhere",
        "Which of all causes",
        "Moorside",
        "2031-06-02",
        "QQ-XYZ",
        "18:53:05",
    ):
        assert said in page, said
    assert "we cannot get it down" in page and "unable to descend" not in page
    assert "nothing in it took place" not in page
    assert 'class="stamp"' not in page
    row = next(row for row in told.key_times if "cannot get it down" in row.label)
    assert row.time == pytest.approx(told.events[0].time, abs=0.5)  # the grid of the motion
    assert stages_run(case) == set()


@pytest.mark.usefixtures("undrawn")
def test_a_report_of_results_that_are_out_of_date_says_so_on_its_face(edited):
    case, edit = edited
    told = edit(("[analysis]\n", "[analysis]\ngear = 0.5\n"), PRINTED["title"])
    assert told.outdated == stale(case) == ["moments"]
    page = write_report(case / "results", case / "results" / "report.html").read_text("utf-8")
    assert "Made from out-of-date results" in page[: page.index("<main>")]
    assert "Required moment" in page[page.index('class="stamp"') : page.index("<main>")]
    assert "Elsewhere" in page
    (case / "case.toml").write_text("title = ", encoding="utf-8")
    retell(case)
    assert read_findings(case / "results").outdated == ["motion", "moments"]


def test_a_stage_that_ran_again_is_no_longer_out_of_date(edited):
    case, edit = edited
    edit(("[analysis]\n", "[analysis]\ngear = 0.5\n"))
    assert stages_run(case) == {"moments"}
    assert read_findings(case / "results").outdated == []


def test_what_a_result_was_made_from_makes_it_stale(folder, findings):
    text = (folder / "case.toml").read_text(encoding="utf-8")
    ready = {}
    for name, case in {
        "seed": re.sub("^seed = .*", "seed = 7", text, flags=re.MULTILINE),
        "flap": text.replace("[analysis]\n", "[analysis]\nflap = 0.0\n"),
        "gear": text.replace("[analysis]\n", "[analysis]\ngear = 0.5\n"),
    }.items():
        (folder / "case.toml").write_text(case, encoding="utf-8")
        states = stage_states(folder)
        ready[name] = [s for s in ("motion", "moments") if states[s].ready]
        assert states["moments"].stale and states["moments"].made is not None
    (folder / "case.toml").write_text(text, encoding="utf-8")
    assert ready == {"seed": [], "flap": [], "gear": ["motion"]}


def test_a_stage_that_is_not_there_is_said(folder):
    with pytest.raises(NeutralPointError, match="no stage called 'guess'"):
        run_study(folder, lambda _: None, until="guess")


def test_a_run_that_fails_leaves_the_results_as_they_were(folder, findings):
    before = {p.name: p.read_bytes() for p in (folder / "results").iterdir()}
    text = (folder / "case.toml").read_text(encoding="utf-8")
    (folder / "case.toml").write_text(text.replace("schema = 1", "schema = 2"), encoding="utf-8")
    with pytest.raises(NeutralPointError):
        run_study(folder, lambda _: None)
    (folder / "case.toml").write_text(text, encoding="utf-8")
    assert {p.name: p.read_bytes() for p in (folder / "results").iterdir()} == before


def test_a_write_that_fails_leaves_the_file_as_it_was(tmp_path):
    good = xr.Dataset({"x": ("time", np.arange(3.0))})
    path = write_dataset(tmp_path, "a.nc", good)
    before = path.read_bytes()
    with pytest.raises((TypeError, ValueError)):
        write_dataset(tmp_path, "a.nc", xr.Dataset({"x": ("time", [object()])}))
    assert path.read_bytes() == before


def test_missing_results_are_said(tmp_path):
    with pytest.raises(NeutralPointError) as caught:
        read_dataset(tmp_path / "motion.nc")
    assert caught.value.code == "results-missing"


def test_what_is_not_observable_is_said_with_its_times():
    time = np.arange(10.0)
    motion = SimpleNamespace(
        time=time,
        is_fix=time < 0.0,
        settled=True,
        observable={"bank_angle": (time < 3.0) | (time > 5.0), "mach": time >= 0.0},
    )
    none = Onsets(np.array([0.0]), np.array([1.0]), 1.0)
    flying, wing = np.zeros(10, dtype=bool), LiftData(1000.0, 10.0, 5.0, 0.0, 1.5)
    first, coarse, *rest = motion_undetermined(motion_findings(motion, flying, wing, none))
    assert "Bank angle is not observable at 3 to 5 s" in first.text
    assert "30%" in first.text
    assert "every 1 s instead of every 0.25 s" in coarse.text
    assert len(rest) == 1


def test_grains_are_powers_of_two():
    for variable in MOTION:
        assert variable.grain == 0.0 or np.log2(variable.grain) == int(np.log2(variable.grain))
