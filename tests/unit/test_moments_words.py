"""What a verdict reads like: every number it follows from, once and in the trade's units."""

from __future__ import annotations

import pytest

from neutralpoint.findings import (
    ClosestMiss,
    Estimated,
    Granted,
    HandsRow,
    MomentsFindings,
    Need,
    Verdict,
)
from neutralpoint.moments import Grant
from neutralpoint.quantities import DEGREE, POUND_FORCE
from neutralpoint.report.words.phrases import small_percent
from neutralpoint.report.words.verdicts import GRANTS, cause_verdict
from neutralpoint.vocabulary import CauseName

STAGE = MomentsFindings(
    file="moments.nc", first=90.0, reference_from=91.0, reference_to=99.0, steady=True, window=2.0
)
RUNAWAY = Verdict(
    cause=CauseName.STABILIZER_RUNAWAY,
    word="can if",
    probability=0.31,
    judged_from=100.0,
    judged_to=160.0,
    hands=[
        HandsRow(hands="none", probability=0.0001, end="none"),
        HandsRow(hands="resisting", probability=0.01, price=95.0 * POUND_FORCE),
        HandsRow(hands="anything", probability=0.01, end="beyond-measured"),
    ],
    needs=[
        Need(
            quantity="trim-rate",
            low90=0.2 * DEGREE,
            median=0.3 * DEGREE,
            high90=0.5 * DEGREE,
            least=-0.45 * DEGREE,
            most=0.45 * DEGREE,
        )
    ],
    estimates=[Estimated(name="start", low90=104.0, best=106.0, high90=109.0)],
    granted=Granted(grant="stronger-hands", value=95.0 * POUND_FORCE),
    miss=ClosestMiss(time=120.0, deviations=-3.2, moment=-850.0),
)


def test_a_verdict_is_said_with_its_numbers():
    said = cause_verdict(RUNAWAY, STAGE)
    for part in (
        "p-value hands off: under 0.1%",
        "Resisting pull alone: 95 lb (423 N) suffices",
        "Any column force: no measured force suffices",
        "Needs trim rate 0.20 to 0.50 deg/s; has -0.45 to 0.45 deg/s",
        "Best start 16 s (14 to 19)",
        "Judged 10 to 70 s after the start of the record",
    ):
        assert part in said.sentence
    assert said.condition == "the pilot resisted with up to 95 lb (423 N)"
    assert said.closest_miss == "3.2 standard deviations, -850 N m at 30 s."


def test_what_is_not_judged_says_why():
    unseen = Verdict(cause=CauseName.SPIRAL_DIVE, word="not judged", reason="bank-not-observable")
    assert "Bank is not observable" in cause_verdict(unseen, STAGE).sentence


def test_every_grant_of_the_test_has_words():
    assert set(GRANTS) == {grant.value for grant in Grant}


@pytest.mark.parametrize(
    ("value", "said"),
    [(0.0, "under 0.1%"), (0.012, "1.2%"), (0.31, "31%"), (1.0, "over 99%")],
)
def test_a_probability_has_two_figures(value, said):
    assert small_percent(value) == said
