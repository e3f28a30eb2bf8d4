"""Rows, processes and paths of the motion against closed forms, one for each way to slip.

Sources are those of the formulas: a first-order process of drive D and time T has the variance
D T/2, a critically damped second-order one D T^3/4 (any text on random vibration); a uniform error
has the variance step^2/12; the rest is algebra. Written for changes of one number or sign that no
quick test found (benchmarks/results/mutation.md).
"""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.motion import chain as chains
from neutralpoint.motion import estimate
from neutralpoint.motion.bounds import check_bounds
from neutralpoint.motion.chain import Chain, Levels
from neutralpoint.motion.gaps import Thinning
from neutralpoint.motion.guide import first_guide, refined
from neutralpoint.motion.horizontal import (
    Guide,
    horizontal_rows,
    nominal,
    position_rows,
    rounded_position_rows,
    speed_rows,
    track_rows,
)
from neutralpoint.motion.lift import LiftData, draw_lift
from neutralpoint.motion.parameter import ParameterEstimate
from neutralpoint.motion.process import horizontal_family, vertical_family
from neutralpoint.motion.regimes import OVER_GROUND, _grid, _mixed, _updated, chances, sizes
from neutralpoint.motion.rows import KINDS, Rows
from neutralpoint.motion.smoother import (
    Paths,
    Smoother,
    _Horizontal,
    _Part,
    _Vertical,
    level_window,
)
from neutralpoint.motion.vertical import altitude_rows, rate_rows
from neutralpoint.track import Observations, Track

# Plane coordinates are the readings themselves; a scaled metre is 2 m north and 3 m east.
FRAME = SimpleNamespace(
    to_plane=lambda north, east: (north, east),
    to_geographic=lambda north, east: (1e-6 * north, 1e-6 * east),
    stretch=lambda latitude, height: (2.0 + 0.0 * latitude, 3.0 + 0.0 * latitude),
)


def seen(value, step=0.0, time=None, suspect=(), sigma=None) -> Observations:
    value = np.asarray(value, float)
    count = len(value)
    time = np.arange(float(count)) if time is None else np.asarray(time, float)
    doubtful = np.isin(np.arange(count), suspect)
    row = np.arange(count)
    return Observations(time, value, step, row, 0 * row, doubtful, sigma)


def guide_of(direction=0.0, speed=40.0, nodes=20, step=0.5) -> Guide:
    one = np.ones(nodes)
    return Guide(0.0, step, direction * one, speed * one, 0.0 * one, 0.0 * one)


def test_parts_of_the_acceleration_over_the_ground_have_the_variance_asked_for():
    family = horizontal_family(0.25, np.array([[0.04, 0.25], [1.0, 0.0]]))
    _, noise = family.over(2048)
    for whole, slow in ((2, 6), (5, 7)):
        assert noise[0][whole, whole] == pytest.approx(0.29)
        assert noise[0][[slow, whole], slow].tolist() == pytest.approx([0.04, 0.04])
        assert noise[1][[whole, slow], [whole, slow]].tolist() == pytest.approx([1.0, 1.0])
    assert noise[0][2, 5] == pytest.approx(0.0, abs=1e-12)
    # What hands do dies away in 4 s at the slow part, and that in 20 s.
    move, _ = family.over(8)
    assert move[[2, 5], [2, 5]].tolist() == pytest.approx([math.exp(-0.5)] * 2)
    assert move[[2, 5], [6, 7]].tolist() == pytest.approx([math.exp(-0.1) - math.exp(-0.5)] * 2)
    assert move[[0, 3], [1, 4]].tolist() == pytest.approx([2.0, 2.0])


def test_parts_of_the_acceleration_upward_have_the_variance_asked_for():
    family = vertical_family(0.25, 0.7, np.array([[0.04, 0.25, 1.44]]))
    noise = family.over(2048)[1][0]
    assert noise[4, 4] == pytest.approx(0.04)
    assert noise[5, 5] == pytest.approx(1.44, rel=1e-5)
    assert noise[6, 6] == pytest.approx(1.44 / 1.4**2, rel=1e-5)
    assert noise[2, 2] == pytest.approx(0.04 + 0.25 + 1.44 / 1.4**2, rel=1e-5)
    move, _ = family.over(4)
    assert move[3, 3] == pytest.approx(math.exp(-1.0 / 0.7))
    share = 1.0 / 1.4
    assert move[5, 5] == pytest.approx(math.exp(-share) * (1.0 + share))
    assert move[6, 5] == pytest.approx(-math.exp(-share) * share / 1.4)
    assert move[2, 2] == pytest.approx(math.exp(-0.5))


