"""Pilots shared out among the references that flights may start from, and pooled again."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.findings import (
    LatestAction,
    ResponseFindings,
    ResponseRow,
    ResponseStart,
    SampledShare,
    StartReading,
)
from neutralpoint.report.words.response import response_section
from neutralpoint.response import Outcome
from neutralpoint.study.response.answered import Answered
from neutralpoint.study.response.direction import FaultWay
from neutralpoint.study.response.places import FlightStart, kept_places, pooled, shared_out
from neutralpoint.vocabulary import CauseName


@pytest.mark.parametrize(
    ("count", "weights", "expected"),
    [
        (32, [1.0], [32]),
        (32, [0.7, 0.3], [22, 10]),
        (32, [0.95, 0.05], [30, 2]),
        (8, [0.98, 0.01, 0.01], [6, 1, 1]),
        (8, [1 / 3, 1 / 3, 1 / 3], [3, 3, 2]),
    ],
)
def test_pilots_are_shared_out_in_proportion(count, weights, expected):
    given = shared_out(count, weights)
    assert sum(given) == count and sorted(given, reverse=True) == sorted(expected, reverse=True)


def test_what_is_hardly_likely_is_not_flown_and_the_rest_sums_to_one():
    kept = kept_places(
        [FlightStart(None, 10.0, 0.6), FlightStart(None, 20.0, 0.37), FlightStart(None, 30.0, 0.03)]
    )
    assert [place.begin for place in kept] == [10.0, 20.0]
    assert sum(place.weight for place in kept) == pytest.approx(1.0)


def answered(pilots: int, lost: float, latest: float) -> Answered:
    def outcome(*shape: int) -> Outcome:
        return Outcome(*(np.full((*shape, pilots), lost) for _ in Outcome._fields))

    return Answered(
        cause=SimpleNamespace(name="elevator-jam"),
        flown=FaultWay("nose-down", "not-weighed"),
        procedures=("nothing", "pull"),
        lessons=(),
        reference="pull",
        over_height=outcome(2, 13),
        over_rate=None,
        stated=outcome(2),
        regulatory=outcome(2, 3),
        latest=np.full((2, pilots), latest),
        force=None,
    )


def test_the_pool_holds_the_pilots_of_every_place():
    (whole,) = pooled([(answered(22, 100.0, 4.0),), (answered(10, 900.0, -1.0),)], main=0)
    assert whole.stated.height_lost.shape == (2, 32)
    # A mean over the references: 22 and 10 of 32.
    assert np.mean(whole.stated.height_lost[0] < 500.0) == pytest.approx(22 / 32)
    assert np.mean(whole.latest[0] < 0.0) == pytest.approx(10 / 32)
    assert whole.over_height.height_lost.shape == (2, 13, 32)


def share(value: float, half: float) -> SampledShare:
    low, high = max(value - half, 0.0), min(value + half, 1.0)
    return SampledShare(share=value, low95=low, high95=high)


def section_of(second: float) -> str:
    def start(end: float, weight: float, saved: float) -> ResponseStart:
        read = StartReading(
            cause=CauseName.ELEVATOR_JAM,
            saved=share(saved, 0.1),
            latest=LatestAction.of(5.0 if saved > 0.5 else -1.0),
        )
        return ResponseStart(
            end=end, weight=weight, speed=80.0, altitude=900.0, pilots=16, rows=[read]
        )

    found = ResponseFindings(
        file="response.nc",
        begin=20.0,
        starts=[start(10.0, 0.4, 0.9), start(20.0, 0.6, second)],
        height=900.0,
        height_source="stated by the analyst",
        reaction_median=3.0,
        reaction_factor=1.6,
        reaction_source="stated",
        pull_median=310.0,
        pull_spread=0.3,
        one_hand=0.65,
        short_term=334.0,
        rule_delays=[1.0],
        longest=30.0,
        rows=[
            ResponseRow(
                cause=CauseName.ELEVATOR_JAM,
                nothing="nothing",
                nothing_saved=share(0.0, 0.1),
                reference="pull",
                reference_saved=share(0.5, 0.1),
                procedures=[],
            )
        ],
    )
    findings = SimpleNamespace(epoch=datetime(2031, 5, 1, 18, 0, 0, tzinfo=UTC))
    return " ".join(s.text for s in response_section(found, findings).statements)


def test_it_is_said_which_reading_rests_on_which_reference():
    said = section_of(0.2)
    assert "the mean over them" in said and "18:00:20.0 UTC (60%, 16 pilots" in said
    assert "Elevator jam: what is left to do rests on the reference" in said
    assert "from 18:00:10.0 UTC 90%" in said and "not recoverable even with immediate" in said


def test_or_that_none_does():
    said = section_of(0.85)
    assert "rests on the reference" not in said
    assert "No cause reads differently" in said
