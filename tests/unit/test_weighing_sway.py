"""What the odds of the leader hang on: each row against Bayes' rule worked by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.findings import PRIOR_FACTORS
from neutralpoint.study.weighing.moved import DEVIATIONS, MovedTrack, loaded, windy
from neutralpoint.study.weighing.sway import ranges, sway_rows
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.weigh import reweigh

NAMES = ("no-failure", "stabilizer-runaway", "elevator-jam", "unlisted")
PRIOR = np.array([0.4, 0.2, 0.2, 0.2])
RUNS = np.log(np.array([[0.1, 0.6, 0.2, 0.1], [0.2, 0.4, 0.3, 0.1]]))


def weighed(beside=None, moved=()):
    """A weighing of which only what is read here is there."""
    evidence = () if beside is None else (SimpleNamespace(name="marks", log_likelihood=beside),)
    total = np.zeros(len(NAMES)) if beside is None else beside
    return SimpleNamespace(
        odds=reweigh(NAMES, PRIOR, RUNS, total),
        track=SimpleNamespace(runs=RUNS),
        belief=SimpleNamespace(stated=()),
        beside=total,
        evidence=evidence,
        moved=moved,
    )


def row_of(rows, assumption):
    return next(row for row in rows if row.assumption == assumption)


def test_a_weight_of_the_leader_multiplies_its_odds_in_each_run():
    found = weighed()
    row = row_of(sway_rows(found), "weight")
    for end, factor in zip(row.ends, PRIOR_FACTORS, strict=True):
        each = [
            reweigh(NAMES, PRIOR, run[None]).probability[1] for run in RUNS
        ]  # odds p/(1-p) times the factor, by Bayes' rule
        by_hand = np.mean([factor * p / (factor * p + 1.0 - p) for p in each])
        assert end.probability == pytest.approx(by_hand, abs=1e-12)
        assert end.setting == pytest.approx(factor)


def test_the_networks_are_the_range_that_the_odds_have():
    found = weighed()
    low, high = row_of(sway_rows(found), "networks").ends
    assert low.probability == pytest.approx(found.odds.low[1])
    assert high.probability == pytest.approx(found.odds.high[1])


def test_evidence_left_out_gives_the_odds_without_it():
    beside = np.log(np.array([0.5, 0.9, 0.1, 0.5]))
    row = row_of(sway_rows(weighed(beside)), "evidence")
    assert row.name == "marks"
    assert row.ends[0].probability == pytest.approx(reweigh(NAMES, PRIOR, RUNS).probability[1])


def test_a_moved_track_names_the_leader_then_and_what_moves_much_comes_first():
    turned = RUNS[:, [0, 2, 1, 3]] + np.array([0.0, -6.0, 6.0, 0.0])
    same = MovedTrack("cg", 0.01, RUNS)
    rows = sway_rows(weighed(moved=(MovedTrack("wind", 2.0, turned), same)))
    wind = row_of(rows, "wind").ends[0]
    assert (wind.leader, wind.setting) == ("elevator-jam", 2.0)
    assert "wind" in [row.assumption for row in rows[:2]]
    assert rows[-1].assumption == "cg"


def test_the_windy_tenth_moves_the_mean_and_leaves_the_errors():
    rng = np.random.default_rng(20310401)
    time, wind = np.arange(10.0), rng.normal(0.0, 3.0, 200)
    columns = {name: rng.normal(0.0, 1.0, (200, 10)) for name in COLUMNS}
    columns["true_airspeed"] = 100.0 + wind[:, None] + columns["true_airspeed"]
    observed = Course(time, **columns)
    motion = SimpleNamespace(
        time=time,
        is_fix=np.zeros(10, bool),
        paths={
            "track_angle": np.zeros((200, 10)),
            "wind_north": np.repeat(-wind[:, None], 10, axis=1),
            "wind_east": np.zeros((200, 10)),
        },
    )
    (less, calm), (more, windiest) = windy(motion, observed, 0.0, 9.0)
    assert less < 0.0 < more
    # A headwind adds to the airspeed that a track over the ground stands for.
    faster = windiest.true_airspeed.mean() - calm.true_airspeed.mean()
    assert faster == pytest.approx(more - less, abs=0.2)  # 20 paths of unit noise, 10 times each
    spread = observed.true_airspeed.std(axis=0)
    assert windiest.true_airspeed.std(axis=0) == pytest.approx(spread)


def test_the_load_is_moved_by_what_is_not_known_of_it(commuter):
    known = Uncertainty({"cg_station": 0.01, "mass": 0.02})
    cases = loaded(commuter, known)
    assert [name for name, _, _ in cases] == ["cg", "mass", "cg", "mass"]
    for name, size, airplane in cases:
        shift = float(airplane.mass.cg_station) - float(commuter.mass.cg_station)
        heavier = float(airplane.mass.mass) / float(commuter.mass.mass)
        assert shift == pytest.approx(size if name == "cg" else 0.0)
        share = size / float(commuter.mass.mass) if name == "mass" else 0.0
        assert heavier == pytest.approx(1.0 + share)
    assert abs(cases[0][1]) == pytest.approx(DEVIATIONS * 0.01)
    assert loaded(commuter, Uncertainty({})) == []


def test_a_weight_of_the_next_cause_moves_the_leader_and_is_named_by_it():
    beside = np.log(np.array([0.1, 0.9, 0.9, 0.5]))  # elevator-jam is next
    own, other = (r for r in sway_rows(weighed(beside)) if r.assumption == "weight")
    assert own.name == "" and other.name == "elevator-jam"
    for end, factor in zip(other.ends, PRIOR_FACTORS[::-1], strict=True):
        each = [reweigh(NAMES, PRIOR, run[None], beside).probability for run in RUNS]
        by_hand = np.mean([p[1] / (1.0 + (factor - 1.0) * p[2]) for p in each])
        assert end.probability == pytest.approx(by_hand, abs=1e-12)  # Bayes' rule
        assert end.setting == pytest.approx(factor)


def test_every_cause_has_a_range_that_holds_its_own_prior_weight():
    found = weighed()
    rows = sway_rows(found)
    held = ranges(found, rows)
    assert set(held) == set(NAMES)
    for place, name in enumerate(NAMES):
        low, high = held[name]
        assert low <= found.odds.probability[place] <= high
        assert all(low <= end.odds[name] <= high for row in rows for end in row.ends)
        assert all(sum(end.odds.values()) == pytest.approx(1.0) for row in rows for end in row.ends)
    each = [reweigh(NAMES, PRIOR, run[None]).probability[2] for run in RUNS]
    by_hand = [np.mean([f * p / (f * p + 1.0 - p) for p in each]) for f in PRIOR_FACTORS]
    low, high = held["elevator-jam"]
    assert low <= by_hand[0] and high >= by_hand[1] - 1e-12
