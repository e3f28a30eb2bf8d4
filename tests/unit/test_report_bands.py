"""Bands and key times."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.findings import Event, banded
from neutralpoint.numerics.quantiles import LEVELS, bands
from neutralpoint.study.motion.key_times import key_times


def test_bands_are_the_quantiles_of_a_known_distribution() -> None:
    samples = np.random.default_rng(1).normal(3.0, 2.0, (40_000, 2))
    z05, z25 = 1.6449, 0.6745  # standard normal quantiles, Abramowitz and Stegun table 26.1
    expected = 3.0 + 2.0 * np.array([-z05, -z25, 0.0, z25, z05])
    sampling_error = 0.05  # 4 sigma of a 5 % quantile of 40,000
    np.testing.assert_allclose(bands(samples)[:, 0], expected, atol=sampling_error)


def test_course_through_north_has_a_narrow_band() -> None:
    course = np.radians(np.linspace(340.0, 380.0, 30))
    samples = course + np.random.default_rng(2).normal(0.0, 0.01, (50, 30))
    wrapped = np.mod(samples, 2 * np.pi)
    found = bands(wrapped, circular=True)
    assert np.ptp(found, axis=0).max() < 0.06
    np.testing.assert_allclose(np.mod(found[2] - course + 1.0, 2 * np.pi), 1.0, atol=0.01)


def test_one_course_across_north_is_banded_as_an_angle() -> None:
    value = banded(np.radians(np.array([359.0, 0.0, 1.0, 358.0, 2.0])), "rad", circular=True)
    assert value.high90 - value.low90 < np.radians(4.1)


def test_key_times_find_extremes_and_events_in_order() -> None:
    time = np.linspace(0.0, 10.0, 41)
    load = np.ones((8, 41))
    load[:, 20] = 0.2
    load[:, 30] = 2.0
    load[:, 35] = 9.0
    seen = np.ones(41, bool)
    seen[35] = False
    rows = key_times(
        time,
        {"normal_load_factor": load},
        {"normal_load_factor": seen},
        names=("normal_load_factor",),
        events=[
            Event(time=3.1, kind="voice", text="call"),
            Event(time=99.0, kind="voice", text="too late"),
        ],
    )
    assert [row.label for row in rows] == [
        "first fix",
        "call",
        "lowest load factor",
        "highest load factor",
        "last fix",
    ]
    assert [row.kind for row in rows] == ["derived", "fact", "derived", "derived", "derived"]
    assert rows[3].values["normal_load_factor"].median == pytest.approx(2.0)


def test_a_climb_has_no_steepest_descent_and_the_ground_no_extreme() -> None:
    time = np.linspace(0.0, 10.0, 41)
    angle = np.full((8, 41), 0.05)
    angle[:, 5] = -0.2
    seen, flown = np.ones(41, bool), time > 5.0
    labels = [
        [row.label for row in key_times(time, {name: angle}, {name: seen}, names=(), flown=where)]
        for name, where in (("flight_path_angle", None), ("flight_path_angle", flown))
    ]
    assert labels == [["first fix", "steepest descent", "last fix"], ["first fix", "last fix"]]


def test_a_steady_climb_has_no_extreme_and_a_dive_at_the_end_of_the_record_has() -> None:
    rng = np.random.default_rng(2)
    time = np.linspace(0.0, 60.0, 241)
    wiggle = 2.0 * rng.standard_normal((200, 241))
    climb = {"pressure_altitude": 1000.0 + 5.0 * time + wiggle}
    fast = {"calibrated_airspeed": 90.0 + np.maximum(time - 40.0, 0.0) ** 2 / 10.0 + wiggle}
    seen = np.ones(241, bool)
    found = [
        [row.label for row in key_times(time, paths, dict.fromkeys(paths, seen), names=())]
        for paths in (climb, fast)
    ]
    assert found[0] == ["first fix", "last fix"]
    assert "highest calibrated airspeed" in found[1]


def test_an_extreme_is_that_of_each_path() -> None:
    rng = np.random.default_rng(3)
    time = np.linspace(0.0, 60.0, 241)
    name = "normal_load_factor"
    load = 1.0 + 0.4 * np.exp(-(((time - 30.0) / 4.0) ** 2))
    paths = load + 0.1 * rng.standard_normal((400, 241))
    rows = key_times(time, {name: paths}, {name: np.ones(241, bool)}, names=(name,))
    row = next(row for row in rows if row.label == "highest load factor")
    own = paths.max(axis=1)
    band = row.values[name]
    assert np.mean((own >= band.low90) & (own <= band.high90)) == pytest.approx(0.9, abs=0.01)
    assert row.time == pytest.approx(30.0, abs=3.0)


def test_quantiles_are_those_of_numpy():
    rng = np.random.default_rng(5)
    for shape in ((200, 5000), (1, 3), (2, 7), (7, 1)):
        samples = rng.normal(size=shape)
        wanted = np.quantile(samples, LEVELS, axis=0)
        assert np.abs(bands(samples) - wanted).max() < 1e-14  # rounding of the interpolation
    samples[2, 0] = np.nan
    assert np.isnan(bands(samples)).all()
