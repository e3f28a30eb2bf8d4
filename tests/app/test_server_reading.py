"""Figures as raw numbers: whole, thinned, in stretches, and new where results are new."""

from __future__ import annotations

import json
import platform
import shutil
import threading
import time
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from neutralpoint.app import figures
from neutralpoint.app.memory import give_back

API = "/c/hollow/api"


def unpacked(data: bytes):
    """The JSON of raw numbers, and a function that gives its arrays."""
    size = int.from_bytes(data[:4], "little")
    assert size % 4 == 0
    plain = json.loads(data[4 : 4 + size])
    floats = np.frombuffer(data[4 + size :], "<f4")

    def array(about):
        count = int(np.prod(about["shape"]))
        return floats[about["at"] : about["at"] + count].reshape(about["shape"])

    return plain, array


def figure(workbench, query: str):
    answer = workbench.get(f"{API}/figure/{query}")
    assert answer.status_code == 200, answer.text
    return unpacked(answer.content)


def test_the_state_names_files_and_stages(workbench):
    state = workbench.get(f"{API}/state").json()
    assert state["title"].startswith("Quorleigh")
    assert state["problem"] is None
    assert {f["name"]: f["used"] for f in state["files"]} == {
        "case.toml": "case",
        "metar.txt": "weather",
        "sounding.txt": "weather",
        "track.csv": "track",
    }
    assert all(len(f["sha256"]) == 64 for f in state["files"])
    assert set(state["stages"]) == {
        *("motion", "moments", "limits", "wreckage", "heard", "felt", "history", "weighing"),
        *("response", "outside"),
    }
    assert state["stages"]["motion"]["ready"] is False  # results of another case, made by hand
    assert state["stages"]["motion"]["stale"] is True
    assert state["stages"]["response"]["made"] is None
    assert state["jobs"] == []
    assert any("Not for flight" in caution for caution in state["cautions"])


def test_stages_are_first_known_by_their_files(workbench, served_case, monkeypatch):
    monkeypatch.setattr("neutralpoint.app.notebook.study_is_loaded", lambda: False)
    made = workbench.get(f"{API}/state").json()["stages"]
    assert made["motion"]["ready"] is True
    assert made["response"]["made"] is None
    (served_case / "results" / "findings.json").unlink()
    made = workbench.get(f"{API}/state").json()["stages"]
    assert all(stage["made"] is None for stage in made.values())


def test_the_whole_figure(workbench, results_folder):
    plain, array = figure(workbench, "motion?points=300")
    time = array(plain["strips"]["time"])
    assert plain["span"] == pytest.approx([0.0, 179.75])
    assert len(time) <= 300
    assert [time[0], time[-1]] == pytest.approx(plain["span"])
    assert {view["key"] for view in plain["views"]} == {"plan", "profile"}
    assert plain["palette"]["inks"]
    panels = {panel["key"]: panel for panel in plain["strips"]["panels"]}
    quantiles = array(panels["normal_load_factor"]["bands"][0]["quantiles"])
    assert quantiles.shape == (5, len(time))
    with xr.open_dataset(results_folder / "motion.nc", decode_times=False) as saved:
        median = np.median(saved["normal_load_factor"].values, axis=0)
    assert quantiles[2].min() == pytest.approx(median.min(), abs=1e-6)  # the dip is kept
    assert quantiles[2].max() == pytest.approx(median.max(), abs=1e-6)
    assert panels["bank_angle"]["shades"]


def test_a_stretch_stays_on_the_axis_of_the_whole(workbench):
    whole, _ = figure(workbench, "motion?points=300")
    part, array = figure(workbench, "motion?points=300&from=70&to=90")
    time = array(part["strips"]["time"])
    assert part["strips"]["start"] == whole["strips"]["start"]
    assert part["span"] == whole["span"]
    assert time[0] == pytest.approx(69.75)
    assert time[-1] == pytest.approx(90.25)
    assert len(time) == 83  # all of them: few enough
    readings = part["strips"]["panels"][0]["readings"]
    seen = array(readings["time"])
    assert seen.min() >= 70
    assert seen.max() <= 90
    assert array(part["views"][0]["x"]).shape == time.shape
    for odd in ("from=90&to=70", "from=1e9", "to=-1e9", "points=0", "points=1e30", "points=-5"):
        figure(workbench, f"motion?{odd}")
    for wrong in ("from=x", "to=nan", "points=inf"):
        assert workbench.get(f"{API}/figure/motion?{wrong}").status_code == 400