def test_each_step_has_the_noise_of_its_regime():
    family = horizontal_family(0.5, np.array([[0.04, 0.25], [1.0, 2.0]]))
    process = family.process(np.array([1, 3]), np.array([0, 1]))
    np.testing.assert_allclose(process.transition[1], family.over(3)[0])
    for k, (steps, which) in enumerate(((1, 0), (3, 1))):
        noise = family.over(steps)[1][which]
        np.testing.assert_allclose(process.inverse_noise[k] @ noise, np.eye(8), atol=1e-6)


def test_coarse_positions_are_runs_and_boundaries():
    """Two runs of four readings 100 m apart; flight north at 40 m/s, 0.05 s of it are 2 m."""
    north = np.repeat([0.0, 100.0], 4)
    place = seen(np.stack([north, np.full(8, 7.0)], axis=1), suspect=[3])
    rows = rounded_position_rows(place, FRAME, guide_of(), (100.0, 0.0))
    assert rows.kind.tolist() == [KINDS.index("position_rounded")] * 17
    axis, edge, across = slice(0, 8), 8, slice(9, 17)
    doubt = np.where(np.arange(8) == 3, 1e4, 1.0)
    np.testing.assert_allclose(rows.variance[axis], (4.0 * 1e4 / 12.0 * 4.0 + 25.0 + 4.0) * doubt)
    np.testing.assert_allclose(rows.weight[axis], 0.25)
    np.testing.assert_allclose(rows.value[axis], 2.0 * north)
    np.testing.assert_allclose(rows.design[axis, 0], 2.0)
    # The boundary was crossed within the second between the runs, at 100 m in 4 s.
    assert rows.variance[edge] == pytest.approx((25.0**2 / 12.0 * 4.0 + 29.0) * 1e4)
    assert rows.weight[edge] == 1.0 and rows.value[edge] == 100.0 and rows.node[edge] == 7
    assert rows.origin[edge] == 3
    np.testing.assert_allclose(rows.variance[across], 25.0 * doubt)
    np.testing.assert_allclose(rows.value[across], 21.0)
    np.testing.assert_allclose(rows.design[across, 3], 3.0)
    assert not rows.design[across, 0].any() and not rows.design[axis, 3].any()


def test_positions_are_read_along_and_across_the_flight():
    place = seen([[10.0, 20.0], [11.0, 22.0]], time=[0.0, 1.2], suspect=[1])
    rows = position_rows(place, FRAME, guide_of(direction=0.6))
    cosine, sine = math.cos(0.6), math.sin(0.6)
    np.testing.assert_allclose(rows.value[:2], [20.0 * cosine + 60.0 * sine,
                                                22.0 * cosine + 66.0 * sine])  # fmt: skip
    np.testing.assert_allclose(rows.value[2:], [-20.0 * sine + 60.0 * cosine,
                                                -22.0 * sine + 66.0 * cosine])  # fmt: skip
    np.testing.assert_allclose(rows.variance, [29.0, 29e4, 25.0, 25e4])
    np.testing.assert_allclose(rows.design[1, :3], 2.0 * cosine * np.array([1.0, 0.2, 0.02]))
    np.testing.assert_allclose(rows.design[3, 3:6], 3.0 * cosine * np.array([1.0, 0.2, 0.02]))
    assert rows.weight.tolist() == [1.0] * 4 and rows.node.tolist() == [0, 2, 0, 2]


def test_speeds_and_tracks_are_velocities_of_a_while_ago():
    guide = guide_of(direction=0.6)
    guide.speed[6] = 3.0  # below which a direction means nothing
    time, count = [1.0, 2.0, 3.0], np.array([2.0, 2.0, 1.0])
    speeds = speed_rows(seen([100.0, 100.0, 103.0], 1.0, time), FRAME, guide, 0.2)
    assert speeds.node.tolist() == [2, 4, 6]
    north, east = 2.0 * math.cos(0.6), 3.0 * math.sin(0.6)
    np.testing.assert_allclose(speeds.design[:, 1], north)
    np.testing.assert_allclose(speeds.design[:, 2], -0.2 * north)
    np.testing.assert_allclose(speeds.design[:, 4], east)
    np.testing.assert_allclose(speeds.design[:, 5], -0.2 * east)
    assert not speeds.design[:, [0, 3, 6, 7]].any()
    np.testing.assert_allclose(speeds.variance, 0.09 + count / 12.0)
    np.testing.assert_allclose(speeds.weight, 1.0 / count)
    assert speeds.value.tolist() == [100.0, 100.0, 103.0]
    tracks = track_rows(seen([0.3, 0.3, 0.5], 0.1, time), FRAME, guide, 0.2)
    assert not tracks.value.any() and tracks.node.tolist() == [2, 4, 6]
    np.testing.assert_allclose(
        tracks.variance,
        np.array([1600.0, 1600.0, 25e4]) * (0.003**2 + count * 0.01 / 12.0),
    )
    np.testing.assert_allclose(tracks.design[0, [1, 4]], [-2.0 * math.sin(0.3),
                                                         3.0 * math.cos(0.3)])  # fmt: skip


