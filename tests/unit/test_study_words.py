"""Sentences of the stages about flight that a track shows only in part."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.findings import Findings, MomentsFindings, MotionFindings, Subject
from neutralpoint.motion import LiftData, Onsets
from neutralpoint.report.words.moments import moments_section
from neutralpoint.report.words.motion import motion_undetermined
from neutralpoint.study.moments import findings as moments_findings
from neutralpoint.study.motion.findings import motion_findings

NO_ONSET = Onsets(np.array([0.0]), np.array([1.0]), 1.0)
DOCUMENT = Findings(
    program_version="0",
    seed=1,
    cut_off="2031-05-01",
    epoch=datetime(2031, 4, 14, tzinfo=UTC),
    subject=Subject(title="t", question="q", airplane="a"),
    cautions=[],
    sources=[],
    assumptions=[],
)


def motion(lift):
    time = np.arange(lift.size) * 0.5
    return SimpleNamespace(
        time=time,
        is_fix=np.zeros(lift.size, dtype=bool),
        paths={"lift_coefficient": np.tile(lift, (5, 1))},
        observable={},
        settled=True,
    )


def said(lift, ground=False, flaps_open=True):
    on_ground = np.full(lift.size, ground)
    wing = LiftData(1000.0, 10.0, 5.0, 0.0, 1.5, flaps_open=flaps_open)
    found = motion_findings(motion(lift), on_ground, wing, NO_ONSET)
    return [s.text for s in motion_undetermined(found)]


def test_slow_flight_is_said_to_leave_the_flaps_open():
    assert any("flaps" in text and "for 40 s" in text for text in said(np.full(80, 1.0)))
    assert not any("flaps" in text for text in said(np.full(80, 0.4)))
    assert not any("flaps" in text for text in said(np.r_[np.full(80, 0.4), np.full(10, 1.0)]))
    assert not any("flaps" in text for text in said(np.full(80, 1.0), ground=True))
    assert not any("flaps" in text for text in said(np.full(80, 1.0), flaps_open=False))


def test_fixes_seconds_apart_are_said_to_hide_a_full_roll():
    made = MotionFindings(
        first=0.0, span=96.0, fixes=20, settled=True, step=0.25, usual_step=0.25
    )  # a radar that turns in 4.8 s
    told = [s.text for s in motion_undetermined(made)]
    assert any("A full roll that is over within the 5 s" in text for text in told)
    each_second = made.model_copy(update={"fixes": 96})
    assert not any("full roll" in s.text for s in motion_undetermined(each_second))
    # A long record keeps only some of its fixes, which says nothing of how far they are apart.
    long = made.model_copy(update={"step": 1.0})
    assert not any("full roll" in s.text for s in motion_undetermined(long))


@pytest.mark.parametrize(("motor", "words"), [(0.007, "The motor makes 0.40"), (0.0, "no motor")])
def test_a_trim_without_a_motor_is_not_held_against_a_rate(motor, words):
    rate = SimpleNamespace(time=3.0, median=0.02, low=0.01, high=0.03, beyond=(1.0, 1.0))
    drive = SimpleNamespace(kind="tab", rate=motor, loaded_rate=motor)
    found = SimpleNamespace(
        rate=rate, airplane=SimpleNamespace(airplane=SimpleNamespace(trim_drive=drive))
    )
    section = MomentsFindings(
        file="moments.nc",
        first=0.0,
        reference_from=0.0,
        reference_to=1.0,
        steady=True,
        window=2.0,
        rate=moments_findings._rate(found),
    )
    (text,) = (
        s.text for s in moments_section(section, DOCUMENT).statements if "Required rate" in s.text
    )
    assert words in text
    assert ("deg/s loaded" in text) == bool(motor)
