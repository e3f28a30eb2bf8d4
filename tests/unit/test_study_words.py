"""Sentences of the stages about flight that a track shows only in part."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.motion import LiftData
from neutralpoint.study.moments import findings as moments_findings
from neutralpoint.study.motion import findings as motion_findings


def motion(lift):
    time = np.arange(lift.size) * 0.5
    return SimpleNamespace(
        time=time,
        is_fix=np.zeros(lift.size, dtype=bool),
        paths={"lift_coefficient": np.tile(lift, (5, 1))},
        observable={},
    )


def said(lift, ground=False, flaps_open=True):
    on_ground = np.full(lift.size, ground)
    wing = LiftData(1000.0, 10.0, 5.0, 0.0, 1.5, flaps_open=flaps_open)
    return [s.text for s in motion_findings.undetermined(motion(lift), on_ground, wing)]


def test_slow_flight_is_said_to_leave_the_flaps_open():
    assert any("flaps" in text and "for 40 s" in text for text in said(np.full(80, 1.0)))
    assert not any("flaps" in text for text in said(np.full(80, 0.4)))
    assert not any("flaps" in text for text in said(np.r_[np.full(80, 0.4), np.full(10, 1.0)]))
    assert not any("flaps" in text for text in said(np.full(80, 1.0), ground=True))
    assert not any("flaps" in text for text in said(np.full(80, 1.0), flaps_open=False))


@pytest.mark.parametrize(("motor", "words"), [(0.007, "The drive makes 0.40"), (0.0, "no motor")])
def test_a_trim_without_a_motor_is_not_held_against_a_rate(motor, words):
    rate = SimpleNamespace(time=3.0, median=0.02, low=0.01, high=0.03, beyond=(1.0, 1.0))
    drive = SimpleNamespace(kind="tab", rate=motor, loaded_rate=motor)
    found = SimpleNamespace(
        rate=rate,
        airplane=SimpleNamespace(airplane=SimpleNamespace(trim_drive=drive)),
        required=SimpleNamespace(time=np.array([0.0])),
    )
    (statement,) = moments_findings._rate_statements(found)
    assert words in statement.text
    assert ("deg/s loaded" in statement.text) == bool(motor)
