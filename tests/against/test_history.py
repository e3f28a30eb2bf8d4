"""Spectra, periods, damping and changes against SciPy, a textbook and a general library.

Sources: SciPy `scipy.signal.welch` and `cont2discrete`; F. W. Lanchester, Aerodonetics (1908), as
in every textbook of flight mechanics: period of the phugoid T = pi sqrt(2) V / g; `ruptures`
(Truong, Oudre and Vayatis, Signal Processing 167 (2020) 107299), exact search for one change.
"""

from __future__ import annotations

import numpy as np
import pytest
from history_flights import STEPS, joined_flights
from scipy.signal import cont2discrete, lfilter, welch

from neutralpoint.history import spectra
from neutralpoint.history.changes import find_change
from neutralpoint.history.cutting import GRID
from neutralpoint.history.generated import stepped
from neutralpoint.history.measures import measure
from neutralpoint.quantities import FOOT, FOOT_PER_MINUTE, GRAVITY, KNOT


def test_spectrum_is_that_of_scipy():
    """The same segments, taper and scale; straight lines are taken off both.

    Source: SciPy, `scipy.signal.welch`; Welch, IEEE Trans. AU-15 (1967) 70-73.
    """
    series = np.random.default_rng(1).standard_normal(4096).cumsum() * 0.1
    start = np.arange(0, series.size - spectra.LENGTH + 1, spectra.HOP)
    windows = np.lib.stride_tricks.sliding_window_view(series, spectra.LENGTH)[start]
    ours = spectra.periodograms(spectra.trend_free(windows)).mean(axis=0)
    _, theirs = welch(
        series,
        1.0 / GRID,
        window=spectra.HANN,
        nperseg=spectra.LENGTH,
        noverlap=spectra.LENGTH - spectra.HOP,
        detrend="linear",
    )
    np.testing.assert_allclose(ours[1:-1], theirs[1:-1], rtol=1e-9)  # rounding


def phugoid(speed: float, seconds: float) -> dict[str, np.ndarray]:
    """Lanchester's glider with thrust equal to drag: his equations, integrated in small steps."""
    step, v, path, height, rows = 0.02, speed * 1.02, 0.0, 4000.0, []
    for k in range(int(seconds / step)):
        if k % 50 == 0:
            rows.append((height, v * np.sin(path), v * np.cos(path)))
        v_half = v - 0.5 * step * GRAVITY * np.sin(path)
        path += step * GRAVITY / v_half * ((v_half / speed) ** 2 - np.cos(path))
        v = v_half - 0.5 * step * GRAVITY * np.sin(path)
        height += step * v * np.sin(path)
    height, rate, ground = np.array(rows).T
    return {
        "time": 1.9e9 + np.arange(height.size, dtype=float),
        "pressure_altitude": stepped(height, 25.0 * FOOT),
        "vertical_rate": stepped(rate, 64.0 * FOOT_PER_MINUTE),
        "ground_speed": stepped(ground, KNOT),
        "track_angle": np.zeros(height.size),
    }


@pytest.mark.parametrize("speed", [60.0, 90.0, 130.0, 160.0])
def test_phugoid_has_lanchesters_period(speed):
    """Within three stated standard deviations or 3%: an amplitude of 2% of the speed.

    Source: Lanchester, Aerodonetics (1908): T = pi sqrt(2) V / g.
    """
    found = measure(joined_flights([phugoid(speed, 2000.0)], [0]), STEPS)
    period, error = found.values["cruise_period"][:, 0]
    book = np.pi * np.sqrt(2.0) * speed / GRAVITY
    assert abs(period - book) < max(3.0 * error, 0.03 * book)
    # V sin(path) of a swing of 2 % of the speed: w = V * 0.02 * sqrt(2) (energy).
    amplitude = found.values["cruise_amplitude"][0, 0]
    assert amplitude == pytest.approx(speed * 0.02 * np.sqrt(2.0), rel=0.1)


@pytest.mark.parametrize(("period", "damping"), [(26.0, 0.03), (26.0, 0.1), (45.0, 0.1)])
def test_damping_of_a_driven_oscillator(period, damping):
    """A second-order system discretized by SciPy, driven by white noise, under noise.

    Source: SciPy, `scipy.signal.cont2discrete`, of the textbook oscillator.
    """
    rng, turn = np.random.default_rng(8), 2.0 * np.pi / period
    plant = (np.array([[0, 1], [-(turn**2), -2 * damping * turn]]), np.array([[0.0], [1.0]]))
    state, *_ = cont2discrete((*plant, np.eye(2), np.zeros((2, 1))), GRID / 4)
    poles = [1.0, -np.trace(state), np.linalg.det(state)]
    found = []
    for _ in range(12):
        series = lfilter([1.0], poles, rng.standard_normal(4 * 3000))[::4]
        series = series / series.std() + 0.1 * rng.standard_normal(3000)
        windows = np.lib.stride_tricks.sliding_window_view(series, spectra.LENGTH)[:: spectra.HOP]
        mean = spectra.periodograms(spectra.trend_free(windows)).mean(axis=0)[None]
        one = np.ones(1)
        seen = spectra.oscillations(
            mean, one * len(windows), np.full_like(mean, 0.04), 0.0 * one, 6.0 * one
        )
        found.append([*seen.period[:, 0], *seen.damping[:, 0]])
    found = np.array(found)
    # Within three of the stated errors in nearly all, and right in the mean to a third or 0.02.
    assert np.mean(np.abs(found[:, 0] - period) < 3.0 * found[:, 1]) > 0.9
    assert np.mean(np.abs(found[:, 2] - damping) < 3.0 * found[:, 3]) > 0.9
    assert np.mean(found[:, 2]) == pytest.approx(damping, abs=max(0.02, damping / 3.0))


def test_change_is_where_ruptures_finds_it():
    """Source: ruptures 1.1, `Dynp` (Truong, Oudre and Vayatis, Signal Processing 167 (2020))."""
    ruptures = pytest.importorskip("ruptures")
    rng = np.random.default_rng(4)
    for size in (1.0, 2.0, 4.0):
        for at in (15, 40):
            values = rng.standard_normal(60)
            values[at:] += size
            found = find_change(values, 0.5)
            theirs = ruptures.Dynp(model="l2", min_size=4, jump=1).fit(values).predict(n_bkps=1)[0]
            assert found.at == theirs
