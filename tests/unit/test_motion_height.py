"""Height above the sea carries the errors it rests on; the static source is taken out."""

from __future__ import annotations

import numpy as np
import pytest
from motion_synthetic import LIFT, PLAIN, WEATHER, constant, fly, observe

from neutralpoint.motion import ParameterEstimate, estimate_motion
from neutralpoint.motion.age import MEMORY, memory
from neutralpoint.motion.height import height_error, static_shift
from neutralpoint.quantities import FOOT

PAIRED = {"weather": WEATHER, "lift": LIFT, "samples": 200}
TRACK = observe(
    fly(60.0, climb=constant(0.0), heading=constant(0.4)), np.random.default_rng(2), PLAIN
)


def above_pressure(motion):
    """Height above the sea less pressure altitude, mean over the flight, of each path."""
    return (motion.paths["altitude"] - motion.paths["pressure_altitude"]).mean(axis=1)


def test_the_altimeter_setting_carries_its_error():
    """50 Pa are 4.16 m at sea level (ISO 2533), whatever the height."""
    height = np.full((4000, 3), 0.0)
    error = height_error(np.random.default_rng(1), 4000, height, WEATHER, 50.0)
    assert error.std() == pytest.approx(4.16, rel=0.05)
    assert np.ptp(error, axis=1).max() == 0.0


def test_an_unknown_warmth_counts_with_the_column():
    """1.5 K of 288 over 300 m, all of one sign, are 1.57 m."""
    height = np.full((4000, 1), 300.0)
    error = height_error(np.random.default_rng(1), 4000, height, WEATHER, 0.0)
    assert error.std() == pytest.approx(1.5, abs=0.15)


def test_the_stated_error_stands_in_the_motion():
    seen = [
        above_pressure(
            estimate_motion(TRACK, rng=np.random.default_rng(1), altimeter_sigma=s, **PAIRED)
        ).std()
        for s in (0.0, 300.0)
    ]
    assert np.sqrt(seen[1] ** 2 - seen[0] ** 2) == pytest.approx(25.0, rel=0.25)


def test_the_static_source_is_taken_out_with_its_band():
    plain, moved = (
        np.asarray(
            estimate_motion(
                TRACK, rng=np.random.default_rng(1), static_error=error, **PAIRED
            ).paths["pressure_altitude"],
            float,
        )
        for error in (ParameterEstimate(0.0, 0.0), ParameterEstimate(100.0 * FOOT, 30.0 * FOOT))
    )
    assert np.median(plain) - np.median(moved) == pytest.approx(100.0 * FOOT, abs=6.0 * FOOT)
    assert moved.mean(axis=1).std() == pytest.approx(30.0 * FOOT, rel=0.25)


def test_the_static_error_grows_with_the_square_of_the_speed():
    shift = static_shift(np.array([[100.0, 100.0, 200.0]]), np.array([3.0]))
    np.testing.assert_allclose(shift, [[3.0, 3.0, 12.0]])


def test_memory_is_that_of_the_series():
    """Noise through a lag of 5 s has an integrated correlation time of 10 s."""
    rng, keep = np.random.default_rng(3), np.exp(-0.05)
    values = np.zeros(40_000)
    for k, noise in enumerate(rng.standard_normal(values.size - 1)):
        values[k + 1] = keep * values[k] + 0.003 * noise
    assert memory(values, 0.25) == pytest.approx(10.0, rel=0.25)
    assert memory(rng.normal(0.0, 0.01, 1000), 0.25) == MEMORY[0]
    assert memory(np.zeros(10), 0.25) == MEMORY[0]
