"""Blind cases: scores worked out by hand, and the other airplane."""

from __future__ import annotations

import json
import re
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import BlindScore, Elsewhere
from neutralpoint.report.words.score import score_rows, score_sentence
from neutralpoint.study.weighing.networks import DIGEST
from neutralpoint.study.weighing.score import SCORE_FILE, calibration_of, elsewhere, score
from neutralpoint.weighing import blind
from neutralpoint.weighing.odds import NOTHING
from neutralpoint.weighing.weigh import NULL_LAPSE

NAMES = (NOTHING, "spiral-dive", "unlisted")
ROOT = Path(__file__).parents[2]
SCORES, RESULTS = ROOT / "src/neutralpoint/study/weighing", ROOT / "benchmarks/results"
MEASURES = ("mean_log_score", "lost", "covered")


def test_the_score_of_a_method_that_knows_nothing_is_that_of_the_prior():
    true = np.array([0, 0, 0, 1, 1, 1])
    causes = (SimpleNamespace(name=NOTHING), SimpleNamespace(name="spiral-dive"))
    found = blind.judge(np.log(np.full((2, 6, 3), 1 / 3)), true, causes, NAMES)
    assert found.mean_log_score == pytest.approx(-np.log(3.0)) == found.prior_log_score
    assert found.brier == pytest.approx(2.0 / 3.0)
    assert found.below_1_percent == 0.0
    assert found.by_cause["spiral-dive"].cases == 3


def test_a_sure_method_that_is_wrong_is_told_so():
    """Sure of the first cause: right on half, and on the rest the true one gets the lapse."""
    true = np.array([0, 0, 1, 1])
    causes = (SimpleNamespace(name=NOTHING), SimpleNamespace(name="spiral-dive"))
    runs = np.log(np.tile([1.0 - 2e-12, 1e-12, 1e-12], (2, 4, 1)))
    found = blind.judge(runs, true, causes, NAMES)
    assert found.below_1_percent == 0.5
    assert found.leads == 0.5
    low = found.by_cause["spiral-dive"].mean_log_score
    assert low == pytest.approx(np.log(NULL_LAPSE / 3.0), abs=1e-6)


def test_the_other_airplane_is_never_better_known():
    fitted = Uncertainty({"pitch_damping": 0.15, "drag": 0.3, "mass": 0.02})
    other = blind.other_airplane(fitted).sigma
    assert other["pitch_damping"] == blind.OFF and other["drag"] == 0.3
    assert other["mass"] == 0.02 and other["lift_slope"] == blind.LESS_OFF


def test_the_file_of_a_calibration_is_read_back_as_the_score_of_the_case(tmp_path):
    true = np.array([0, 0, 1, 1])
    causes = (SimpleNamespace(name=NOTHING), SimpleNamespace(name="spiral-dive"))
    found = blind.judge(np.log(np.full((2, 4, 3), 1 / 3)), true, causes, NAMES)
    kept = calibration_of(found, where="here", seed=3)
    (tmp_path / SCORE_FILE).write_text(kept.model_dump_json(), "utf-8")
    known = score(tmp_path, "data fine")
    assert known.of_this_case and known.stratum == "" and known.blind.cases == 4
    assert known.blind.reliability == kept.reliability and None in kept.reliability.stated
    (tmp_path / SCORE_FILE).write_text('{"cases": 4}', "utf-8")
    with pytest.raises(NeutralPointError) as refused:
        score(tmp_path)
    assert refused.value.code == "results-version" and SCORE_FILE in str(refused.value.where)


def test_the_shipped_score_of_a_stratum_has_its_own_cases():
    whole, fine = score(), score(stratum="data fine")
    assert 0 < fine.blind.cases < whole.blind.cases
    assert fine.blind.reliability == whole.blind.reliability and not fine.of_this_case


def test_what_a_report_says_of_another_simulator_is_of_the_networks_that_ship():
    """The page has all upsets, the file those by radar and the others; both of one run."""
    kept = json.loads((SCORES / "elsewhere.json").read_text("utf-8"))
    assert kept["networks"] == DIGEST
    coarse, fine = elsewhere("data coarse"), elsewhere("data fine")
    assert elsewhere("data middling") == fine
    page = (RESULTS / "other_networks.md").read_text("utf-8")
    rows = re.findall(r"(?m)^\| (upsets[^|:]*) \| (\d+) \| (\S+) .*\| (\S+)% \| (\d+)% \|$", page)
    told = {name: [float(x) for x in cells] for name, *cells in rows}
    cases, score, lost, covered = told["upsets of another simulator"]
    assert coarse.cases + fine.cases == cases
    share = coarse.cases / cases
    mean = {n: share * getattr(coarse, n) + (1.0 - share) * getattr(fine, n) for n in MEASURES}
    assert mean["mean_log_score"] == pytest.approx(score, abs=0.006)
    assert mean["lost"] == pytest.approx(lost / 100.0, abs=0.0006)
    assert mean["covered"] == pytest.approx(covered / 100.0, abs=0.006)
    radar = told["upsets of another simulator, 4.8 s radar"]
    assert coarse.covered == pytest.approx(radar[3] / 100.0, abs=0.006)


def test_the_score_is_said_with_that_of_another_simulator_unless_it_is_of_the_case():
    own = {"cases": 5000, "mean_log_score": -1.5, "prior_log_score": -3.0, "covered": 0.99,
           "lost": 0.001}  # fmt: skip
    other = Elsewhere(cases=2000, mean_log_score=-2.2, covered=0.87, lost=0.033)
    shipped = BlindScore(of_this_case=False, stratum="data fine", elsewhere=other, **own)
    of_case = BlindScore(of_this_case=True, stratum="", **own)
    said = score_sentence(shipped)
    assert "-1.50 nats" in said
    assert "On 2,000 upsets of another simulator, from which nothing was learned" in said
    assert "-2.20 nats, 87% and 3.3%" in said
    assert "simulator" not in score_sentence(of_case)
    assert [row.value for row in score_rows(shipped)] == [-1.5, 0.99, 0.001, 0.87]
    assert len(score_rows(of_case)) == 3
