"""Formulas of the motion held against numbers worked out by hand, one for each way to slip.

Sources are those of the formulas. Written for changes of one number or sign that no quick test
found (benchmarks/results/mutation.md).
"""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.motion import gusts, lift
from neutralpoint.motion.age import CHANGE, memory
from neutralpoint.motion.airdata import flight_paths
from neutralpoint.motion.chain import Levels
from neutralpoint.motion.estimate import _axis
from neutralpoint.motion.observability import LIMITS, acceleration_sigma, observable, rate_sigma
from neutralpoint.motion.onset import (
    EARLIER,
    EARLIER_SHARE,
    HIDDEN,
    HIDDEN_SHARE,
    KEPT,
    SHOWN_AT_ONCE,
    SIGNALS,
    Onsets,
    _possible,
    _widened,
    fault_begin,
    upset_onsets,
)
from neutralpoint.motion.regimes import NOISE, Regimes
from neutralpoint.motion.rows import KINDS, Rows
from neutralpoint.motion.smoother import _Vertical
from neutralpoint.quantities import GRAVITY


def rates_about(residual: float, node: int, nodes: int = 11) -> tuple[Rows, np.ndarray]:
    """One vertical rate that is off by so much, about a path that bends at 1.5 m/s2."""
    mean = np.zeros((nodes, 3))
    mean[:, 2] = 1.5
    one = np.ones(1)
    rows = Rows(
        kind=np.array([KINDS.index("vertical_rate")]), node=np.array([node]),
        design=np.array([[0.0, 1.0, 0.0]]), value=residual * one, variance=one, weight=0.5 * one,
        origin=np.zeros(1, int),
    )  # fmt: skip
    return rows, mean


def test_scatter_is_a_triangle_about_a_reading_less_what_is_its_own():
    rows, mean = rates_about(2.0, 5)
    found = gusts.scatter(rows, mean, own=0.1, jitter=0.2, step=1.0, window=2.0)
    excess = 4.0 - 0.1 - (2.0 * 0.2 * 1.5) ** 2
    shape = np.zeros(11)
    shape[3:8] = np.array([1.0, 2.0, 3.0, 2.0, 1.0]) / 3.0
    np.testing.assert_allclose(found, 0.5 * excess * shape / (1.0 + 0.5 * shape))
    # Less than its own is none, not less than none.
    assert not gusts.scatter(rows, mean, own=5.0, jitter=0.0, step=1.0, window=2.0).any()


@pytest.mark.parametrize(("usual", "own"), [(0.01, 0.05 + 1.44 / 12.0), (0.2, 0.6)])
def test_what_a_rate_scatters_of_itself_is_its_rounding_or_thrice_the_usual(
    monkeypatch, usual, own
):
    asked = []

    def scatter(rows, mean, *, own, jitter, step, window):
        asked.append((own, jitter))
        return np.full(4, usual)

    monkeypatch.setattr(gusts, "scatter", scatter)
    fitted = SimpleNamespace(
        time=np.arange(4.0), jitter=0.3, lag=SimpleNamespace(sigma=0.4), rows=(None, None),
        chains=(None, SimpleNamespace(mean=None)), step=1.0,
    )  # fmt: skip
    rate = SimpleNamespace(time=2.0 * np.arange(30.0), step=1.2)
    found = gusts.unseen_variance(fitted, rate)
    assert asked[0] == (0.0, pytest.approx(0.5)) and asked[1] == (pytest.approx(own), 0.5)
    np.testing.assert_allclose(found, usual * (3.7 / GRAVITY) ** 2 / 2.0)
    assert not gusts.unseen_variance(fitted, None).any()


def test_unseen_load_has_the_variance_asked_for():
    rng = np.random.default_rng(5)
    load = gusts.unseen_load(rng, (400, 400), np.full(400, 0.04), 0.1)
    assert load[:, 50:350].var() == pytest.approx(0.04, rel=0.05)
    assert not gusts.unseen_load(rng, (2, 3), np.zeros(3), 0.1).any()


def test_gusts_have_their_length_and_strength():
    rng = np.random.default_rng(6)
    wind = gusts.gust_wind(rng, (4000, 60), 2.0, np.full(4000, 100.0), 1.0)
    # Log-normal strength: the mean square is that of the median times exp(2 s^2).
    np.testing.assert_allclose(
        wind.var(axis=(0, 1)), 4.0 * math.exp(2.0 * 0.4**2) * np.ones(3), rtol=0.06
    )
    for axis, length in enumerate((400.0, 400.0, 150.0)):
        ahead, behind = wind[:, 1:, axis], wind[:, :-1, axis]
        found = (ahead * behind).mean() / (behind**2).mean()
        assert found == pytest.approx(math.exp(-100.0 / length), abs=0.02)


