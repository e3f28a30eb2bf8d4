"""Blind cases: which flights become cases, and scores worked out by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.weighing import blind
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.features import features, knots
from neutralpoint.weighing.odds import NOTHING
from neutralpoint.weighing.weigh import NULL_LAPSE

TIME = 0.5 * np.arange(41)
NAMES = (NOTHING, "spiral-dive", "unlisted")


def course(count: int, slower: float) -> Course:
    """Level flights that lose speed."""
    columns = {name: np.zeros((count, TIME.size)) for name in COLUMNS}
    columns["normal_load_factor"] += 1.0
    columns["altitude"] += 3000.0
    columns["true_airspeed"] = 100.0 - slower * np.tile(TIME, (count, 1))
    return Course(TIME, **columns)


@pytest.fixture
def compared():
    at = knots(TIME[-1], 2.0)
    size = features(course(1, 0.0), at, 2.0).shape[1]
    errors = np.zeros((5, size))
    return SimpleNamespace(at=at, errors=errors, scale=SimpleNamespace(sigma=np.ones(size)))


def batch(cause: str, count: int, slower: float):
    return SimpleNamespace(cause=cause, course=course(count, slower), twin=np.arange(count))


def test_a_fault_without_a_trace_makes_no_case(compared):
    rng = np.random.default_rng(1)
    faint = [batch(NOTHING, 6, 0.0), batch("spiral-dive", 6, 0.001)]
    assert list(blind.blind_cases(faint, compared, 4, 2.0, rng).truth) == [0] * 4
    plain = [batch(NOTHING, 6, 0.0), batch("spiral-dive", 6, 2.0)]
    found = blind.blind_cases(plain, compared, 4, 2.0, rng)
    assert list(found.truth) == [0] * 4 + [1] * 4
    expected = features(plain[1].course, compared.at, 2.0)
    assert found.features[4:] == pytest.approx(expected[:4])


def test_the_score_of_a_method_that_knows_nothing_is_that_of_the_prior(monkeypatch):
    cases = blind.BlindCases(np.zeros((6, 1)), np.array([0, 0, 0, 1, 1, 1]))
    causes = (SimpleNamespace(name=NOTHING), SimpleNamespace(name="spiral-dive"))
    monkeypatch.setattr(blind, "log_evidence", lambda n, f: np.log(np.full((2, 6, 3), 1 / 3)))
    found = blind.judge(cases, None, causes, NAMES)
    assert found["mean_log_score"] == pytest.approx(-np.log(3.0)) == found["prior_log_score"]
    assert found["brier"] == pytest.approx(2.0 / 3.0)
    assert found["true_cause_below_1_percent"] == 0.0
    assert found["by_cause"]["spiral-dive"]["cases"] == 3


def test_a_sure_method_that_is_wrong_is_told_so(monkeypatch):
    """Sure of the first cause: right on half, and on the rest the true one gets the lapse."""
    cases = blind.BlindCases(np.zeros((4, 1)), np.array([0, 0, 1, 1]))
    causes = (SimpleNamespace(name=NOTHING), SimpleNamespace(name="spiral-dive"))
    runs = np.log(np.tile([1.0 - 2e-12, 1e-12, 1e-12], (2, 4, 1)))
    monkeypatch.setattr(blind, "log_evidence", lambda n, f: runs)
    found = blind.judge(cases, None, causes, NAMES)
    assert found["true_cause_below_1_percent"] == 0.5
    assert found["true_cause_leads"] == 0.5
    low = found["by_cause"]["spiral-dive"]["mean_log_score"]
    assert low == pytest.approx(np.log(NULL_LAPSE / 3.0), abs=1e-6)


def test_the_other_airplane_is_never_better_known():
    fitted = Uncertainty({"pitch_damping": 0.15, "drag": 0.3, "mass": 0.02})
    other = blind.other_airplane(fitted).sigma
    assert other["pitch_damping"] == blind.OFF and other["drag"] == 0.3
    assert other["mass"] == 0.02 and other["lift_slope"] == blind.LESS_OFF