def test_altitudes_and_rates_carry_their_rounding():
    guide = guide_of()
    rows = altitude_rows(seen([0.0, 0.0, 30.0, 30.0], 30.0, suspect=[0]), guide)
    np.testing.assert_allclose(rows.variance[:4], (1.0 + 2.0 * 75.0) * np.array([1e4, 1, 1, 1]))
    # A boundary crossed within 1 s, at 30 m in 2 s.
    assert rows.variance[4] == pytest.approx(1.0 + 15.0**2 / 12.0) and rows.value[4] == 15.0
    scale = np.linspace(1.0, 1.19, 20)
    rates = rate_rows(seen([5.0, 5.0, 6.0], 0.6, [1.0, 1.2, 3.0]), guide, lag=0.4, scale=scale)
    count = np.array([2.0, 2.0, 1.0])
    np.testing.assert_allclose(rates.variance, 0.09 + count * 0.03)
    np.testing.assert_allclose(rates.weight, 1.0 / count)
    at = scale[[2, 2, 6]]
    np.testing.assert_allclose(rates.design[:, 1], at * np.array([0.0, 0.5, 0.0]))
    np.testing.assert_allclose(rates.design[:, 3], at * np.array([1.0, 0.5, 1.0]))


def test_a_stated_accuracy_counts_against_the_others():
    stated = seen([1.0, 2.0, 3.0], sigma=np.array([2.0, 4.0, np.nan]))
    np.testing.assert_allclose(nominal(stated, 6.0), [4.0, 8.0, 6.0])
    none = seen([1.0, 2.0], sigma=np.full(2, np.nan))
    assert nominal(none, 6.0).tolist() == [6.0, 6.0]


def track_of(north, east, **more) -> Track:
    places = seen(np.stack([north, east], axis=1))
    return SimpleNamespace(
        fixes=places, altitudes=seen(100.0 + 2.0 * places.time),
        **{"track_angle": None, "ground_speed": None} | more,
    )  # fmt: skip


def test_the_first_guide_takes_differences_over_three_seconds_either_side():
    time = np.arange(21.0)
    found = first_guide(track_of(time**2, 0.0 * time), FRAME, 0.0, 0.5, 41)
    np.testing.assert_allclose(found.speed[6:-6:2], 4.0 * time[3:-3])  # of t^2, stretched by 2
    assert found.speed[0] == pytest.approx(2.0 * 9.0 / 3.0)
    np.testing.assert_allclose(found.direction, 0.0)
    np.testing.assert_allclose(found.height, 100.0 + np.arange(41.0))
    np.testing.assert_allclose(found.latitude[::2], time**2)
    turned = seen([6.2, 6.2 + 0.2 - 2.0 * math.pi], time=[0.0, 20.0])
    told = track_of(
        time, 4.0 * time, track_angle=turned, ground_speed=seen([10.0, 30.0], 0.0, [0.0, 20.0])
    )
    found = first_guide(told, FRAME, 0.0, 0.5, 41)
    np.testing.assert_allclose(found.direction, 6.2 + 0.2 * np.arange(41) / 40.0)
    np.testing.assert_allclose(found.speed, 10.0 + np.arange(41) / 2.0)
    plain = first_guide(track_of(time, 4.0 * time), FRAME, 0.0, 0.5, 41)
    np.testing.assert_allclose(plain.direction, math.atan2(12.0, 2.0))
    np.testing.assert_allclose(plain.speed, math.hypot(2.0, 12.0))


