"""Odds under other priors, and the maps of time and strength, from saved results alone."""

from __future__ import annotations

import json
from types import SimpleNamespace

import numpy as np
import pytest
import xarray as xr

from neutralpoint.app.calls import saying
from neutralpoint.findings import BlindScore, read_findings
from neutralpoint.quantities import FOOT
from neutralpoint.report.words.score import score_sentence

API = "/c/hollow/api"
NAMES = ("stabilizer-runaway", "elevator-jam", "unlisted")


@pytest.fixture
def weighed(served_case):
    """A weighing made by hand: one seed, one item of other evidence."""
    odds = {"prior": 1 / 3, "probability": 1 / 3, "low": 0.2, "high": 0.5, "log_evidence": -1.0,
            "log_evidence_error": None, "log_bayes_factor": 0.0, "words": "positive"}  # fmt: skip
    saved = {
        "place": "inside", "stratum": "data fine", "begin": 0.0, "seeds": 1,
        "held_out_log_score": None, "readings": [], "items_given": ["voice"], "mechanisms": [],
        "trim": {"drive": "stabilizer", "travel": [-0.1, 0.1], "at": 0.0},
        "runs": [[-1.0, -3.0, -6.0]],
        "causes": [{"name": name, "title": name, **odds} for name in NAMES],
        "evidence": [
            {"name": "voice", "doubt": 0.1, "caution": "", "source": "tape",
             "log_likelihood": [0.0, 0.5, 0.0], "nats": [0.0, 0.5, 0.0]},
        ],
        "prior": {"failed": None, "failed_stated": False, "weights": []},
        "leader": NAMES[0], "twin": NAMES[1],
    }  # fmt: skip
    path = served_case / "results" / "weighing.json"
    path.write_text(json.dumps(saved))
    return path


def probabilities(answer):
    assert answer.status_code == 200, answer.text
    return {row["cause"]: row["probability"] for row in answer.json()["rows"]}


def test_odds_follow_the_priors_of_the_page(workbench, weighed):
    before = weighed.read_bytes()
    equal = probabilities(workbench.post(f"{API}/odds", json={}))
    other = probabilities(workbench.post(f"{API}/odds", json={"prior": {"elevator-jam": 10.0}}))
    assert sum(equal.values()) == pytest.approx(1.0)
    weights = {
        r["cause"]: r["weight"] for r in workbench.post(f"{API}/odds", json={}).json()["rows"]
    }
    assert weights == dict.fromkeys(NAMES, 1.0)  # as [[prior]] of a case states them
    assert equal[NAMES[0]] > equal[NAMES[1]] > equal[NAMES[2]]

    def against(found, name):
        return found["elevator-jam"] / found[name]

    for name in ("stabilizer-runaway", "unlisted"):  # Bayes: odds times ten, for one seed exactly
        assert against(other, name) == pytest.approx(10.0 * against(equal, name))
    assert weighed.read_bytes() == before
    score = {
        "cases": 9, "mean_log_score": -1.0, "prior_log_score": -2.0,
        "cover_of_90_percent_sets": 0.9,
        "true_cause_below_1_percent": 0.0, "log_score_error": 0.1, "brier": 0.5,
        "true_cause_leads": 0.6,
        "reliability": {
            "edges": [0.0, 0.5, 1.0], "stated": [0.2, None], "happened": [0.25, None],
            "count": [8, 0],
        },
    }  # fmt: skip
    (weighed.parent / "calibration.json").write_text(json.dumps(score))
    found = workbench.post(f"{API}/odds", json={}).json()
    assert found["reliability"] == [{"predicted": 0.2, "observed": 0.25, "count": 8}]
    assert "blind" in found["score"]
    for wrong in ({"nothing": 1.0}, {"elevator-jam": 0}, {"elevator-jam": "x"}, [1], 7):
        answer = workbench.post(f"{API}/odds", json={"prior": wrong})
        assert answer.status_code in (400, 422), wrong


