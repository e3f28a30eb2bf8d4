"""Faults are flown the way the flights of the case went, and both ways are mirror images."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.explanations import CAUSES
from neutralpoint.explanations.nose import BY_NATURE, LOWERS, nose_by_nature, nose_of, turned_by
from neutralpoint.findings import ProcedureRow, ResponseRow, SampledShare
from neutralpoint.report.words.acting import direction_words, recovered_words, side_word
from neutralpoint.response import Outcome, answer, draw_faults, draw_people, trials_of
from neutralpoint.response.faults import typical_fault
from neutralpoint.study.response.direction import FaultWay, SideTaken, flown_as, seen_sides
from neutralpoint.study.response.file import stalled, within_limits
from neutralpoint.vocabulary import CauseName

RUNAWAY = CAUSES["stabilizer-runaway"]
TWO_SIDED = [cause for cause in CAUSES.values() if turned_by(cause)]


@pytest.mark.parametrize(
    ("name", "seen", "direction", "reason"),
    [
        ("stabilizer-runaway", SideTaken(0.97, stays=True), "nose-up", "stays"),
        ("stabilizer-runaway", SideTaken(0.03, stays=True), "nose-down", "stays"),
        ("stabilizer-runaway", SideTaken(0.97, stays=False), "nose-up", "nearest"),
        ("separation", SideTaken(0.0, stays=False), "nose-down", "nearest"),
        ("elevator-jam", SideTaken(0.6, stays=True), "nose-down", "both"),
        ("elevator-jam", None, "nose-down", "not-weighed"),
        ("load-shift-aft", None, "nose-up", "nature"),
        ("load-shift-forward", SideTaken(0.9, stays=True), "nose-down", "nature"),
        ("wind-shear", None, "none", "no-side"),
    ],
)
def test_the_direction_follows_the_case(name, seen, direction, reason):
    way = flown_as(CAUSES[name], seen)
    assert (way.direction, way.reason) == (direction, reason)
    assert way.nose == (-1 if direction == "nose-up" else 1)


def test_the_side_is_read_from_a_weighing_that_holds():
    def record(stay: list[str]):
        rows = [
            SimpleNamespace(cause=CauseName(n), first=None if n in stay else 9.0)
            for n in ("separation", "elevator-jam")
        ]
        odds = [
            SimpleNamespace(cause=CauseName("separation"), nose_up=0.98),
            SimpleNamespace(cause=CauseName("elevator-jam"), nose_up=0.1),
            SimpleNamespace(cause=CauseName("wind-shear"), nose_up=None),
        ]
        made = SimpleNamespace(
            weighing=SimpleNamespace(rows=odds), signatures=SimpleNamespace(rows=rows)
        )
        return {"weighing": SimpleNamespace(made=made)}

    assert seen_sides({}) == {}
    assert seen_sides(record(["separation"])) == {
        CauseName("separation"): SideTaken(0.98, stays=True),
        CauseName("elevator-jam"): SideTaken(0.1, stays=False),
    }


@pytest.mark.parametrize("cause", TWO_SIDED, ids=lambda cause: cause.name)
def test_nose_up_faults_are_the_nose_down_ones_with_the_sign_changed(cause):
    down, up = (draw_faults(cause, np.random.default_rng(7), 32, nose=n) for n in (1, -1))
    for name, values in down.items():
        np.testing.assert_array_equal(up[name], -values if name in LOWERS else values)
    assert (nose_of(cause, down) == 1.0).all() and (nose_of(cause, up) == -1.0).all()
    typical = [typical_fault(cause, nose=n) for n in (1, -1)]
    assert nose_of(cause, typical[0]) == 1.0 and nose_of(cause, typical[1]) == -1.0


def test_what_pitches_by_nature_is_told_so_and_the_rest_has_no_side():
    assert {c.name for c in CAUSES.values() if nose_by_nature(c)} == set(BY_NATURE)
    assert not any(turned_by(CAUSES[name]) for name in BY_NATURE)
    assert nose_of(CAUSES["wind-shear"], {}) is None


def test_of_two_parameters_that_turn_it_the_larger_of_its_prior_decides():
    cause = CAUSES["takeoff-mistrim"]
    spread = {p.name: p.prior.high for p in turned_by(cause)}
    faults = {
        "mistrim": spread["mistrim"] * np.array([1.0, 1.0]),
        "misload": spread["misload"] * np.array([-0.9, -1.1]),
    }
    assert nose_of(cause, faults).tolist() == [1.0, -1.0]


def test_every_flight_is_judged_by_the_side_of_its_own_fault(commuter):
    people = draw_people(
        SimpleNamespace(pilot=SimpleNamespace(crossover=1.0, delay=0.2)),
        np.random.default_rng(1), 3,
    )  # fmt: skip
    for cause, way in ((RUNAWAY, -1.0), (CAUSES["load-shift-aft"], -1.0), (RUNAWAY, 1.0)):
        faults = draw_faults(cause, np.random.default_rng(2), 3, nose=int(way))
        assert trials_of(cause, answer(commuter, ()), people, faults).nose.tolist() == [way] * 3


def test_nose_up_within_limits_is_without_a_stall_too():
    values = dict.fromkeys(Outcome._fields, np.zeros(2)) | {
        "load_factor_high": np.ones(2), "spare_low": np.array([0.1, -0.01]),
    }  # fmt: skip
    outcome = Outcome(**values)
    limits = SimpleNamespace(load_factor_max=2.5, load_factor_min=-1.0, never_exceed_speed=90.0)
    setting = SimpleNamespace(airplane=SimpleNamespace(limits=limits))
    assert stalled(outcome).tolist() == [False, True]
    for direction, expected in (("nose-up", [True, False]), ("nose-down", [True, True])):
        way = FaultWay(direction, "stays")
        assert within_limits(outcome, setting, 100.0, flown=way).tolist() == expected


def row(**about) -> ResponseRow:
    share = SampledShare(share=0.5, low95=0.4, high95=0.6)
    one = ProcedureRow(procedure="push", by_rule=[], saved=share, within_limits=share)
    return ResponseRow(
        cause=RUNAWAY.name, nothing="push", nothing_saved=share, reference="push",
        reference_saved=share, procedures=[one], lessons=[], **about,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("about", "said"),
    [
        ({"direction": "nose-up", "direction_from": "stays", "nose_up": 0.97}, "nose up: this"),
        ({"direction": "nose-down", "direction_from": "stays", "nose_up": 0.03}, "97%"),
        ({"direction": "nose-up", "direction_from": "nearest", "nose_up": 1.0}, "nearest"),
        ({"direction": "nose-down", "direction_from": "both", "nose_up": 0.4}, "both ways (40%"),
        ({"direction": "nose-down", "direction_from": "nature"}, "no other way"),
        ({"direction": "none", "direction_from": "no-side"}, "no certain way"),
        ({}, "not known without the odds"),  # as older files are read
    ],
)
def test_reader_is_told_which_way_and_why(about, said):
    one = row(**about)
    assert said in direction_words(one)
    assert ("not stalled" in recovered_words(one)) == (one.direction == "nose-up")
    assert side_word(one) == ("" if one.direction == "none" else one.direction.replace("-", " "))
