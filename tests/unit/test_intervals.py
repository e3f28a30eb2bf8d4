"""Bands from samples, on the line and on the circle."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.numerics.intervals import (
    band,
    circular_half_width,
    circular_mean,
    coverage,
    half_width,
    quantiles,
    unwrapped_about,
)

RNG = np.random.default_rng(11)


@pytest.mark.parametrize("count", [1, 2, 7, 200])
def test_quantiles_are_those_of_numpy(count):
    samples = RNG.standard_normal((count, 3, 4))
    levels = (0.0, 0.05, 0.5, 0.95, 1.0)
    found = quantiles(samples, levels)
    np.testing.assert_allclose(found, np.quantile(samples, levels, axis=0), atol=1e-12)


def test_band_and_half_width():
    samples = np.linspace(0.0, 100.0, 101)[:, None]
    lower, upper = band(samples, 0.9)
    assert (lower[0], upper[0]) == pytest.approx((5.0, 95.0))
    assert half_width(samples, 0.9)[0] == pytest.approx(45.0)


def test_directions_across_north():
    angles = np.array([[0.1], [2.0 * np.pi - 0.1]])
    assert circular_mean(angles)[0] == pytest.approx(0.0, abs=1e-12)
    moved = unwrapped_about(angles, np.zeros(1))
    np.testing.assert_allclose(moved[:, 0], [0.1, -0.1], atol=1e-12)


def test_direction_width_ignores_the_wrap():
    angles = 0.2 * RNG.standard_normal((400, 5))
    turned = np.mod(angles + np.pi, 2.0 * np.pi)
    np.testing.assert_allclose(circular_half_width(turned), circular_half_width(angles), rtol=1e-9)


def test_an_unknown_direction_is_nearly_half_a_turn_wide():
    angles = RNG.uniform(0.0, 2.0 * np.pi, (4000, 1))
    assert 0.8 * np.pi < circular_half_width(angles)[0] <= np.pi


def test_coverage():
    lower, upper = np.zeros(4), np.ones(4)
    assert coverage(lower, upper, np.array([0.5, 2.0, np.nan, 1.0])) == pytest.approx(2.0 / 3.0)
    assert np.isnan(coverage(lower, upper, np.full(4, np.nan)))
