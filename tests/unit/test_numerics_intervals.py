"""Bands of sample paths: against NumPy's quantiles, across the jump of a full turn, coverage."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.numerics import intervals


@pytest.mark.parametrize("count", [2, 7, 200, 201])
def test_quantiles_agree_with_numpy(count):
    samples = np.random.default_rng(4).standard_normal((count, 30))
    levels = (0.05, 0.25, 0.5, 0.75, 0.95)
    expected = np.quantile(samples, levels, axis=0)
    np.testing.assert_allclose(intervals.quantiles(samples, levels), expected, atol=1e-12)


def test_band_of_a_normal_law_covers_what_it_says():
    rng = np.random.default_rng(5)
    lower, upper = intervals.band(rng.standard_normal((4000, 400)), 0.9)
    truth = rng.standard_normal(400)
    # Four standard errors of a share of 0.9 in 400 trials.
    assert intervals.coverage(lower, upper, truth) == pytest.approx(0.9, abs=0.06)
    np.testing.assert_allclose(upper - lower, 2.0 * 1.6449, rtol=0.1)


def test_half_width():
    samples = np.linspace(0.0, 10.0, 101)[:, None]
    assert intervals.half_width(samples, 0.9) == pytest.approx(4.5)


def test_a_direction_through_north():
    angles = np.radians(np.linspace(350.0, 370.0, 201) % 360.0)[:, None]
    mean = np.degrees(intervals.circular_mean(angles))
    assert mean == pytest.approx(0.0, abs=1e-9)
    assert np.degrees(intervals.circular_half_width(angles, 0.9)) == pytest.approx(9.0)


def test_unwrapped_angles_stay_within_half_a_turn():
    centre = np.array([3.0])
    angles = np.array([[-3.0], [3.1], [9.0]])
    moved = intervals.unwrapped_about(angles, centre)
    assert np.all(np.abs(moved - centre) <= np.pi)
    np.testing.assert_allclose(np.exp(1j * moved), np.exp(1j * angles))


def test_coverage_leaves_out_what_is_not_known():
    lower, upper = np.array([0.0, 0.0, np.nan, 0.0]), np.ones(4)
    truth = np.array([0.5, 2.0, 0.5, np.nan])
    assert intervals.coverage(lower, upper, truth) == 0.5
    assert np.isnan(intervals.coverage(lower, upper, np.full(4, np.nan)))
