"""The onset of synthetic upsets: steps and ramps of the vertical force at a known time."""

from __future__ import annotations

import numpy as np
import pytest
from motion_synthetic import LIFT, PLAIN, STEP, WEATHER, Habits, constant, fly, observe

from neutralpoint.motion import estimate_motion, upset_onset
from neutralpoint.quantities import GRAVITY

ONSET = 40.0
SPEED = 110.0


def step(time):
    """The load factor falls by 0.5 g at once and stays down for 8 s."""
    return -0.5 * ((time > ONSET) & (time < ONSET + 8.0))


def runaway(time):
    """The load factor falls by a tenth of a g each second."""
    return -np.clip(0.1 * (time - ONSET), 0.0, 0.8)


def creep(time):
    """The load factor falls with the square of time: it starts without a rate."""
    return -np.clip(0.02 * np.maximum(time - ONSET, 0.0) ** 2, 0.0, 0.8)


def calm(time):
    return 0.0 * time


def onsets(change, seeds):
    """Onsets found from tracks at 1 Hz, 25 ft and 64 ft/min with jitter and drops."""
    found = []
    for seed in seeds:
        rng = np.random.default_rng(seed)
        truth = fly(
            56.0,
            climb=lambda time: np.cumsum(change(time)) * STEP * GRAVITY / SPEED,
            heading=constant(1.0),
            rng=rng,
        )
        track = observe(truth, rng, PLAIN, Habits(0.1, 0.4, 0.2, 0.5))
        motion = estimate_motion(track, weather=WEATHER, lift=LIFT, rng=rng, samples=40)
        found.append(upset_onset(motion))
    return found


@pytest.mark.parametrize(
    ("change", "median", "within"), [(step, 0.5, 0.7), (runaway, 0.5, 0.6), (creep, 0.6, 0.4)]
)
def test_onset_of_an_upset(change, median, within):
    """Median error and share within half a second over 30 seeds.

    A force that creeps away from steady flight without a rate is found less well; its band says so.
    """
    found = onsets(change, range(30))
    assert all(o.time is not None and o.direction == "down" for o in found)
    assert all(o.probability > 0.95 for o in found)
    error = np.array([o.time.value - ONSET for o in found])
    assert np.median(np.abs(error)) <= median
    assert (np.abs(error) < 0.5).mean() >= within
    inside = [o.earliest <= ONSET <= o.latest for o in found]
    assert np.mean(inside) >= 0.8


def test_no_upset_has_no_onset():
    for found in onsets(calm, range(3)):
        assert found.time is None and found.earliest is None and found.direction is None
        assert found.probability < 0.05
