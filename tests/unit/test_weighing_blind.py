"""Blind cases: scores worked out by hand, and the other airplane."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.errors import NeutralPointError
from neutralpoint.study.weighing.score import SCORE_FILE, calibration_of, score
from neutralpoint.weighing import blind
from neutralpoint.weighing.odds import NOTHING
from neutralpoint.weighing.weigh import NULL_LAPSE

NAMES = (NOTHING, "spiral-dive", "unlisted")


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