def test_a_guide_is_refined_about_the_fitted_states():
    mean = np.zeros((2, 8))
    mean[0, :6] = [5.0, 10.0, 9.0, 7.0, -5.0, 9.0]
    mean[1, 1] = 2.0  # 4 m/s: its direction stays
    found = refined(guide_of(direction=0.6, nodes=2), FRAME, mean)
    np.testing.assert_allclose(found.speed, [25.0, 4.0])
    np.testing.assert_allclose(found.direction, [math.atan2(-15.0, 20.0), 0.6])
    np.testing.assert_allclose(found.latitude, [5e-6, 0.0])


class Ones:
    """A source of random numbers that always says one, or none."""

    def __init__(self, value: float = 1.0) -> None:
        self.value = value

    def standard_normal(self, shape):
        return np.full(shape, self.value)

    def normal(self, middle, sigma, size):
        return np.full(size, middle + self.value * sigma)


@pytest.mark.parametrize("drawn", [0.0, 1.0])
def test_noise_levels_are_drawn_as_their_freedom_says(monkeypatch, drawn):
    """A smoothed row of ones is one times the factor that gives noise unit variance."""
    asked = {}

    def posterior(process, rows, prior, jerk, variance):
        asked.update(jerk=jerk, variance=variance)
        return SimpleNamespace(deviations=lambda rng, count: np.zeros((count, 9, 3))), np.ones(
            (9, 3)
        )

    monkeypatch.setattr(chains, "posterior", posterior)
    kinds = len(KINDS)
    levels = Levels(
        jerk=np.full(40, 3.0), freedom=np.full(40, 2.0), kappa=np.full(kinds, 5.0),
        kappa_freedom=np.full(kinds, 8.0), weights=np.array([0.5]),
    )  # fmt: skip
    one = np.ones(1)
    rows = Rows(
        np.array([0]), np.array([4]), np.ones((1, 3)), one, 2.0 * one, one, np.zeros(1, int)
    )
    paths = chains.sample_chain(
        None, rows, np.ones(3), Chain(np.ones((9, 3)), levels, one, 1, True),
        thin=Thinning(np.arange(41), 41, 0.5), window=3.0, rng=Ones(drawn), count=2,
        extra=lambda mean, kappa: 0.25 * kappa[:1],
    )  # fmt: skip
    assert paths.shape == (2, 9, 3)
    root = math.sqrt(math.pi)
    local = drawn * math.sqrt(2.0 * 3.0 * root)  # half of 3 s in steps of 0.5 s
    slow = drawn * math.sqrt(2.0 * 40.0 * root)  # 20 s
    # Further than 3 s from the reading, at node 4, the level wanders by a variance of 2 at most.
    away = np.maximum(np.abs(np.arange(40) - 4) * 0.5 - 3.0, 0.0)
    wandered = np.sqrt(np.minimum(0.1 * away, 2.0))
    np.testing.assert_allclose(asked["jerk"], 3.0 * math.exp(0.5) * np.exp(local + slow * wandered))
    kappa = 5.0 * math.exp(0.5 * drawn)
    np.testing.assert_allclose(asked["variance"], (2.0 * kappa + 0.25 * kappa) / 0.5)


def test_smooth_noise_has_unit_variance_and_its_width():
    found = chains._smooth_normal(np.random.default_rng(4), 40_000, 4.0)
    assert found.var() == pytest.approx(1.0, abs=0.1)  # four standard errors
    apart = (found[6:] * found[:-6]).mean() / found.var()
    assert apart == pytest.approx(math.exp(-36.0 / 64.0), abs=0.06)
    assert chains._distance(np.array([2, 5, 2]), 8).tolist() == [2, 1, 0, 1, 1, 0, 1, 2]


def test_a_steady_flight_has_a_steady_jerk_level():
    """18 s of what there was over 3 s, a tenth of the usual, and what was seen in a triangle."""
    steps = np.ones(60)
    level, freedom = chains._update_jerk(
        0.7 * steps, np.full(61, 0.3), 2.0 * steps, step=1.0, window=3.0, calm=1e-3
    )
    np.testing.assert_allclose(freedom, 6.0 + 0.1 + 4.0 * 0.3)
    usual = 0.03 * 0.3**2
    np.testing.assert_allclose(level, (6.0 * 2.0 + 0.1 * usual + 4.0 * 0.7) / 7.3)
    # Through a gap the level goes straight, in its logarithm, from one side to the other.
    shown, there = np.zeros(61), np.r_[0:6, 55:61]
    shown[there] = 0.3
    before = np.geomspace(0.1, 10.0, 60)
    level, _ = chains._update_jerk(0.0 * steps, shown, before, step=1.0, window=3.0, calm=1e-6)
    np.testing.assert_allclose(np.diff(np.log(level[9:51]), 2), 0.0, atol=1e-9)
    assert chains._local(np.eye(9)[4], 1.0, 2.0).tolist() == pytest.approx(
        [0, 0, 1 / 3, 2 / 3, 1, 2 / 3, 1 / 3, 0, 0]
    )


