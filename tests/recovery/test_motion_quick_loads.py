"""Loads that are quicker than the readings widen the band of the load factor, and only there."""

from __future__ import annotations

import numpy as np
import pytest
from motion_synthetic import LIFT, STEP, WEATHER, constant, eased, fly, observe
from scipy.ndimage import gaussian_filter1d

from neutralpoint.motion import estimate_motion
from neutralpoint.numerics.intervals import band, coverage
from neutralpoint.quantities import GRAVITY

ROUGH = (40.0, 90.0)  # s
HEAVE, WIDTH = 0.9, 0.3  # m/s root mean square and s: 0.2 g, too quick for readings 1 s apart


def heaving(time):
    """Path angle of an airplane that is thrown up and down for a while and keeps its height."""
    noise = gaussian_filter1d(np.random.default_rng(7).standard_normal(time.size), WIDTH / STEP)
    return HEAVE / 110.0 * noise / noise.std() * (eased(time, 38.0, 4.0) - eased(time, 88.0, 4.0))


@pytest.fixture(scope="module")
def rough():
    """A flight that heaves for a while, seen once a second."""
    rng = np.random.default_rng(3)
    truth = fly(120.0, climb=heaving, heading=constant(0.4), rng=rng)
    motion = estimate_motion(
        observe(truth, rng), weather=WEATHER, lift=LIFT, rng=np.random.default_rng(1), samples=80
    )
    return truth, motion


def _between(motion, first: float, last: float):
    return ~motion.is_fix & (motion.time > first) & (motion.time < last)


def test_the_band_holds_loads_that_the_readings_are_too_slow_for(rough):
    truth, motion = rough
    kept = _between(motion, ROUGH[0] + 3.0, ROUGH[1] - 3.0)
    angle, speed = truth.values["flight_path_angle"], truth.values["true_airspeed"]
    load = speed * np.gradient(angle, STEP) / GRAVITY + np.cos(angle)  # not averaged over 1 s
    lower, upper = band(motion.paths["normal_load_factor"][:, kept], 0.9)
    assert coverage(lower, upper, np.interp(motion.time[kept], truth.time, load)) > 0.7


def test_calm_air_of_the_same_flight_keeps_its_narrow_band(rough):
    _, motion = rough
    lower, upper = band(motion.paths["normal_load_factor"][:, _between(motion, 8.0, 32.0)], 0.9)
    assert np.median(upper - lower) < 0.06