def test_weight_is_spread_over_the_time_before():
    """Each candidate hands its share to those before it, by exp(-time/20 s), adding up to it."""
    middle = np.array([0.0, 4.0, 10.0, 18.0])
    weight = np.array([0.2, 1e-6, 0.5, 0.3])
    expected = (1.0 - EARLIER_SHARE) * weight
    for k in (0, 2, 3):  # the second is below what is kept
        fading = np.exp((middle[: k + 1] - middle[k]) / EARLIER)
        expected[: k + 1] += EARLIER_SHARE * weight[k] * fading / fading.sum()
    assert weight[1] < KEPT * weight.max()
    np.testing.assert_allclose(_widened(middle, weight), expected)
    assert (EARLIER_SHARE, EARLIER) == (0.08, 20.0)


def test_a_fault_begins_before_it_shows():
    """Two exponentials, 3.5 s with four fifths of the weight and 25 s, every 0.5 s."""
    found = fault_begin(Onsets(np.array([200.0]), np.array([0.7]), 0.3))
    back = 200.0 - found.time
    density = 0.8 * np.exp(-back / 3.5) / 3.5 + 0.2 * np.exp(-back / 25.0) / 25.0
    density[back >= 120.0] = 0.0
    np.testing.assert_allclose(found.weight, 0.7 * density / density.sum())
    assert found.none == 0.3 and (SHOWN_AT_ONCE, HIDDEN, HIDDEN_SHARE) == (3.5, 25.0, 0.2)


def test_no_onset_in_a_short_record_or_on_the_ground():
    time = 0.25 * np.arange(12)
    paths = {name: np.ones((2, 12)) for name in SIGNALS}
    found = upset_onsets(time, paths)
    assert found.time.tolist() == [0.5 * time[-1]] and found.weight.tolist() == [0.0]
    assert found.none == 1.0
    time = 0.25 * np.arange(400)
    paths = {name: np.full((2, 400), 80.0 if "speed" in name else 1.0) for name in SIGNALS}
    taxi = upset_onsets(time, paths, np.ones(400, bool))
    assert taxi.time.size == 1 and taxi.weight.tolist() == [0.0] and taxi.none == 1.0


def test_candidates_stand_in_flight_ten_seconds_after_leaving_the_ground():
    time = np.arange(40.0)
    ground = time < 10.0
    found = _possible(np.array([5.0, 12.0, 19.5, 20.5, 35.0]), time, ground)
    assert found.tolist() == [False, False, False, True, True]


def test_fixes_stand_between_their_nodes():
    grid = 0.25 * np.arange(11)
    axis = _axis(grid, np.array([-1.0, 0.1, 0.1, 1.3, 2.45, 9.0]), 0.25)
    assert axis.left.tolist() == [0, 5, 9]
    np.testing.assert_allclose(axis.fraction, [0.4, 0.2, 0.8])
    values = np.stack([grid, grid**2])
    joined = axis.joined("altitude", values)
    np.testing.assert_allclose(joined[0], axis.time)
    at = np.flatnonzero(axis.is_fix)
    np.testing.assert_allclose(joined[1, at[2]], 0.2 * grid[9] ** 2 + 0.8 * grid[10] ** 2)


def test_a_share_of_quick_jerk_leaves_the_whole_drive_as_it_was():
    moved = []
    part = SimpleNamespace(share=0.5, move=moved.append)
    one = np.ones(2)
    levels = Levels(jerk=8.0 * one, freedom=one, kappa=one, kappa_freedom=one, weights=one)
    found = _Vertical._moved(part, levels, 2.0)
    np.testing.assert_allclose(found.jerk, 8.0 * 1.5 / 3.0)
    assert moved == [2.0]


def test_wild_forces_count_as_three_hundredths_of_g_times_three():
    assert CHANGE == 0.03
    values = 0.05 * np.sin(0.3 * np.arange(300))
    values[::50] = 0.4
    bounded = np.clip(values, -0.09, 0.09)
    total, square = 1.0, (bounded**2).mean()
    for lag in range(1, 60):
        correlation = (bounded[lag:] * bounded[:-lag]).mean() / square
        if correlation <= 0.0:
            break
        total += 2.0 * correlation
    assert memory(values, 0.5) == pytest.approx(0.5 * total)


def test_regimes_hold_or_change_from_the_end_backward():
    chance = np.array([[[0.5, 0.2, 0.3], [0.1, 0.8, 0.1], [0.0, 1.0, 0.0]]])
    held = Regimes(
        node=np.array([2, 4, 7]), chance=chance, noise=np.ones(1),
        share=np.tile(np.eye(3), (3, 1, 1)),
    )  # fmt: skip
    factor, history = held.drawn(np.random.default_rng(1))
    assert factor == NOISE[0] and history.tolist() == [1, 1, 1]
    # Nothing holds: each is drawn by its own chance.
    free = replace(held, share=np.full((3, 3, 3), 1.0 / 3.0), chance=np.eye(3)[None])
    assert free.drawn(np.random.default_rng(1))[1].tolist() == [0, 1, 2]
    assert held.between(np.array([0, 1, 2]), 9).tolist() == [0, 0, 1, 1, 2, 2, 2, 2]
    # Half way: of 4,000 draws the first regime is that of the second in .5 + .5/3 on the mean.
    mixed = np.tile(0.5 * np.eye(3) + 0.5 / 3.0, (3, 1, 1))
    half = replace(held, share=mixed, chance=np.full((1, 3, 3), 1.0 / 3.0))
    rng = np.random.default_rng(2)
    same = [h[0] == h[1] for h in (half.drawn(rng)[1] for _ in range(4000))]
    assert np.mean(same) == pytest.approx(2.0 / 3.0, abs=0.03)  # four standard errors