def test_a_noise_factor_is_misfit_over_freedom_with_two_readings_at_the_nominal_level():
    kind = np.array([0, 0, 1])
    rows = SimpleNamespace(kind=kind, weight=np.array([1.0, 0.5, 1.0]))
    kappa = np.full(len(KINDS), 3.0)
    found, freedom = chains._update_kappa(
        rows, kappa, np.array([4.0, 2.0, 1.0]), np.array([0.5, 0.2, 1.0]), np.full(len(KINDS), 0.5)
    )
    assert freedom[:3].tolist() == pytest.approx([0.5 + 0.4 + 2.0, 0.02 + 2.0, 2.0])
    assert found[:3].tolist() == pytest.approx([(3.0 * 5.0 + 2.0) / 2.9, (3.0 + 2.0) / 2.02, 1.0])


def test_regimes_are_every_combination_with_the_product_of_its_chances():
    values, chance = _grid(({0.1: 1.0, 0.4: 3.0}, {0.5: 1.0, 2.0: 1.0}))
    np.testing.assert_allclose(values, [[0.01, 0.25], [0.01, 4.0], [0.16, 0.25], [0.16, 4.0]])
    np.testing.assert_allclose(chance, [0.125, 0.125, 0.375, 0.375])
    # Of 210 s an ordinary manner lasts 150; its quickest hands have a chance of .2 in 2.2.
    found = chances(OVER_GROUND)
    assert found[:6].sum() == pytest.approx(150.0 / 210.0) and found.sum() == pytest.approx(1.0)
    assert found[2] == pytest.approx(150.0 / 210.0 * 0.5 * 0.2 / 2.2)
    assert sizes(OVER_GROUND)[2].tolist() == pytest.approx([0.01, 2.25])
    assert len(found) == len(sizes(OVER_GROUND)) == 6 + 12


def test_mixing_regimes_keeps_mean_and_covariance_of_them_all():
    """Moments of a mixture do not depend on how its parts are dealt out."""
    rng = np.random.default_rng(8)
    chance = rng.dirichlet(np.ones(3))[None]
    share = rng.dirichlet(np.ones(3), 3)
    state, root = rng.standard_normal((1, 3, 2)), rng.standard_normal((1, 3, 2, 2))
    cover = root @ np.swapaxes(root, -1, -2)

    def moments(state, cover, chance):
        mean = np.einsum("ki,kid->kd", chance, state)
        off = state - mean[:, None]
        return mean, np.einsum(
            "ki,kide->kde", chance, cover + off[..., :, None] * off[..., None, :]
        )

    mixed = _mixed(state, cover, chance, share)
    np.testing.assert_allclose(mixed[2], chance @ share)
    for found, expected in zip(moments(*mixed), moments(state, cover, chance), strict=True):
        np.testing.assert_allclose(found, expected)


def test_a_reading_moves_a_state_by_its_gain():
    """Kalman's filter with one state of variance 4 and a reading 2 x of variance 9."""
    state, cover = np.full((1, 1, 1), 3.0), np.full((1, 1, 1, 1), 4.0)
    found = _updated(state, cover, np.array([2.0]), 11.0, np.array([9.0]))
    assert found[0].item() == pytest.approx(3.0 + 8.0 / 25.0 * 5.0)
    assert found[1].item() == pytest.approx(4.0 * 9.0 / 25.0)
    assert found[2].item() == pytest.approx(-0.5 * (1.0 + math.log(25.0)))


def parabola(time, size):
    """States of 1 + 2 t + 1.5 t^2, a group of three after the other."""
    group = np.stack([1.0 + 2.0 * time + 1.5 * time**2, 2.0 + 3.0 * time, 3.0 + 0.0 * time], -1)
    return np.concatenate([group, group, np.ones((time.size, 2))], axis=1)[:, :size]


