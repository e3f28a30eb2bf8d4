"""What is said of an onset, and verdicts over several references."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from neutralpoint.moments import Judgement, Reference
from neutralpoint.moments.judgement import Word
from neutralpoint.motion import Onsets, stated
from neutralpoint.study.moments.readings import Reading, differing, extreme, over_readings
from neutralpoint.study.motion.onset_findings import onset_findings, onset_warnings
from neutralpoint.vocabulary import CauseName

EPOCH = datetime(2031, 5, 1, 18, 0, 0, tzinfo=UTC)
SURE = Onsets(np.arange(100.0, 104.0), np.array([0.2, 0.4, 0.3, 0.08]), 0.02)
WIDE = Onsets(np.array([50.0, 100.0]), np.array([0.5, 0.45]), 0.05)
NONE = Onsets(np.array([100.0]), np.array([0.1]), 0.9)


def test_no_onset_is_found_in_the_findings_and_warned_of():
    found = onset_findings(NONE)
    assert not found.found and found.probability == pytest.approx(0.1) and found.left == []
    assert [warned.code for warned in onset_warnings(NONE, EPOCH)] == ["onset-none"]


def test_an_onset_has_its_quantiles_and_its_cause_began_before():
    found = onset_findings(SURE)
    assert found.found and found.left[2] == pytest.approx(101.3, abs=0.3)
    assert onset_warnings(SURE, EPOCH) == ()
    assert all(a <= b for a, b in zip(found.begun, found.left, strict=True))


def test_a_wide_onset_is_warned_of():
    assert [warned.code for warned in onset_warnings(WIDE, EPOCH)] == ["onset-unclear"]


def test_a_stated_onset_is_one_candidate():
    assert stated(130.0).interval == (130.0, 130.0) and stated(130.0).none == 0.0


def reading(weight: float, *verdicts: tuple[Word, float]) -> Reading:
    causes = (CauseName.ELEVATOR_JAM, CauseName.LOAD_SHIFT_AFT)
    return Reading(
        Reference(np.ones(4, dtype=bool), 10.0 * weight, weight, 0.0),
        [
            Judgement(cause, word, probability, (0.0, 60.0))
            for cause, (word, probability) in zip(causes, verdicts, strict=True)
        ],
    )


def test_verdicts_are_the_mean_over_the_references():
    both = [
        reading(0.3, (Word.CAN, 0.9), (Word.CANNOT, 0.0)),
        reading(0.7, (Word.CANNOT, 0.001), (Word.CANNOT, 0.001)),
    ]
    jam, shift = over_readings(both)
    assert jam.word is Word.CAN and jam.probability == pytest.approx(0.2707)
    assert shift.word is Word.CANNOT
    assert differing(both) == [(CauseName.ELEVATOR_JAM, [Word.CAN, Word.CANNOT])]


def test_a_cause_that_one_unlikely_reference_allows_is_granted_with_a_condition():
    both = [
        reading(0.1, (Word.CAN, 0.2), (Word.CAN, 0.5)),
        reading(0.9, (Word.CANNOT, 0.0), (Word.CAN, 0.5)),
    ]
    jam, shift = over_readings(both)
    assert jam.word is Word.CAN_IF and jam.condition is not None
    assert shift.word is Word.CAN and differing(both)[0][0] is CauseName.ELEVATOR_JAM


def test_one_reference_is_left_as_it_is():
    alone = reading(1.0, (Word.CAN, 0.9), (Word.NOT_JUDGED, float("nan")))
    assert over_readings([alone]) is alone.verdicts


def test_the_extreme_force_keeps_its_sign():
    force = np.array([[10.0, -50.0, 20.0], [5.0, -70.0, 60.0]])
    low, middle, high = extreme(force)
    assert -70.0 <= low <= middle <= high <= -50.0 and middle == -60.0
    assert np.isnan(extreme(force[:, :0])).all()
