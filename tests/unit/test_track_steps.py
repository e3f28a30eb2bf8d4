"""The step of rounded readings, on invented channels of every awkward kind."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neutralpoint.track import quantization_step

FINE = 3e-3  # of a step: what rounding in print leaves open


def a_level_and_a_dive(rng, step, seconds, noise):
    """An hour at one level, then a dive of a few seconds, at 1 Hz."""
    time = np.arange(3000 + seconds, dtype=float)
    fall = 2.5 * np.clip(time - 3000.0, 0.0, None) ** 2
    return np.rint((35000.0 - fall + rng.normal(0.0, noise * step, time.size)) / step)


def common(cells):
    """The greatest step that the cells visited can have come from, in steps."""
    return int(np.gcd.reduce(np.diff(np.unique(cells)).astype(int)))


@settings(max_examples=120, deadline=None)
@given(
    st.integers(0, 10_000),
    st.floats(1e-5, 1e4),
    st.floats(-1e4, 1e4),
    st.integers(8, 60),
    st.floats(0.0, 0.5),
)
def test_a_short_dive_after_a_long_level_flight_shows_the_step(seed, step, offset, seconds, noise):
    rng = np.random.default_rng(seed)
    cells = a_level_and_a_dive(rng, 25.0, seconds, noise)
    found = quantization_step((cells + round(offset, 2)) * step)
    assert found == pytest.approx(step * common(cells), rel=FINE)


@settings(max_examples=120, deadline=None)
@given(
    st.integers(0, 10_000),
    st.sampled_from([(7.62, 2), (7.62, 1), (30.48, 0), (30.48, 1), (0.32512, 2), (0.5144, 2)]),
    st.floats(0.3, 3.0),
)
def test_a_walk_converted_and_printed_keeps_its_step(seed, printed, pace):
    step, digits = printed
    rng = np.random.default_rng(seed)
    cells = np.rint(np.cumsum(rng.normal(0.0, pace, 800)))
    found = quantization_step(np.round(cells * step, digits))
    if np.unique(cells).size > 8:
        assert found == pytest.approx(step * common(cells), rel=FINE)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.0, 0.06))
def test_wrong_bits_do_not_hide_the_step(seed, share):
    rng = np.random.default_rng(seed)
    values = np.rint(np.cumsum(rng.normal(0.0, 1.0, 900))) * 25.0
    wrong = rng.random(900) < share
    values[wrong] += rng.uniform(-300.0, 300.0, int(wrong.sum()))
    assert quantization_step(values) == pytest.approx(25.0, rel=FINE)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000))
def test_a_few_finer_readings_leave_the_coarse_step(seed):
    rng = np.random.default_rng(seed)
    height = 3000.0 + np.cumsum(rng.normal(5.0, 8.0, 1500))
    values = np.rint(height / 100.0) * 100.0
    fine = rng.random(1500) < 0.05
    values[fine] = np.rint(height[fine] / 25.0) * 25.0
    assert quantization_step(values) == pytest.approx(100.0, rel=FINE)


@pytest.mark.parametrize(("coarse_until", "step"), [(500, 25.0), (1000, 100.0)])
@pytest.mark.parametrize("seed", range(6))
def test_two_resolutions_one_after_the_other_give_that_of_the_larger_part(seed, coarse_until, step):
    rng = np.random.default_rng(seed)
    height = 3000.0 + np.cumsum(rng.normal(5.0, 8.0, 1500))
    values = np.rint(height / 25.0) * 25.0
    values[:coarse_until] = np.rint(height[:coarse_until] / 100.0) * 100.0
    assert quantization_step(values) == pytest.approx(step, rel=FINE)


@pytest.mark.parametrize("seed", range(6))
def test_levels_that_flicker_to_the_next_are_no_coarse_step(seed):
    rng = np.random.default_rng(seed)
    values = np.repeat([33000.0, 35000.0, 37000.0], 300)
    values[rng.choice(900, 90, replace=False)] += 25.0
    assert quantization_step(values) == pytest.approx(25.0)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.integers(20, 3000))
def test_continuous_readings_have_no_step(seed, count):
    rng = np.random.default_rng(seed)
    assert quantization_step(np.cumsum(rng.normal(size=count)) + 1e3) == 0.0


def test_two_levels_are_taken_for_neighbours_unless_one_is_a_single_reading():
    assert quantization_step(np.repeat([35000.0, 34975.0], 50)) == pytest.approx(25.0)
    assert quantization_step(np.r_[np.full(50, 35000.0), 1200.0]) == 0.0


@pytest.mark.parametrize("noise", [0.0, 1e-4, 0.05, 0.2])
@pytest.mark.parametrize("count", [49, 400])
def test_even_motion_at_even_times_is_no_step(noise, count):
    # Positions of a straight flight at 1 Hz, 66 m apart, with noise in shares of that.
    rng = np.random.default_rng(4)
    assert quantization_step(66.0 * (np.arange(count) + noise * rng.standard_normal(count))) == 0.0
    dropped = np.sort(rng.choice(count, round(0.9 * count), replace=False))
    found = quantization_step(
        66.0 * (dropped + max(noise, 0.01) * rng.standard_normal(dropped.size))
    )
    assert found == 0.0