def test_a_younger_path_is_carried_on_by_its_rates():
    time = 0.25 * np.arange(20)
    ages = np.array([1.0, -0.75])
    found = estimate._younger(np.stack([parabola(time, 8)] * 2), ages, 0.25)
    for path, age in zip(found, ages, strict=True):
        np.testing.assert_allclose(path, parabola(time + age, 8))
    between = estimate._younger(parabola(time, 8)[None], np.array([0.125]), 0.25)[0, 3]
    middle = 0.5 * (parabola(time[3:4], 8) + parabola(time[4:5], 8))[0]
    np.testing.assert_allclose(between, middle)


def test_altitudes_are_older_than_positions_by_their_own_lag():
    time = 0.25 * np.arange(20)
    paths = Paths(time, parabola(time, 8)[None], parabola(time, 5)[None], FRAME, None)
    age, lag = ParameterEstimate(0.25, 0.25), ParameterEstimate(0.5, 0.25)
    for drawn, position, altitude in ((0.0, 0.25, 0.75), (1.0, 0.5, 1.25)):
        found = estimate._without_age(paths, age, lag, Ones(drawn), 0.25)
        np.testing.assert_allclose(found.horizontal[0], parabola(time + position, 8))
        np.testing.assert_allclose(found.vertical[0, :, :3], parabola(time + altitude, 3))


def test_what_all_positions_and_heights_are_off_by():
    places = seen([[0.0, 0.0]] * 3)
    assert estimate._bias(places, {"position_cross": 2.0}) == 3.3
    assert estimate._bias(places, {"position_rounded": 40.0}) == 40.0
    assert estimate._bias(places, {"position_cross": 5.0, "position_rounded": 40.0}) == 5.0
    stated = replace(places, sigma=np.array([7.0, 9.0, np.nan]))
    assert estimate._bias(stated, {"position_cross": 2.0}) == 8.0
    horizontal, vertical = np.zeros((2, 3, 8)), np.zeros((2, 3, 5))
    horizontal[..., 1], horizontal[..., 4] = 30.0, 40.0
    horizontal[1, :, 4], vertical[0, :, 1] = 0.0, 120.0
    paths = Paths(np.arange(3.0), horizontal, vertical, FRAME, None)
    moved = estimate._moved(paths, np.array([[1.0, 2.0], [3.0, 4.0]]))
    assert moved.horizontal[:, 1, [0, 3]].tolist() == [[1.0, 3.0], [2.0, 4.0]]
    assert estimate._shifted(paths, np.array([5.0, 6.0])).vertical[:, 2, 0].tolist() == [5.0, 6.0]
    # Speeds of 130 and 30 m/s, median 80: the static source errs with their square.
    found = estimate._corrected(paths, ParameterEstimate(20.0, 2.0), Ones())
    np.testing.assert_allclose(
        found.vertical[:, 0, 0], [-22.0 * (130.0 / 80.0) ** 2, -22.0 * (30.0 / 80.0) ** 2]
    )


def test_on_a_coarse_grid_a_fix_in_four_steps_is_kept():
    axis = estimate._axis(np.arange(11.0), np.array([0.5, 1.5, 3.5, 4.5, 8.5, 9.5]), 1.0)
    assert axis.time[axis.is_fix].tolist() == [0.5, 4.5, 8.5] and axis.left.tolist() == [0, 4, 8]
    turned = axis.joined("bank_angle", np.where(np.arange(11) % 2, 3.1, -3.1)[None])
    np.testing.assert_allclose(np.abs(turned[0, axis.is_fix]), math.pi)


def test_a_long_record_has_fewer_nodes_and_paths():
    assert estimate.grid_step(np.array([0.0, 5400.0])) == estimate.grid_step(np.ones(2)) == 0.25
    assert estimate.grid_step(np.array([0.0, 5401.0])) == 0.5
    assert estimate.sample_count(np.arange(1381.0)) == 200
    assert estimate.sample_count(np.arange(3001.0)) == int(1.4e6 / (12_000 + 3001))
    assert estimate.sample_count(np.arange(30_001.0)) == 50


def test_a_record_without_enough_readings_says_how_many_there_are():
    few, many = seen([[0.1, 0.1]] * 7), seen(np.linspace([0.8, 0.1], [0.8001, 0.1], 12))
    bare = {"pressure_altitude": None, "geometric_altitude": None}
    for told, count in (
        (SimpleNamespace(position=None), "the track has 0"),
        (SimpleNamespace(position=few), "the track has 7"),
    ):
        with pytest.raises(NeutralPointError, match="8 positions") as refused:
            estimate._check(told)
        assert count in refused.value.message
    for heights, count in ((None, "the track has 0"), (seen(np.zeros(7)), "the track has 7")):
        track = Track(None, position=many, **bare | {"geometric_altitude": heights})
        with pytest.raises(NeutralPointError, match="8 altitudes") as refused:
            estimate._check(track)
        assert count in refused.value.message


