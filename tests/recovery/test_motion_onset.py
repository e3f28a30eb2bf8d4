"""The onset of synthetic upsets after all kinds of ordinary flight, at a known time."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.motion import fault_begin, stated, upset_onsets
from neutralpoint.quantities import DEGREE, GRAVITY

STEP, SPEED, ONSET, END = 0.25, 110.0, 90.0, 125.0
TIME = np.arange(0.0, END, STEP)


def ramp(begin, length):
    """From 0 to 1 between two times."""
    return np.clip((TIME - begin) / length, 0.0, 1.0)


def motion(rate, bank=0.0, path=0.0, seed=0):
    """Sample paths of a flight whose path bends by `rate` (g) and that banks, with small errors.

    Half of what a descent gives goes into speed; the rest is drag.
    """
    rng = np.random.default_rng(seed)
    up = rate + 0.0 * TIME
    angle = path + np.cumsum(up) * STEP * GRAVITY / SPEED
    bank = bank + 0.0 * TIME
    gain = -0.5 * GRAVITY * (np.sin(angle) - np.sin(path))
    values = {
        "normal_load_factor": (up + np.cos(angle)) / np.cos(bank),
        "longitudinal_load_factor": gain / GRAVITY + np.sin(angle),
        "bank_angle": bank,
        "flight_path_angle": angle,
        "true_airspeed": SPEED + np.cumsum(gain) * STEP,
    }
    sizes = (0.02, 0.01, 0.01, 0.003, 0.3)
    smooth = np.ones(8) / 8.0
    return {
        name: value
        + size * np.array([np.convolve(rng.standard_normal(TIME.size), smooth, "same")] * 2)
        for (name, value), size in zip(values.items(), sizes, strict=True)
    }


def push(begin=ONSET, size=0.3, length=2.0):
    """The force falls by so many g and stays down."""
    return -size * ramp(begin, length)


def bump(begin, size, length=4.0):
    """A level-off, a start of a climb: a force for some seconds."""
    return size * (ramp(begin, 1.0) - ramp(begin + length, 1.0))


def turn(begin, end, angle=25.0 * DEGREE):
    """A turn with its roll-out."""
    return angle * (ramp(begin, 5.0) - ramp(end, 5.0))


def spiral(begin=ONSET, rate=3.0 * DEGREE):
    """Bank that grows all the time."""
    return np.minimum(rate * np.maximum(TIME - begin, 0.0), 1.4)


CASES = {
    "out of steady flight": motion(push()),
    "a slow runaway": motion(push(length=10.0)),
    "after several manoeuvres": motion(
        push() + bump(20.0, 0.12) + bump(45.0, -0.12), turn(10.0, 30.0) - turn(55.0, 70.0)
    ),
    "during a climb": motion(push(), path=5.0 * DEGREE),
    "just after a level-off": motion(push() + bump(80.0, -0.08), path=4.0 * DEGREE),
    "in a turn": motion(push(), turn(70.0, 300.0)),
    "a spiral": motion(-0.02 * ramp(ONSET, 10.0), spiral()),
    "with a second event": motion(push(length=1.0) + 0.6 * ramp(98.0, 1.0) + push(112.0, 0.6)),
}


@pytest.mark.parametrize("case", CASES)
def test_the_onset_lies_in_its_interval_whatever_came_before(case):
    """Also near the middle: within 5 s, the spiral within 8 s, for it starts without a force."""
    found = upset_onsets(TIME, CASES[case])
    first, last = found.interval
    assert found.found
    assert first <= ONSET + 1.0 and last >= ONSET
    assert abs(found.median - ONSET) < (8.0 if case == "a spiral" else 5.0)


@pytest.mark.parametrize(
    ("rate", "bank"),
    [
        (0.0 * TIME, 0.0),
        (bump(20.0, 0.1) + bump(60.0, -0.1), 0.0),
        (0.0 * TIME, turn(30.0, 60.0)),
        (bump(30.0, -0.1), turn(40.0, 90.0, -20.0 * DEGREE)),
    ],
)
def test_ordinary_flight_has_no_onset(rate, bank):
    assert not upset_onsets(TIME, motion(rate, bank)).found


def test_what_caused_it_began_before():
    begun = fault_begin(stated(50.0))
    assert begun.median < 50.0 and begun.median > 45.0
    assert 5.0 < 50.0 - begun.quantile(0.05) < 60.0  # a motor may run unseen


def test_the_ground_has_no_onset():
    found = upset_onsets(TIME, CASES["out of steady flight"], np.ones(TIME.size, dtype=bool))
    assert not found.found


def test_weights_are_probabilities():
    found = upset_onsets(TIME, CASES["in a turn"])
    assert found.weight.sum() + found.none == pytest.approx(1.0)
    assert (found.weight >= 0.0).all() and (np.diff(found.time) > 0.0).all()
    half = found.weight[found.time < found.median].sum() / found.weight.sum()
    assert half == pytest.approx(0.5, abs=0.15)  # one candidate may hold as much
