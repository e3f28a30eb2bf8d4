"""Where no listed cause comes near, that is said above the odds, which only rank."""

from __future__ import annotations

import pytest

from neutralpoint.findings import Fit, JudgementFindings
from neutralpoint.report.words.fit import no_cause_fits
from neutralpoint.vocabulary import CauseName


def judged(**fit) -> JudgementFindings:
    return JudgementFindings(rows=[], fit=Fit(threshold=0.01, **fit), residual=0.01)


def test_no_cause_near_is_a_headline_with_its_p_value():
    said = no_cause_fits(judged(best=CauseName.ELEVATOR_JAM, p_value=0.004, none_near=True))
    assert said.startswith("No listed cause comes near this track")
    assert "elevator jam" in said and "0.4%" in said and "none of them is favored" in said


@pytest.mark.parametrize(
    "found", [None, judged(), judged(best=CauseName.ELEVATOR_JAM, p_value=0.4, none_near=False)]
)
def test_nothing_is_said_where_a_cause_comes_near_or_nobody_asked(found):
    assert no_cause_fits(found) == ""