def test_the_noise_of_a_kind_is_that_of_its_middle_reading():
    rows = SimpleNamespace(
        kind=np.array([0, 0, 0, 3]), variance=np.array([4.0, 9.0, 100.0, 4.0]),
        weight=np.array([1.0, 0.25, 1.0, 1.0]),
    )  # fmt: skip
    kappa = np.arange(1.0, len(KINDS) + 1.0)
    found = estimate._levels(rows, kappa)
    assert found == {KINDS[0]: 2.0, KINDS[3]: 4.0}


def test_readings_that_the_motion_does_not_follow_are_listed_in_order():
    def fitted(residual, weights):
        levels = SimpleNamespace(weights=np.array(weights))
        return SimpleNamespace(residual=np.array(residual), levels=levels)

    def rows(node, kind):
        return SimpleNamespace(node=np.array(node), kind=np.array(kind), origin=10 * np.array(node))

    smoothed = SimpleNamespace(
        chains=(fitted([4.4, -5.0], [1.0, 0.2]), fitted([6.0], [0.1])),
        rows=(rows([1, 9], [0, 1]), rows([4], [5])), time=0.5 * np.arange(20),
    )  # fmt: skip
    found = estimate._outliers(smoothed)
    assert [(one.time, one.row, one.kind) for one in found] == [
        (2.0, 40, "altitude"), (4.5, 90, "position_cross")
    ]  # fmt: skip
    assert [(one.residual, one.weight) for one in found] == [(6.0, 0.1), (-5.0, 0.2)]


def test_a_reading_at_the_wrong_time_is_off_by_what_moves_it():
    """0.05 s of 5 m/s2 over the ground; 0.2 s of 3 m/s for an altitude, of 4 m/s2 for a rate."""
    mean = np.zeros((2, 8))
    mean[1, [2, 5]] = 3.0, 4.0
    kappa = np.zeros(len(KINDS))
    kappa[KINDS.index("position_along")] = 2.0
    kinds = ("position_along", "ground_speed", "track_angle")
    rows = SimpleNamespace(kind=np.array([KINDS.index(k) for k in kinds]), node=np.ones(3, int))
    added = _Horizontal.extra(SimpleNamespace(rows=rows), mean, kappa)
    np.testing.assert_allclose(added, [0.0, 25.0 * 0.05**2 * 2.0, 25.0 * 0.05**2 * 2.0])
    rows.kind = np.array([KINDS.index(k) for k in ("altitude", "vertical_rate")])
    rows.node, up = np.ones(2, int), np.array([[0.0] * 5, [9.0, 3.0, 4.0, 9.0, 9.0]])
    added = _Vertical.extra(SimpleNamespace(rows=rows, jitter=0.2), up, kappa)
    np.testing.assert_allclose(added, [0.36, 0.64])
    assert level_window(np.arange(9.0)) == 3.0 and level_window(4.0 * np.arange(9.0)) == 8.0


def test_mass_and_slope_never_fall_to_nothing():
    """A tenth at least, however unsure; where flaps may be out a quarter of the paths have some."""
    told = LiftData(4000.0, 25.0, 5.0, -0.03, 1.4, mass_sigma=9e4, lift_slope_sigma=90.0,
                    zero_lift_angle_sigma=0.01, flaps_open=True)  # fmt: skip
    found = draw_lift(told, np.random.default_rng(7), 8000)
    assert found.mass.min() == 400.0 and found.slope.min() == 0.5
    assert (
        found.mass.shape == found.slope.shape == found.zero.shape == found.flap.shape == (8000, 1)
    )
    assert found.mass.max() > 2e5 and found.slope.max() > 200.0
    assert found.zero.mean() == pytest.approx(-0.03, abs=5e-4)
    assert found.zero.std() == pytest.approx(0.01, rel=0.04)
    assert (found.flap > 0.0).mean() == pytest.approx(0.25, abs=0.02)
    assert found.flap[found.flap > 0.0].mean() == pytest.approx(0.5, abs=0.03)
    assert found.flap.max() <= 1.0
    up = draw_lift(replace(told, flaps_open=False), np.random.default_rng(7), 5)
    assert not up.flap.any()