def test_a_later_stage_has_its_figure(workbench):
    plain, _ = figure(workbench, "moments?points=200")
    assert [panel["title"] for panel in plain["strips"]["panels"]] == ["Column force needed"]
    assert workbench.get(f"{API}/figure/nothing").status_code == 404
    found = workbench.get(f"{API}/table/moments").json()["sections"]
    assert found[0]["verdicts"][0]["word"] == "can if"
    assert workbench.get(f"{API}/table/nothing").status_code == 404


def test_the_path_in_space(workbench):
    answer = workbench.get(f"{API}/path3d?points=100")
    plain, array = unpacked(answer.content)
    parts = {key: array(plain[key]) for key in ("time", "x", "y", "z", "low", "high")}
    assert {part.shape for part in parts.values()} == {parts["time"].shape}
    assert [parts["x"][0], parts["y"][0]] == pytest.approx([0.0, 0.0], abs=1e-6)
    assert (parts["low"] <= parts["z"]).all()
    assert (parts["z"] <= parts["high"]).all()
    # 1e-5 rad/s north on the ellipsoid at 46 degrees: between both radii of curvature of WGS-84
    flown = parts["y"][-1] / (1e-5 * parts["time"][-1])
    assert 6335439 < flown < 6399594
    part, array = unpacked(workbench.get(f"{API}/path3d?points=100&from=70&to=80").content)
    time = array(part["time"])
    assert [time[0], time[-1], len(time)] == pytest.approx([69.75, 80.25, 43])  # all of them
    assert array(part["z"]).min() < parts["z"].min() + 1.0  # the dip, on the axis of the whole


def test_the_ground_below_the_path(workbench, served_case):
    plain, _ = unpacked(workbench.get(f"{API}/path3d").content)
    assert plain["ground"] is None
    # The hand-made path: 45.84 to 45.94 degrees north, 34.38 degrees west.
    tile = np.full((1201, 1201), 250, ">i2")
    (served_case / "N45W035.hgt").write_bytes(tile.tobytes())
    case = served_case / "case.toml"
    case.write_text(case.read_text() + '\n[[terrain]]\nfile = "N45W035.hgt"\n')
    plain, array = unpacked(workbench.get(f"{API}/path3d").content)
    assert array(plain["ground"]) == pytest.approx(250.0)
    case.write_text(case.read_text().replace("N45W035.hgt", "gone.hgt"))
    plain, _ = unpacked(workbench.get(f"{API}/path3d").content)
    assert plain["ground"] is None


def test_results_are_read_again_where_they_changed(workbench, served_case):
    before, _ = figure(workbench, "motion")
    path = served_case / "results" / "motion.nc"
    with xr.open_dataset(path, decode_times=False) as saved:
        shorter = saved.isel(time=slice(0, 300)).load()
    shorter.to_netcdf(path.with_suffix(".new"), engine="h5netcdf")
    path.with_suffix(".new").replace(path)
    after, _ = figure(workbench, "motion")
    assert after["span"][1] == pytest.approx(74.75)
    assert before["span"][1] == pytest.approx(179.75)


def test_room_of_what_was_read_goes_back_to_the_machine(results_folder, monkeypatch):
    given = []
    monkeypatch.setattr(figures, "give_back", lambda: given.append(1))
    shelf = figures.Shelf(results_folder)
    shelf.figure("motion", points=100)
    shelf.figure("motion", points=200)
    assert given == [1]  # once a reading, not once an answer


@pytest.mark.skipif(not Path("/proc/self/status").is_file(), reason="memory is read from /proc")
def test_free_memory_is_handed_back():
    def resident() -> int:
        lines = Path("/proc/self/status").read_text().splitlines()
        return next(int(line.split()[1]) for line in lines if line.startswith("VmRSS"))

    parts = [bytearray(b"x") * 60_000 for _ in range(1500)]
    kept = parts[::300]
    full = resident()
    del parts
    assert isinstance(give_back(), bool)
    assert resident() < full - 30_000 or platform.libc_ver()[0] != "glibc"
    assert len(kept) == 5


