"""Parts of the weighing held against numbers worked out by hand.

Sources are those of the formulas; what is checked here is that they are written down right.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

import neutralpoint.weighing
from neutralpoint.errors import NeutralPointError
from neutralpoint.weighing import value, window
from neutralpoint.weighing.check import Nulls, p_listed, p_values, p_values_of
from neutralpoint.weighing.course import Course
from neutralpoint.weighing.features import NAMES, features, knots, mirrored, unlisted
from neutralpoint.weighing.flights import flown_of
from neutralpoint.weighing.odds import (
    NOTHING,
    bayes_factor_words,
    combine,
    equal_prior,
    posterior,
    prior_of_failure,
)
from neutralpoint.weighing.parameters import Summary, leading, log_likelihood, pad, quadratic
from neutralpoint.weighing.predictive import _Pool
from neutralpoint.weighing.scores import (
    brier_score,
    credible_set_cover,
    interval_cover,
    log_score,
    reliability,
)

TIME = 0.1 * np.arange(600)  # s


# 0.4 of the data's window; 0.35 of the distance of 48 knots; 0.35 s at least.
@pytest.mark.parametrize(
    ("length", "smoothed", "wide"), [(48.0, 10.0, 4.0), (120.0, 1.0, 0.875), (10.0, 0.5, 0.35)]
)
def test_smoothing_weights_are_normal_and_keep_straight_lines(length, smoothed, wide):
    weights = window.knot_weights(TIME * length / 48.0, length, smoothed)
    at = np.r_[0.0, (np.arange(48) + 0.5) * length / 48.0]
    time = TIME * length / 48.0
    assert weights @ (3.0 - 0.2 * time) == pytest.approx(3.0 - 0.2 * at)
    assert (weights[:, time > length + 1e-2] == 0.0).all()
    # In the middle, where the slope's part is even, two weights differ by the normal curve alone.
    row, middle = weights[24], at[24]
    near, far = np.argmin(np.abs(time - middle)), np.argmin(np.abs(time - middle - wide))
    bell = np.exp(-0.5 * ((time[[far, near]] - middle) / wide) ** 2)
    assert row[far] / row[near] == pytest.approx(bell[0] / bell[1], rel=1e-3)


def test_rows_of_flights_become_courses():
    """Half a second between records; six columns of the course, then trim to place east."""
    rows = np.arange(3 * 5 * 11.0).reshape(3, 5, 11)
    cause = SimpleNamespace(name="x", parameters=())
    drawn = SimpleNamespace(unit=np.zeros((3, 8)))
    found = flown_of(cause, None, drawn, rows, np.arange(3))
    np.testing.assert_allclose(found.course.time, [0.0, 0.5, 1.0, 1.5, 2.0])
    np.testing.assert_allclose(found.course.altitude, rows[..., 5])
    np.testing.assert_allclose(found.trim, rows[..., 6])
    np.testing.assert_allclose(found.east, rows[..., 10])
    assert found.unit.shape == (3, 0)


def test_distance_of_a_flight_is_the_root_mean_square_of_its_misses():
    residual = np.array([[3.0, -4.0], [math.nan, 1.0]])
    found = _Pool(None, residual, None, residual[0]).distance
    np.testing.assert_allclose(found, [math.sqrt(12.5), math.inf])


def columns(**series):
    steady = {"load": 1.2, "along": 0.03, "bank": 0.5, "speed": 80.0, "path": 0.1, "height": 500.0}
    return np.stack([np.broadcast_to(series.get(k, v), TIME.shape) for k, v in steady.items()], -1)


def test_channels_by_hand():
    weights = window.knot_weights(TIME, 48.0, 2.0)
    at = np.arange(48) + 0.5
    still = window.channels(columns(), weights)
    # Loads as they are; speed, path and energy height as changes, none here; n - (V / V0)^2 = 0.2.
    wanted = [1.2 * math.cos(0.5) / 0.25, 1.2 * math.sin(0.5) / 0.25, 0.5, 0.0, 0.0, 0.0, 0.8]
    assert still == pytest.approx(np.tile(wanted, (48, 1)), abs=1e-9)
    moved = window.channels(columns(path=0.1 + 0.002 * TIME, height=500.0 - 4.0 * TIME), weights)
    assert moved[:, 4] == pytest.approx(0.002 * at / 0.08)
    kinetic = 80.0**2 / (2.0 * 9.80665)
    assert moved[:, 5] == pytest.approx(-4.0 * at / kinetic / 0.08)
    faster = window.channels(columns(speed=80.0 + 0.5 * TIME), weights)
    assert faster[:, 3] == pytest.approx(0.5 * at / 80.0 / 0.08)
    # (V^2 - V0^2) / V0^2 of the energy, and the pull that falls by as much; smoothing a parabola
    # adds its curvature times the square of the width, (0.5 / 80)^2 0.8^2 = 2.5e-5.
    gain = (1.0 + 0.5 * at / 80.0) ** 2 - 1.0
    assert faster[5:40, 5] == pytest.approx(gain[5:40] / 0.08, abs=1e-3)
    assert faster[5:40, 6] == pytest.approx((0.2 - gain[5:40]) / 0.25, abs=1e-3)


def test_errors_of_channels_by_hand():
    sigma = np.array([[0.03, 0.012, 0.05, 2.0, 0.004, 3.0]])
    found = window.channel_errors(sigma, np.array(80.0))[0]
    kinetic = 80.0**2 / (2.0 * 9.80665)
    energy = math.hypot(3.0, 80.0 * 2.0 / 9.80665) / kinetic
    wanted = [0.12, 0.2, 0.2, 0.025 / 0.08, 0.05, energy / 0.08, math.hypot(0.03, 0.05) / 0.25]
    assert found == pytest.approx(np.array(wanted))


def test_what_the_networks_are_told_of_the_data():
    assert window.compressed(np.array([0.0, math.e - 1.0, 1.0 - math.e])) == pytest.approx(
        [0.0, 1.0, -1.0]
    )
    typical = np.array([0.04, 0.015, 0.015, 1.8, 0.005, 2.5])
    assert window.known_how_well(math.e * typical) == pytest.approx(math.log(math.e + 1e-3))
    told = window.of_the_data(
        np.array(70.0), np.array(6.0), np.array([4.0, 3.0, 3.0, 60.0, 5.0, 10.0])
    )
    assert told == pytest.approx([math.log(2.0), math.log(2.0), math.log(2.0), 0, 0, 0, 0, 0])


def test_odds_by_hand():
    even = np.array([0.5, 0.25, 0.25])
    assert posterior(even, np.log([1.0, 2.0, 4.0])) == pytest.approx([0.25, 0.25, 0.5])
    assert posterior(np.array([0.0, 1.0]), np.array([9.0, 0.0])) == pytest.approx([0.0, 1.0])
    assert equal_prior(("a", "b"), {"b": 3.0}) == pytest.approx([0.25, 0.75])
    for wrong in ({"c": 1.0}, {"a": 0.0}, {"a": -1.0}, {"a": math.inf}, {"a": math.nan}):
        with pytest.raises(NeutralPointError, match="prior weight"):
            equal_prior(("a", "b"), wrong)
    found = prior_of_failure((NOTHING, "a", "b"), 0.2, {"b": 3.0})
    assert found == pytest.approx([0.8, 0.05, 0.15])
    assert prior_of_failure((NOTHING, "a"))[1] == pytest.approx(0.01)
    for failed, names in ((0.0, (NOTHING, "a")), (1.0, (NOTHING, "a")), (0.5, ("a", "b"))):
        with pytest.raises(NeutralPointError, match="chance"):
            prior_of_failure(names, failed)


def test_runs_are_averaged_with_their_band():
    runs = np.log([[1.0, 3.0], [3.0, 1.0], [2.0, 2.0]])
    found = combine(("a", "b"), np.array([0.5, 0.5]), runs)
    assert found.probability == pytest.approx([0.5, 0.5])
    assert found.low == pytest.approx([0.25, 0.25]) and found.high == pytest.approx([0.75, 0.75])
    logs = np.log([0.25, 0.75, 0.5])
    assert found.log_evidence[0] == pytest.approx(logs.mean())
    assert found.log_evidence_error[0] == pytest.approx(np.std(logs, ddof=1))
    assert np.isnan(combine(("a", "b"), np.array([0.5, 0.5]), runs[:1]).log_evidence_error).all()
    assert found.order() == [0, 1]


# Kass and Raftery, section 3.2: 2 ln B of 2, 6 and 10.
@pytest.mark.parametrize(
    ("twice", "words"),
    [(1.9, "not worth"), (2.1, "positive"), (-5.9, "positive"), (6.1, "strong"), (-9.9, "strong"),
     (10.1, "very strong")],
)  # fmt: skip
def test_words_for_a_bayes_factor(twice, words):
    assert bayes_factor_words(0.5 * twice).startswith(words)


def test_worth_of_an_item_by_hand():
    assert value.entropy_bits(np.array([0.5, 0.25, 0.25, 0.0])) == pytest.approx(1.5)
    half = np.array([0.5, 0.5])
    assert value.bits_of(half, np.eye(2)) == pytest.approx(1.0)
    assert value.bits_of(half, np.full((2, 2), 0.5)) == pytest.approx(0.0, abs=1e-12)
    # Says "a" of a in 3 of 4 and of b in 1 of 4: 1 - H(3/4).
    after = -(0.75 * math.log2(0.75) + 0.25 * math.log2(0.25))
    unsure = np.array([[0.75, 0.25], [0.25, 0.75]])
    assert value.bits_of(half, unsure) == pytest.approx(1.0 - after)
    sharp = {"a": (1.0, 0.0), "b": (0.0, 1.0)}
    items = [
        value.Item("dear", "high", ("x", "y"), (0.5, 0.5), sharp),
        value.Item("cheap", "low", ("x", "y"), (0.5, 0.5), sharp),
        value.Item("blunt", "low", ("x", "y"), (0.5, 0.5)),
    ]
    ranked = value.rank(items, ("a", "b"), half, np.array([[0.5, 0.5], [1.0, 0.0]]))
    assert [entry.item.name for entry in ranked] == ["cheap", "dear", "blunt"]
    assert (ranked[0].low, ranked[0].high) == pytest.approx((0.0, 1.0))
    assert ranked[0].chance == pytest.approx(half)
    assert ranked[0].odds_then == pytest.approx(np.eye(2))
    # Of a cause that nobody listed, the mean of the listed.
    assert items[0].table(("a", "b", "unlisted"))[2] == pytest.approx([0.5, 0.5])
    broken = value.Item("b", "low", ("x", "y"), (0.5, 0.4))
    with pytest.raises(NeutralPointError, match="add up to 1"):
        broken.table(("a",))


def test_outcomes_of_a_measured_position():
    found = value.measured_table(
        [np.array([1.0]), np.array([0.0, 2.0])], np.array([0.0, 2.0]), 1.0, 0.1
    )
    tail, wide = norm.cdf(-1.0), norm.cdf(-2.0)
    assert found[0] == pytest.approx(0.9 * np.array([tail, 1 - 2 * tail, tail]) + 0.1 / 3.0)
    outer = 0.5 * (0.5 + wide)
    assert found[1] == pytest.approx(0.9 * np.array([outer, 1.0 - 2.0 * outer, outer]) + 0.1 / 3.0)


def test_likelihood_of_summaries_is_that_of_a_normal():
    unit = np.array([0.5, -1.0])
    assert np.asarray(quadratic(unit)) == pytest.approx([1.0, 0.5, -1.0, 0.25, -0.5, 1.0])
    mean = np.arange(12.0).reshape(6, 2) / 10.0
    scale = np.array([[0.1, -0.2], [0.3, 0.0], [0.0, 0.4]])
    factor = np.array([[1.0, 0.0], [0.6, 0.8]])
    found = log_likelihood(unit, Summary(np.array([0.3, 0.7]), mean, scale, factor))
    spread = np.diag(np.exp(np.array([1.0, 0.5, -1.0]) @ scale))
    middle = np.array([1.0, 0.5, -1.0, 0.25, -0.5, 1.0]) @ mean
    exact = multivariate_normal(middle, spread @ factor @ factor.T @ spread)
    assert float(found) == pytest.approx(exact.logpdf([0.3, 0.7]))


def test_leading_components_have_unit_variance():
    rng = np.random.default_rng(4)
    rough = rng.standard_normal((50, 3)) @ np.array([[3.0, 0, 0], [0, 1.0, 0], [0, 0, 0.1]])
    centred = rough - rough.mean(axis=0)
    component = centred @ leading(centred, 2)
    assert component.T @ component / 50 == pytest.approx(np.eye(2), abs=1e-12)
    assert leading(np.c_[centred, centred[:, 0]], 9).shape == (4, 3)  # one is no direction
    assert pad(np.ones((2, 3))).sum(axis=1) == pytest.approx([3.0, 3.0])
    assert pad(np.ones((2, 3))).shape == (2, 8)


def test_knots_by_hand():
    assert knots(28.0, 1.0) == pytest.approx(np.linspace(0.5, 28.0, 20))  # 28 / 1.4
    assert knots(28.0, 5.0) == pytest.approx(np.linspace(2.5, 28.0, 8))  # 28 / (0.7 x 5)
    assert knots(1.0, 5.0) == pytest.approx(np.linspace(0.25, 1.0, 4))
    assert knots(500.0, 1.0).size == 28


def test_features_of_lines_by_hand():
    time = 0.5 * np.arange(61)
    line = {k: np.full((1, 61), v) for k, v in (("load", 1.2), ("along", 0.03), ("bank", 0.5))}
    course = Course(
        time=time,
        normal_load_factor=line["load"],
        longitudinal_load_factor=line["along"],
        bank_angle=line["bank"],
        true_airspeed=np.full((1, 61), 80.0),
        flight_path_angle=(0.1 + 0.002 * time)[None],
        altitude=(500.0 - 4.0 * time)[None],
    )
    at = np.array([5.0, 20.0])
    found = features(course, at, 3.0)[0].reshape(7, 2)
    assert found[0] == pytest.approx(1.2 * math.cos(0.5)) and found[2] == pytest.approx(0.03)
    assert found[1] == pytest.approx(1.2 * math.sin(0.5)) and found[3] == pytest.approx(
        0.0, abs=1e-9
    )
    assert found[4] == pytest.approx(0.002 * at) and found[5] == pytest.approx(-4.0 * at)
    assert found[6] == pytest.approx(0.2)
    signs = mirrored(14).reshape(7, 2)
    assert (signs[1] == -1.0).all() and signs.sum() == 10.0 and NAMES[1] == "lift sideways"


def test_the_cloud_of_the_unlisted_is_that_of_differences():
    numbers = iter([np.array([[0, 1], [1, 2], [2, 0]]), np.array([[0.5], [2.0]])])
    asked = []

    def next_of(*arguments):
        asked.append(arguments)
        return next(numbers)

    rng = SimpleNamespace(integers=next_of, uniform=next_of)
    listed = np.array([[0.0, 1.0], [2.0, 1.0], [2.0, 5.0]])
    assert unlisted(listed, rng, 2) == pytest.approx(np.array([[0.0, -1.0], [6.0, 9.0]]))
    assert asked == [(0, 3, (3, 2)), (0.4, 2.0, (2, 1))]


def table() -> Nulls:
    return Nulls(
        causes=("a", "b"),
        levels=np.array([0.01, 0.1, 1.0]),
        quantiles=np.array([[-4.0, -2.0, 0.0], [-6.0, -3.0, 0.0]]),
        steep=np.array([0.5, 1.0]),
        shift=np.array([[0.0, 0.0, 0.0], [0.5, 0.0, 0.0], [0.0, 0.0, 0.0]]),
        beyond=np.array([0.5, 0.1]),
        unlisted=np.log([[0.2, 0.5], [0.2, 0.5], [0.2, 0.5]]),
    )


def test_p_values_by_hand():
    share = np.array([[-3.0, -9.0], [-6.0, -1.5], [-6.0, -1.5]])
    found = p_values_of(table(), share, np.array([0, 0, 1]))
    # Half way between levels; below the first one by its power; shifted by a half.
    assert found[0] == pytest.approx([0.055, 0.01 * math.exp(-3.0)])
    assert found[1] == pytest.approx([0.01 * math.exp(-1.0), 0.55])
    assert found[2] == pytest.approx([0.01 * math.exp(-1.25), 0.55])
    runs = np.log([[0.2, 0.5, 0.3], [0.4, 0.3, 0.3]])
    by_name = p_values(table(), ("b", "a", "unlisted"), runs, 0)
    log_b, log_a = math.log(0.3), math.log(0.4)
    assert by_name == pytest.approx({"b": 1.0 + 0.3 * log_b, "a": 1.0 + 0.45 * log_a})


def test_the_listed_and_the_share_of_the_unlisted():
    def of(share: float) -> float:
        return p_listed(table(), ("a", "unlisted"), np.log([[1.0 - share, share]]), 0)

    between = 0.5 - 0.4 * math.log(0.3 / 0.2) / math.log(0.5 / 0.2)
    assert of(0.3) == pytest.approx(between)
    assert of(0.8) == pytest.approx(0.1 * 1.0 / 4.0)  # odds of 1 over odds of 4


def test_scores_by_hand():
    stated = np.array([[0.7, 0.2, 0.1], [0.3, 0.3, 0.4]])
    truth = np.array([0, 2])
    assert log_score(stated, truth) == pytest.approx(np.log([0.7, 0.4]))
    assert brier_score(stated, truth) == pytest.approx([0.14, 0.54])
    # Down to 0.9: 0.7 and 0.2 whole; of the other row 0.4, one 0.3, and 0.2 of the last 0.3.
    assert credible_set_cover(stated, np.array([2, 1])) == pytest.approx([0.0, 2.0 / 3.0])
    assert credible_set_cover(stated, truth) == pytest.approx([1.0, 1.0])
    found = reliability(np.array([[0.6, 0.4], [0.65, 0.35], [1.0, 0.0]]), np.array([0, 1, 0]))
    assert found.count.tolist() == [1, 0, 0, 0, 2, 2, 0, 0, 1]
    assert found.stated[[4, 5, 8]] == pytest.approx([0.375, 0.625, 1.0])
    assert found.happened[[0, 4, 5, 8]] == pytest.approx([0.0, 0.5, 0.5, 1.0])
    draws = np.linspace(0.0, 1.0, 101)
    assert interval_cover(draws, 0.06) and interval_cover(draws, 0.94)
    assert not interval_cover(draws, 0.04) and not interval_cover(draws, 0.96)


def test_values_are_not_changed_once_they_are_made(changeable):
    assert changeable(neutralpoint.weighing) == []