class Part:
    """A chain that says what it was asked."""

    gust = 1.5

    def __init__(self) -> None:
        self.built: list[float] = []

    def build(self, value):
        self.built.append(value)
        return f"rows at {value}"

    def draw_quick(self, rng):
        self.built.append("quick")

    def drawn(self, prior, chain, rng, count):
        return chain, count


@pytest.mark.parametrize(
    ("normal", "lag", "latency"),
    [(0.5, 0.6 * math.exp(0.25), 0.35), (9.0, 4.0, 2.05), (-9.0, 0.1, -1.55)],
)
def test_paths_are_drawn_at_a_latency_and_a_lag_of_their_own(normal, lag, latency):
    """A lag of 0.6 s, half of it unsure, by its logarithm, between 0.1 and 4 s."""
    rng = SimpleNamespace(
        normal=lambda middle, sigma: middle + sigma * normal, standard_normal=lambda: normal
    )
    over, up = Part(), Part()
    smoother = SimpleNamespace(
        _horizontal=over, _vertical=up, latency=ParameterEstimate(0.25, 0.2),
        lag=ParameterEstimate(0.6, 0.3), chains=("over", "up"), time="t", frame="f",
    )  # fmt: skip
    found = Smoother.draw(smoother, rng, 3)
    assert up.built == ["quick", pytest.approx(lag)] and over.built == [pytest.approx(latency)]
    assert (found.horizontal, found.vertical, found.gust) == (("over", 3), ("up", 3), 1.5)
    smoother.latency = smoother.lag = None
    Smoother.draw(smoother, rng, 3)
    assert len(over.built) == 1 and up.built[2:] == ["quick"]


@pytest.mark.parametrize(("drawn", "share"), [(2.0, math.exp(2.0)), (9.0, 200.0), (-9.0, 0.1)])
def test_a_share_of_quick_jerk_is_drawn_within_what_is_searched(drawn, share):
    moved = []
    part = SimpleNamespace(quick=ParameterEstimate(1.0, 0.5), move=moved.append)
    asked = []
    rng = SimpleNamespace(normal=lambda *given: asked.append(given) or drawn)
    _Vertical.draw_quick(part, rng)
    assert moved == [pytest.approx(share)] and asked == [(1.0, 0.5)]


def test_what_is_known_of_a_kind_is_not_taken_from_the_fit():
    kappa = np.arange(2.0, 2.0 + len(KINDS))
    rows = SimpleNamespace(kind=np.array([0, 5, 7]), variance=np.array([1.0, 10.0, 100.0]))
    chain = SimpleNamespace(levels=SimpleNamespace(kappa=kappa), mean=None)
    part = SimpleNamespace(rows=rows, known=(5, 6), extra=lambda mean, kappa: 0.5 * kappa[:3])
    found = _Part.spread(part, chain)
    added = np.array([1.0, 1.5, 2.0])
    np.testing.assert_allclose(found, np.array([2.0, 10.0, 900.0]) + added)


def test_rows_of_positions_that_are_rounded_coarsely_are_read_axis_by_axis():
    """15 m is the edge; speeds of two steps are two groups."""
    speeds = replace(seen([50.0, 51.0, 60.0], 10.0), steps=np.array([1.0, 1.0, 10.0]))
    track = SimpleNamespace(
        fixes=seen([[0.0, 0.0], [10.0, 0.0]]), ground_speed=speeds, track_angle=None
    )
    kinds = {}
    for steps in ((15.0, 0.0), (0.0, 15.1)):
        rows = horizontal_rows(track, FRAME, guide_of(), 0.0, steps)
        kinds[steps] = [KINDS[k] for k in rows.kind]
    moved = ["ground_speed"] * 3
    assert kinds[15.0, 0.0] == ["position_along"] * 2 + ["position_cross"] * 2 + moved
    assert kinds[0.0, 15.1] == ["position_rounded"] * 4 + moved
    rounding = rows.variance[-3:] - 0.09
    np.testing.assert_allclose(rounding, [1.0 / 12.0, 1.0 / 12.0, 100.0 / 12.0])


def test_a_record_that_is_too_long_says_where_its_widest_gap_is():
    time = np.r_[np.arange(5.0), 1e5 + np.arange(4.0)]
    place = np.tile([0.8, 0.1], (9, 1))
    track = Track(None, position=replace(seen(place), time=time))
    with pytest.raises(NeutralPointError, match=r"27\.8 h; the longest gap is 27\.8 h") as long:
        check_bounds(track)
    assert "before position 6 of 9" in long.value.message and "24 h" in long.value.hint
