"""What the motion makes of heights, directions of lift and signs of an upset, against hand sums.

Sources are those of the formulas; the sums are done here another way. Written for changes of one
number or sign that no quick test found (benchmarks/results/mutation.md).
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.earth.weather import Weather
from neutralpoint.motion import airdata, gusts, lift, onset
from neutralpoint.motion import onset_features as features
from neutralpoint.motion.attitude import _cheapest, _signs
from neutralpoint.motion.height import (
    height_error,
    height_ratio,
    in_pressure_altitude,
    mean_sea_level_height,
)
from neutralpoint.motion.observability import _bank_lost, resolution_table
from neutralpoint.motion.onset_features import AFTER, BEFORE, EXTRA, SIGNALS, SPANS
from neutralpoint.quantities import DEGREE, EARTH_RADIUS, GRAVITY
from neutralpoint.track import Observations, Track

STANDARD, RATE = 288.15, 0.0065  # ISO 2533
FORCE, BANK, PATH, ALONG, SPEED, STEEP, LARGE, DIVE = range(8)


def air(warmer: float) -> Weather:
    """Air that is so much warmer than standard everywhere."""
    level = np.linspace(0.0, 9000.0, 361)
    calm = np.zeros_like(level)
    return Weather(level, calm, calm, STANDARD - RATE * level + warmer, 1.0, 2.0, 1000.0, 300.0)


def higher(geopotential):
    """Geometric height of a geopotential one (ISO 2533 eq. 8)."""
    return geopotential * EARTH_RADIUS / (EARTH_RADIUS - geopotential)


def test_warm_air_is_thicker():
    """The integral of 1 + D/T over pressure altitude is H + (D/L) ln(T0/(T0 - L H))."""
    at = np.array([500.0, 3000.0, 8000.0])
    thick = at + 10.0 / RATE * np.log(STANDARD / (STANDARD - RATE * at))
    found = mean_sea_level_height(at, air(10.0), 101_325.0)
    np.testing.assert_allclose(found, higher(thick), atol=0.05)
    np.testing.assert_allclose(
        mean_sea_level_height(at, air(0.0), 101_325.0), higher(at), atol=0.01
    )
    ratio = height_ratio(at, weather=air(10.0))
    step = (mean_sea_level_height(at + 1.0, air(10.0), 101_325.0) - found) / 1.0
    # It takes pressure altitude for geopotential in its small part: 2 (h - H)/R.
    np.testing.assert_allclose(ratio, step, rtol=2e-4)
    # At its own pressure the altimeter setting is at the sea.
    low = (1.0 - (100_325.0 / 101_325.0) ** 0.190263) * STANDARD / RATE
    assert mean_sea_level_height(np.array([low]), air(0.0), 100_325.0)[0] == pytest.approx(
        0.0, abs=0.05
    )


def test_geometric_heights_become_pressure_altitudes_with_their_rounding():
    at = np.linspace(2000.0, 3000.0, 41)
    steps = np.where(np.arange(41) % 2, 30.0, 7.5)
    row = np.arange(41)
    seen = Observations(
        row.astype(float), mean_sea_level_height(at, air(12.0), 100_000.0) + 45.0, 30.0,
        row, 0 * row, row < 0, None, steps,
    )  # fmt: skip
    track = Track(None, position=seen, geometric_altitude=seen)
    found = in_pressure_altitude(track, air(12.0), 100_000.0, 45.0).pressure_altitude
    np.testing.assert_allclose(found.value, at, atol=0.01)
    ratio = height_ratio(np.array(2500.0), weather=air(12.0))
    assert 1.03 < ratio < 1.06
    assert found.step == pytest.approx(30.0 / ratio, rel=1e-6)
    np.testing.assert_allclose(found.steps, steps / ratio, rtol=1e-6)
    assert in_pressure_altitude(
        Track(None, position=seen, pressure_altitude=seen), air(0.0), 1e5, 0.0
    ).pressure_altitude is seen  # fmt: skip


def test_errors_of_height_are_those_of_setting_and_warmth():
    """100 Pa are 8.32 m; the mean over a column of two lengths has (x - 1 + exp(-x)) 2/x^2."""
    ones = SimpleNamespace(standard_normal=lambda shape: np.ones(shape))
    found = height_error(ones, 2, np.full((2, 3), 2000.0), air(0.0), 100.0)
    share = math.sqrt(2.0 * (2.0 - 1.0 + math.exp(-2.0)) / 4.0)
    warm = 2000.0 * 2.0 * share / (STANDARD - RATE * 1000.0)
    np.testing.assert_allclose(found, 100.0 / (1.225 * 9.80665) + warm, rtol=1e-6)


def channel(interval: float) -> Observations:
    row = np.arange(40)
    return Observations(interval * row, np.zeros(40), 0.0, row, 0 * row, row < 0)


def test_windows_of_fewer_than_three_readings_resolve_nothing():
    track = SimpleNamespace(fixes=channel(0.8), altitudes=channel(1.6), vertical_rate=channel(1.0))
    told = {"position_sigma": 5.0, "altitude_sigma": 3.0, "vertical_rate_sigma": 0.5}
    found = resolution_table(track, **told)
    assert [one.window for one in found] == [2.0, 4.0, 8.0, 16.0]
    assert [one.fixes for one in found] == pytest.approx([2.5, 5.0, 10.0, 20.0])
    level = [one.horizontal_acceleration for one in found]
    assert level[0] == math.inf  # of 2.5 fixes
    assert level[1] == pytest.approx(5.0 * math.sqrt(720.0 / 5.0) / 16.0 / GRAVITY)
    upward = [one.vertical_acceleration_altitude for one in found]
    assert upward[:2] == [math.inf, math.inf]
    assert upward[2] == pytest.approx(3.0 * math.sqrt(720.0 / 5.0) / 64.0 / GRAVITY)
    rate = [one.vertical_acceleration_rate for one in found]
    assert rate[1] == pytest.approx(0.5 * math.sqrt(12.0 / 4.0) / 4.0 / GRAVITY)
    track.vertical_rate = None
    assert [one.vertical_acceleration_rate for one in resolution_table(track, **told)] == [None] * 4


def test_a_bank_is_lost_a_second_and_a_half_either_side():
    paths = {"normal_load_factor": np.ones((3, 41)), "bank_angle": np.zeros((3, 41))}
    paths["normal_load_factor"][:, 20] = 0.24
    assert np.flatnonzero(_bank_lost(paths, 0.5)).tolist() == list(range(17, 24))
    paths["normal_load_factor"][:, 20] = 0.26
    paths["bank_angle"][:, 21:] = 61.0 * DEGREE * 0.5  # 61 deg/s between the nodes 20 and 21
    assert np.flatnonzero(_bank_lost(paths, 0.5)).tolist() == list(range(17, 24))
    paths["bank_angle"][:, 21:] = 59.0 * DEGREE * 0.5
    assert not _bank_lost(paths, 0.5).any()


@pytest.mark.parametrize(("angle", "gap"), [(math.pi, 1), (math.pi, 4), (2.5, 1)])
def test_a_force_that_turns_over_is_a_push_or_a_roll_by_its_cost(angle, gap):
    """A roll costs its square over (0.7 rad/s)^2 and the time it had, a push what is left of the
    half turn, and 1 for each second that it lasts: the two are equal after so many seconds."""
    step = 0.25
    scale = 1.0 / (0.7**2 * step * gap)
    even = (angle**2 - (math.pi - angle) ** 2) * scale
    for seconds, pushed in ((0.94 * even, True), (1.06 * even, False)):
        before, after = round(1.3 * even / step), round(seconds / step)
        nodes = before + gap - 1 + after
        turned, size = np.zeros((1, nodes)), np.ones((1, nodes))
        turned[:, before + gap - 1 :] = angle
        size[:, before : before + gap - 1] = 0.1  # too small to have a direction
        found = _signs(turned, size, step)[0]
        assert (found[:before] == 1.0).all()
        assert (found[before + gap :] == (-1.0 if pushed else 1.0)).all()


def test_a_flight_hardly_starts_inverted():
    """ln 1000 stands against it."""
    for cost, inverted in ((6.8, False), (7.0, True)):
        found = _cheapest(np.full((1, 1), cost), np.zeros((1, 1)), np.zeros((1, 2)))
        assert found.tolist() == [[False, True]]  # rather changes, for nothing
        stay = np.full((1, 2), np.inf)
        upright = _cheapest(np.zeros((1, 1)), stay[:, :1], np.array([[0.0, 0.0]]))
        assert upright.tolist() == [[False, False]]
        dear = _cheapest(np.zeros((1, 1)), stay[:, :1], np.array([[-cost, 0.0]]))
        assert dear.tolist() == [[inverted, inverted]]


def test_a_gust_is_as_strong_at_its_first_node_and_hangs_on():
    wind = gusts.gust_wind(np.random.default_rng(16), (6000, 3), 2.0, np.full(6000, 100.0), 1.0)
    for axis, length in enumerate((400.0, 400.0, 150.0)):
        first, second = wind[:, 0, axis], wind[:, 1, axis]
        assert (first**2).mean() == pytest.approx((second**2).mean(), rel=0.1)  # four errors
        keep = (first * second).mean() / math.sqrt((first**2).mean() * (second**2).mean())
        assert keep == pytest.approx(math.exp(-100.0 / length), abs=0.05)


def test_climb_in_warm_thin_air(monkeypatch):
    """10 m/s of pressure altitude at 10 km, 10 K warm: times T/T0 and (1 + h/R)^2."""
    monkeypatch.setattr(airdata, "gust_wind", lambda rng, shape, *a: np.zeros((*shape, 3)))
    monkeypatch.setattr(airdata, "VERTICAL_WIND_SIGMA", 0.0)
    standard = STANDARD - RATE * 9000.0

    def draw(rng, altitude, time):
        calm = np.zeros_like(altitude)
        return calm + 5.0, calm - 3.0, calm + standard + 10.0

    horizontal, vertical = np.zeros((1, 9, 6)), np.zeros((1, 9, 5))
    horizontal[..., 1], horizontal[..., 4] = 60.0, 40.0
    vertical[..., 0], vertical[..., 1] = 9000.0, 10.0
    frame = SimpleNamespace(
        to_geographic=lambda north, east: (0.8 + 0.0 * north, 0.0 * east),
        stretch=lambda latitude, height: (1.5 + 0.0 * latitude, 2.0 + 0.0 * latitude),
    )
    ground = SimpleNamespace(
        horizontal=horizontal, vertical=vertical, time=np.arange(9.0), frame=frame
    )
    height = 10_000.0
    found = airdata.flight_paths(
        ground, weather=SimpleNamespace(draw=draw), altitude=np.full((1, 9), height),
        lift=lift.LiftData(4000.0, 25.0, 5.0, -0.03, 1.4), rng=np.random.default_rng(1), step=1.0,
        rough=0.0, unseen=np.zeros(9),
    )  # fmt: skip
    up = 10.0 * (standard + 10.0) / standard * (1.0 + height / EARTH_RADIUS) ** 2
    np.testing.assert_allclose(found["vertical_speed"], up)
    np.testing.assert_allclose(found["ground_speed"], math.hypot(90.0, 80.0))
    np.testing.assert_allclose(found["track_angle"], math.atan2(80.0, 90.0))
    speed = math.sqrt(85.0**2 + 83.0**2 + up**2)
    np.testing.assert_allclose(found["true_airspeed"], speed)
    np.testing.assert_allclose(found["heading_of_air_velocity"], math.atan2(83.0, 85.0))
    np.testing.assert_allclose(found["flight_path_angle"], math.asin(up / speed))
    np.testing.assert_allclose(found["specific_energy_height"], height + speed**2 / 2.0 / GRAVITY)


def test_cells_are_means_of_a_second():
    time = 0.25 * np.arange(23)  # 5.5 s
    ramp = np.arange(23.0)
    values = {
        "normal_load_factor": 2.0 + 0.0 * ramp, "longitudinal_load_factor": ramp,
        "bank_angle": np.full(23, math.pi / 3.0), "flight_path_angle": np.full(23, 0.1),
        "true_airspeed": 80.0 + ramp,
    }  # fmt: skip
    start, signals = features.cells(time, values, 0.5)
    assert start.tolist() == [0.5, 1.5, 2.5, 3.5, 4.5]
    np.testing.assert_allclose(signals[0], 1.0 - math.cos(0.1))
    np.testing.assert_allclose(signals[1], [3.5, 7.5, 11.5, 15.5, 19.5])
    np.testing.assert_allclose(signals[4], 80.0 + np.array([3.5, 7.5, 11.5, 15.5, 19.5]))
    # Cells without a reading take the middle of the line.
    _, sparse = features.cells(np.array([0.0, 3.0]), {n: v[[0, 12]] for n, v in values.items()})
    np.testing.assert_allclose(sparse[1], [0.0, 6.0, 10.0])


def test_what_a_change_is_counted_from():
    series = np.array([1.0, 2.0, 4.0, 8.0, 16.0, 32.0])
    found = features._base(series)
    np.testing.assert_allclose(found, [1.0, 1.0, 1.5, 7.0 / 3.0, 15.0 / 4.0, 30.0 / 4.0])
    # A step of 3 between cells: seen whole at its cell, and at the ends none.
    step = features._step(np.r_[np.full(5, 2.0), np.full(5, 5.0)], 2)
    np.testing.assert_allclose(step, [0, 0, 0, 0, 1.5, 3.0, 1.5, 0, 0, 0])
    np.testing.assert_allclose(features._step(np.arange(8.0), 2)[[0, 1, 7]], [0.5, 1.5, 1.5])


def test_signals_are_one_at_a_change_that_counts():
    """Each divided by its size, squared or to the fourth, ln(1 + .)."""
    signals = np.array([0.1, 0.54, 8.0 * DEGREE + 0.2, 2.0 * DEGREE + 0.1, 104.0])
    found = features._squares(signals, np.array([0.5, 0.2, 0.1, 100.0]))
    np.testing.assert_allclose(found[[FORCE, BANK, PATH, ALONG, SPEED]], math.log(2.0))
    plain = np.array([0.3, 0.0, 40.0 * DEGREE, 10.0 * DEGREE, 100.0])
    found = features._squares(plain, np.array([0.0, 0.0, 0.0, 100.0]))
    np.testing.assert_allclose(found[[STEEP, LARGE, DIVE]], math.log(2.0))
    double = features._squares(2.0 * plain, np.array([0.0, 0.0, 0.0, 100.0]))
    np.testing.assert_allclose(double[[STEEP, LARGE, DIVE]], math.log(17.0))


def test_spans_are_means_before_and_after_each_cell():
    signals = np.zeros((5, 60))
    signals[0] = 0.1 * np.sqrt(np.expm1(np.arange(60.0) / 10.0))  # ln(1 + (up/0.1)^2) is t/10
    signals[4] = 100.0
    found = features._spans(signals)[:, :, FORCE]
    assert SPANS == AFTER + BEFORE and len(SIGNALS) == 8
    for at in (0, 30, 59):
        for number, (first, last) in enumerate(SPANS):
            cells = [at + k for k in range(first, last) if 0 <= at + k < 60]
            expected = np.mean(cells) / 10.0 if cells else 0.0
            assert found[at, number] == pytest.approx(expected)


def test_the_rest_of_what_tells_an_onset():
    """A calm flight of 30 s, then 10 s at 0.45 g off, which is plain at 1.5, then calm again."""
    up = np.zeros(60)
    up[30:40] = 0.6
    signals = np.stack([up, 0.0 * up, 0.0 * up, 0.0 * up, 100.0 + 0.0 * up])
    found = dict(zip(EXTRA, features._extra(signals).T, strict=True))
    plain = math.log1p(2.0**2)
    assert found["most unusual in 12 s"][18] == 0.0 and found["most unusual in 12 s"][19] == plain
    assert found["most unusual in 30 s"][0] == 0.0 and found["most unusual in 30 s"][1] == plain
    assert found["most unusual in 60 s"][0] == pytest.approx(plain)
    assert found["most unusual before"][[30, 31, 59]].tolist() == pytest.approx([0.0, plain, plain])
    assert found["mean before"][35] == pytest.approx(5.0 * plain / 35.0)
    assert found["time to an upset"][[0, 29, 35]].tolist() == pytest.approx([1.0, 1 / 30, 0.0])
    assert found["time to an upset"][45] == pytest.approx(120.0 / 30.0)
    assert found["log time to an upset"][10] == pytest.approx(math.log(21.0))
    assert found["calm until then"][[0, 25, 35]].tolist() == pytest.approx([3.0, 0.5, 0.0])
    assert found["log calm until then"][20] == pytest.approx(math.log(11.0))
    assert found["calm before"][[5, 20, 36]].tolist() == pytest.approx([1.0, 2.0, 0.8])
    assert found["flight before"][[0, 5, 30]].tolist() == pytest.approx([0.0, 1.0, 2.0])
    assert found["flight after"][[0, 50]].tolist() == pytest.approx([3.0, 1.0])
    assert found["unusual without an upset"][[0, 45]].tolist() == [0.0, 0.0]
    assert found["step of force over 2 s"][30] == pytest.approx(math.log1p(12.0**2))
    assert found["step of force over 4 s"][29] == pytest.approx(math.log1p(9.0**2))
    # 0.3 g, 45 degrees squared and 12 degrees count 1 each.
    one = np.array([[0.3], [9.0], [90.0 * DEGREE], [-12.0 * DEGREE], [0.0]])
    assert features._unusual(one)[0] == pytest.approx(1.0 + 4.0 + 1.0)
    ramps = np.zeros((5, 9))
    ramps[1, 5:], ramps[2] = 0.04, np.r_[0, 0, 0, 0, 0, 4.0, 8.0, 12.0, 16.0] * DEGREE
    stepped = features._steps(ramps)
    assert stepped[2][5] == pytest.approx(math.log1p(2.0**2))  # thrust over 2 s
    # The roll rate at the cells 4 and 5 is 2 and 4 deg/s, 0 before and 4 after.
    assert stepped[4][5] == pytest.approx(math.log1p(((4.0 - 1.0) / 2.0) ** 2))


def test_an_onset_is_weighed_against_none_by_the_mean_of_the_odds(monkeypatch):
    """Two candidates of odds 3 and 1 among eight of none: mean odds 0.5, so that none has 2/3."""
    score = np.log(np.array([3.0, 1.0] + [1e-30] * 6))
    middle = np.arange(0.5, 8.5)
    pairs = iter([(middle[::2], score[::2]), (middle[1::2], score[1::2])])
    monkeypatch.setattr(onset, "_scores", lambda *given: next(pairs))
    monkeypatch.setattr(onset, "_widened", lambda middle, weight: weight)
    paths = {name: np.ones((2, 9)) for name in onset.SIGNALS}
    found = onset.upset_onsets(np.arange(9.0), paths)
    assert found.none == pytest.approx(2.0 / 3.0) and not found.found
    assert found.time.tolist() == [0.5, 1.5]
    share = 3.0**0.9 / (3.0**0.9 + 1.0)
    np.testing.assert_allclose(found.weight, np.array([share, 1.0 - share]) / 3.0)
    # Each candidate stands for the second about it: the middle lies in the first.
    assert found.median == pytest.approx(0.5 / share)
    assert found.interval == pytest.approx((0.05 / share, 1.0 + (0.95 - share) / (1.0 - share)))
