"""Events on earlier flights move the odds by their table; nothing else of a history does."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.findings import HistoryEvidence
from neutralpoint.study.weighing.earlier import earlier_contribution, given_by
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.items import EARLIER_TRACKS, ITEMS

CAUSES = ("stabilizer-runaway", "spiral-dive", "power-loss-one")


def evidence(**changed) -> HistoryEvidence:
    told = {
        "events": 2,
        "flown": 1e5,
        "ordinary": 0.05,
        "ordinary_from": "table",
        "fault": {CauseName("stabilizer-runaway"): 0.25},
        "doubt": 0.5,
    }
    return HistoryEvidence(**(told | changed))


def factor(found: HistoryEvidence) -> float:
    """Likelihood of the runaway over that of the spiral."""
    added = earlier_contribution(found, CAUSES, "earlier").log_likelihood
    assert added[1] == added[2]
    return float(np.exp(added[0] - added[1]))


def test_events_count_by_the_table_that_is_stated():
    """By hand: 1 - 0.95 * 0.75 = 0.2875 against 0.05, half of either the mean of all causes."""
    mean = (0.2875 + 0.05 + 0.05) / 3.0
    assert factor(evidence()) == pytest.approx((0.2875 + mean) / (0.05 + mean))


def test_the_analyst_changes_it():
    assert factor(evidence(doubt=0.9)) < factor(evidence()) < factor(evidence(doubt=0.1))
    assert factor(evidence(fault={})) == 1.0
    assert factor(evidence(ordinary=0.9)) < 1.05  # as usual with the type: next to nothing


def test_without_an_event_nothing_moves():
    assert earlier_contribution(None, CAUSES, "earlier") is None
    assert given_by(None) == ()


def test_earlier_tracks_are_asked_for_while_they_are_missing():
    (item,) = [item for item in ITEMS if item.key == EARLIER_TRACKS]
    assert item.table(("stabilizer-runaway",))[0, 1] == pytest.approx(0.2875)