def test_a_moment_counts_as_the_mean_of_its_fixes():
    """Fixes 3 s apart, a grid of 1 s: six nodes either side of a wide one."""
    name = "normal_load_factor"
    rng = np.random.default_rng(1)
    paths = {n: 1e-6 * rng.standard_normal((400, 41)) for n in (name, "bank_angle")}
    paths[name] += 1.0
    paths[name][:200, 20] += 30.0 * LIMITS[name]
    grid = np.ones(41, bool)
    assert np.flatnonzero(~observable(paths, 1.0, grid, 3.0)[name]).tolist() == list(range(14, 27))
    assert np.flatnonzero(~observable(paths, 1.0, grid, 1.5)[name]).tolist() == [20]


def test_errors_of_accelerations_are_those_of_least_squares():
    """Slope and curvature of equally spaced readings, by the inverse of the normal equations."""
    count, window = 200, 8.0
    time = (np.arange(count) - 0.5 * (count - 1)) * window / count
    line = np.linalg.inv(np.vander(time, 2).T @ np.vander(time, 2))[0, 0]
    parabola = np.linalg.inv(np.vander(time, 3).T @ np.vander(time, 3))[0, 0]
    assert rate_sigma(0.3, count, window) == pytest.approx(0.3 * math.sqrt(line), rel=1e-3)
    expected = 2.0 * 5.0 * math.sqrt(parabola)  # the acceleration is twice the curvature
    assert acceleration_sigma(5.0, count, window) == pytest.approx(expected, rel=1e-3)


def still_air(height: np.ndarray) -> SimpleNamespace:
    """Air at rest of 15 degrees, exactly known."""

    def draw(rng, altitude, time):
        calm = np.zeros_like(altitude)
        return calm, calm, np.full_like(altitude, 288.15)

    return SimpleNamespace(draw=draw)


def test_air_data_of_level_flight(monkeypatch):
    """100 m/s east at sea level, standard air: 1.225 kg/m3; energy height V^2/2g (definition)."""
    from neutralpoint.motion import airdata

    monkeypatch.setattr(airdata, "gust_wind", lambda rng, shape, *a: np.zeros((*shape, 3)))
    monkeypatch.setattr(airdata, "VERTICAL_WIND_SIGMA", 0.0)
    asked = {}

    def angle(data, drawn, **given):
        asked.update(given)
        return lift.angle_of_attack(data, drawn, **given)

    monkeypatch.setattr(airdata, "angle_of_attack", angle)
    horizontal, vertical = np.zeros((1, 9, 6)), np.zeros((1, 9, 5))
    horizontal[..., 4] = 100.0
    frame = SimpleNamespace(
        to_geographic=lambda north, east: (0.8 + 0.0 * north, 0.0 * east),
        stretch=lambda latitude, height: (1.0 + 0.0 * latitude, 1.0 + 0.0 * latitude),
    )
    ground = SimpleNamespace(
        horizontal=horizontal, vertical=vertical, time=np.arange(9.0), frame=frame
    )
    data = lift.LiftData(4000.0, 25.0, 5.0, -0.03, 1.4)
    found = flight_paths(
        ground, weather=still_air(vertical), altitude=np.zeros((1, 9)), lift=data,
        rng=np.random.default_rng(1), step=1.0, rough=0.0, unseen=np.zeros(9),
    )  # fmt: skip
    pressure = 0.5 * 1.225 * 1e4
    np.testing.assert_allclose(asked["dynamic_pressure"], pressure, rtol=1e-4)
    np.testing.assert_allclose(found["dynamic_pressure"], pressure, rtol=1e-4)
    np.testing.assert_allclose(found["specific_energy_height"], 1e4 / (2.0 * GRAVITY))
    np.testing.assert_allclose(found["mach"], 100.0 / 340.294, rtol=1e-5)
    np.testing.assert_allclose(found["calibrated_airspeed"], 100.0, rtol=1e-4)
    np.testing.assert_allclose(found["ground_speed"], 100.0)
    np.testing.assert_allclose(found["track_angle"], 0.5 * math.pi)
    np.testing.assert_allclose(found["heading_of_air_velocity"], 0.5 * math.pi)
    np.testing.assert_allclose(found["flight_path_angle"], 0.0, atol=1e-12)
    # The earth turns with the airplane that flies east: it weighs some thousandths less.
    np.testing.assert_allclose(found["normal_load_factor"], 1.0, atol=5e-3)
    np.testing.assert_allclose(found["pitch_angle"], found["angle_of_attack"], atol=2e-3)