def test_without_results_the_page_is_told_what_to_do(workbench, served_case):
    shutil.rmtree(served_case / "results")
    assert workbench.get("/c/hollow/").status_code == 200
    assert workbench.get(f"{API}/state").json()["stages"]["motion"]["made"] is None
    assert workbench.get(f"{API}/claims").json()["claims"] == []
    for call in ("figure/motion", "findings", "path3d", "table/motion", "evidence", "rows?time=1"):
        answer = workbench.get(f"{API}/{call}")
        assert answer.status_code == 404, call
        assert answer.json()["error"]["hint"]
    assert workbench.post(f"{API}/odds", json={}).status_code == 404
    assert workbench.get("/c/hollow/report").status_code == 404


def test_damaged_results_are_an_error_and_not_a_fault(workbench, served_case):
    (served_case / "results" / "motion.nc").write_bytes(b"not a file of numbers")
    answer = workbench.get(f"{API}/figure/motion")
    assert answer.status_code == 422
    assert answer.json()["error"]["code"] == "results-version"


def test_claims_are_held_and_written(workbench, served_case):
    found = workbench.get(f"{API}/claims").json()
    assert found["text"] == ""
    assert found["claims"] == []
    assert "[[claims]]" in found["draft_text"]
    text = (
        "schema = 1\n[[claims]]\nname = 'a'\nsays = 'The pilot meant to dive.'\nkind = 'inferred'\n"
        "data = ['track.csv']\nmethod = 'none'\n"
    )
    answer = workbench.put(f"{API}/claims", content=text)
    assert answer.status_code == 200
    held = answer.json()["claims"][0]
    assert held["holds"] is False
    assert held["doubts"]
    assert (served_case / "claims.toml").read_text() == text
    answer = workbench.put(f"{API}/claims", content="schema = 1\nnothing = 2\n")
    assert answer.status_code == 422
    assert answer.json()["error"]["code"] == "claims-invalid"
    assert (served_case / "claims.toml").read_text() == text
    assert workbench.post(f"{API}/undo").status_code == 200
    assert not (served_case / "claims.toml").exists()


def test_wording_is_reviewed(workbench):
    said = {"text": "The track is short.\nThe pilot panicked and dived on purpose."}
    flags = workbench.post(f"{API}/wording", json=said).json()
    assert {flag["line"] for flag in flags} == {2}
    assert all(flag["words"] and flag["problem"] for flag in flags)
    assert workbench.post(f"{API}/wording", json={}).status_code == 400


def test_a_text_names_numbers_of_the_findings(workbench, served_case):
    found = workbench.get("/c/hollow/api/script").json()
    assert found["text"] == ""
    name = "normal load factor at lowest load factor"
    assert found["numbers"][name].startswith("0.1")  # the hand-made dip: 1.0 less 0.9
    assert "(90%: " in found["numbers"][name]
    assert workbench.put("/c/hollow/api/script", content="It was {onset}.").status_code == 200
    assert (served_case / "script.txt").read_text() == "It was {onset}."
    assert workbench.get("/c/hollow/api/script").json()["text"] == "It was {onset}."
    assert workbench.post("/c/hollow/api/undo").status_code == 200
    assert not (served_case / "script.txt").exists()


def test_many_tabs_cost_one_answer(workbench, monkeypatch):
    """Eight tabs that ask at once must not make the same sheet eight times beside each other."""
    at_once, most = [], []

    def slow(_results):
        at_once.append(1)
        most.append(len(at_once))
        time.sleep(0.02)
        at_once.pop()
        return "<article></article>"

    monkeypatch.setattr("neutralpoint.report.fresh_answer", slow)
    asked = [threading.Thread(target=workbench.get, args=(f"{API}/answer",)) for _ in range(8)]
    for one in asked:
        one.start()
    for one in asked:
        one.join()
    assert most == [1] * 8