def test_page_and_report_say_the_same_of_calibration(workbench, weighed, monkeypatch):
    stated = BlindScore(
        of_this_case=False, stratum="", cases=4916, mean_log_score=-1.38, prior_log_score=-3.02,
        covered=0.97, lost=0.007,
    )  # fmt: skip
    found = read_findings(weighed.parent)
    held = SimpleNamespace(weighing=SimpleNamespace(score=stated), judgement=found.judgement)
    monkeypatch.setattr(saying, "read_findings", lambda _: held)
    told = workbench.post(f"{API}/odds", json={}).json()["score"]
    assert told == score_sentence(stated)
    assert "4,916" in told and "97%" in told


def test_a_weighing_of_another_version_is_an_error(workbench, weighed):
    weighed.write_text("{}")
    answer = workbench.post(f"{API}/odds", json={})
    assert answer.status_code == 422
    assert answer.json()["error"]["code"] == "results-version"


def response_file(path) -> None:
    """Maps of one cause: two procedures, three delays, two heights, two rates at two delays."""
    share = np.linspace(0.0, 1.0, 12).reshape(2, 3, 2)
    data = {"saved_over_height": (("procedure", "delay", "level"), share)}
    data["saved_over_rate"] = (("procedure", "rate_delay", "rate"), share[:, :2])
    quantiles = np.array([[1.0, 2.0, np.inf], [-1.0, np.nan, 4.0]])
    names = ("latest_safe_action", "height_lost", "speed_at_lowest", "load_factor_highest",
             "pull_highest")  # fmt: skip
    data |= dict.fromkeys(names, (("procedure", "share_of_pilots"), quantiles))
    data["saved_within_limits"] = ("procedure", np.array([0.25, 0.5]))
    coordinates = {
        "procedure": ["column force alone", "lesson: x"],
        "delay": [0.0, 1.0, 2.0],
        "level": np.array([500.0, 1000.0]) * FOOT,
        "rate": [0.5, 1.0],
        "rate_delay": [0.0, 2.0],
    }
    about = {"title": "Stabilizer runaway", "reference": "column force alone"}
    root = {
        "lessons": json.dumps(["manual wheel", "sound of trim"]), "left_out": "[]",
        "height_above_ground_m": 1000.0 * FOOT,
        "height_stated": "no", "reaction_median_s": 4.0, "reaction_spread": 0.5,
        "reaction_source": "analyst's", "regulatory_delays_s": [1.0, 3.0], "comment": "Shares.",
    }  # fmt: skip
    tree = xr.DataTree.from_dict(
        {"/": xr.Dataset(attrs=root), "/stabilizer-runaway": xr.Dataset(data, coordinates, about)}
    )
    tree.to_netcdf(path, engine="h5netcdf")


def test_maps_of_time_and_strength(workbench, served_case):
    assert workbench.get(f"{API}/response").status_code == 404
    response_file(served_case / "results" / "response.nc")
    found = workbench.get(f"{API}/response").json()
    assert found["causes"] == ["stabilizer-runaway"]
    first = found["maps"][0]
    assert first["x"]["parameter"] == "reaction"
    assert first["y"]["values"] == [500.0, 1000.0]
    assert np.shape(first["share"]) == (2, 3)  # a row for each height, a column for each delay
    assert first["share"][1][0] == pytest.approx(1 / 11, abs=1e-4)
    assert {m["y"].get("parameter") for m in found["maps"]} == {"ground", "rate_share"}
    assert found["faults"]["stabilizer-runaway"]["direction"] == 1.0  # nose down, as in the maps
    assert [m["lesson"] for m in found["maps"]] == [False, False, True, True]
    latest = [row["latest"] for row in found["latest"]]
    assert latest[2] == "later than 30 s"
    assert latest[3] == "not recoverable even with immediate action"
    assert found["recoveries"][0]["Largest load factor"].startswith("2.00")
    assert found["lessons"] == [
        "Manual wheel: Design: a trim wheel that can be grasped and turned.",
        "Sound of trim: Design: a sound once the trim has moved for a second.",
    ]
    assert found["height"]["value"] == pytest.approx(1000.0)
    assert any("Not for flight" in caution for caution in found["cautions"])
    (served_case / "results" / "response.nc").write_bytes(b"damaged")
    assert workbench.get(f"{API}/response").json()["error"]["code"] == "results-version"
