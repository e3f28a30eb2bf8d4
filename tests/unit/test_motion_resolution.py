"""What data can resolve: the formulas against simulation, and the flags."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.motion.observability import (
    FASTEST_ROLL,
    acceleration_sigma,
    observable,
    rate_sigma,
)

RNG = np.random.default_rng(8)


def fitted(degree: int, count: int, window: float, draws: int = 4000):
    """Highest coefficient of polynomials through noise of unit variance."""
    # Fixes in the middle of equal cells: N of them fill the window.
    time = (np.arange(count) + 0.5) / count * window
    design = np.vander(time - time.mean(), degree + 1)
    noise = RNG.standard_normal((count, draws))
    return np.linalg.lstsq(design, noise, rcond=None)[0][0]


@pytest.mark.parametrize(("count", "window"), [(16, 8.0), (40, 4.0), (100, 20.0)])
def test_acceleration_from_positions(count, window):
    simulated = (2.0 * fitted(2, count, window)).std()
    # 1/N^2 corrections are below 3 % from 16 fixes on; 4,000 draws add 1.1 %.
    assert acceleration_sigma(1.0, count, window) == pytest.approx(simulated, rel=0.06)


@pytest.mark.parametrize(("count", "window"), [(10, 8.0), (100, 20.0)])
def test_acceleration_from_rates(count, window):
    assert rate_sigma(1.0, count, window) == pytest.approx(fitted(1, count, window).std(), rel=0.06)


def paths(bank, load_factor, spread=0.01, samples=60):
    noise = spread * RNG.standard_normal((2, samples, 1))
    return {"bank_angle": bank + noise[0], "normal_load_factor": load_factor + noise[1]}


def test_bank_is_lost_near_zero_lift():
    load = np.ones(80)
    load[40:50] = 0.1
    seen = observable(paths(np.zeros(80), load), 0.25, np.ones(80, bool))
    assert not seen["bank_angle"][38:52].any()
    assert seen["bank_angle"][:30].all() and seen["bank_angle"][60:].all()
    assert seen["normal_load_factor"].all()


def test_bank_is_lost_in_a_fast_roll():
    bank = np.zeros(80)
    bank[40:48] = np.cumsum(np.full(8, 1.2 * FASTEST_ROLL * 0.25))
    bank[48:] = bank[47]
    seen = observable(paths(bank, np.ones(80)), 0.25, np.ones(80, bool))
    assert not seen["bank_angle"][38:50].any()
    assert seen["bank_angle"][:30].all() and seen["bank_angle"][60:].all()


def test_wide_bands_are_not_shown():
    seen = observable(paths(np.zeros(20), np.ones(20), spread=1.0), 0.25, np.ones(20, bool))
    assert not seen["bank_angle"].any() and not seen["normal_load_factor"].any()


def test_direction_bands_ignore_the_wrap():
    bank = np.full(30, np.pi)
    wrapped = paths(bank, np.ones(30))
    wrapped["bank_angle"] = np.mod(wrapped["bank_angle"] + np.pi, 2.0 * np.pi) - np.pi
    assert observable(wrapped, 0.25, np.ones(30, bool))["bank_angle"].all()
