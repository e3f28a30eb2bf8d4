"""Clocks of receivers: found with an honest error, from pairs of times and from positions."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from neutralpoint.track import (
    Observations,
    Track,
    align_tracks,
    compare_heights,
    fit_clock,
    join_tracks,
    watch_heights,
)
from neutralpoint.track.clocks import common_offset

EPOCH = datetime(2030, 1, 1, tzinfo=UTC)
RADIUS = 6371000.0


def channel(time, value):
    none = np.zeros(time.size, dtype=bool)
    row = np.arange(time.size)
    return Observations(time, value, 0.0, row, row * 0, none)


def seen(rng, *, late: float = 0.0, drift: float = 0.0, jitter: float = 0.05, start=0.0) -> Track:
    """A flight at 100 m/s in a gentle turn, as one receiver with its own clock sees it."""
    true = np.sort(start + rng.uniform(0.0, 400.0, 330))
    turn = 0.004 * true
    north, east = 100.0 / 0.004 * np.sin(turn), 100.0 / 0.004 * (1.0 - np.cos(turn))
    noise = 10.0 * rng.standard_normal((2, true.size))
    place = np.column_stack(
        [0.7 + (north + noise[0]) / RADIUS, (east + noise[1]) / RADIUS / np.cos(0.7)]
    )
    stamp = true + late + drift * (true - 200.0) + jitter * rng.standard_normal(true.size)
    order = np.argsort(stamp)
    return Track(EPOCH, position=channel(stamp[order], place[order]))


def test_offset_and_drift_are_covered_as_often_as_claimed():
    """200 synthetic clocks with one wild reading in twenty; 95 % intervals hold 95 %."""
    rng = np.random.default_rng(1)
    inside = np.zeros(2)
    for _ in range(200):
        time = np.sort(rng.uniform(0.0, 600.0, 150))
        other = time + 12.3 + 3e-5 * (time - np.median(time)) + 0.02 * rng.standard_normal(150)
        wild = rng.random(150) < 0.05
        other[wild] += rng.uniform(-2.0, 2.0, wild.sum())
        fit = fit_clock(time, other)
        inside += [
            abs(fit.offset - 12.3) < 1.96 * fit.offset_sigma,
            abs(fit.drift - 3e-5) < 1.96 * fit.drift_sigma,
        ]
    # Of 200 draws at 95 %, 180 to 199 is within three standard errors.
    assert (inside >= 180).all() and (inside <= 199).all(), inside


def test_too_few_pairs_give_no_clock():
    assert fit_clock(np.arange(7.0), np.arange(7.0)) is None


def test_common_offset_among_wrong_pairs():
    rng = np.random.default_rng(2)
    right = 31.4 + 0.01 * rng.standard_normal(40)
    wrong = rng.uniform(-120.0, 120.0, 400)
    assert common_offset(np.r_[right, wrong], 0.5) == pytest.approx(31.4, abs=0.02)


@pytest.mark.parametrize("late", [-37.0, 0.4, 44.2])
def test_records_of_two_receivers_are_put_on_one_clock(late):
    rng = np.random.default_rng(3)
    one, two = seen(rng), seen(rng, late=late, drift=1e-4)
    tracks, clocks = align_tracks([one, two])
    fit = clocks[1].fit
    assert abs(fit.offset - late) < 4.0 * fit.offset_sigma
    assert abs(fit.drift - 1e-4) < 4.0 * fit.drift_sigma
    assert fit.offset_sigma < 0.03
    assert len(join_tracks(tracks).position) == len(one.position) + len(two.position)
    assert "corrected" in clocks[1].said[0]


def test_epochs_of_their_own():
    rng = np.random.default_rng(4)
    one, two = seen(rng), seen(rng, late=5.0)
    moved = replace(
        two,
        epoch=EPOCH + timedelta(hours=1),
        position=replace(two.position, time=two.position.time - 3600.0),
    )
    tracks, clocks = align_tracks([one, moved])
    assert clocks[1].fit.offset == pytest.approx(5.0, abs=0.1)
    joined = join_tracks(tracks).position
    assert joined.time[joined.source == 1].max() < 402.0


def test_records_apart_in_time_are_left_as_they_are():
    rng = np.random.default_rng(5)
    later = seen(rng, start=5000.0)
    tracks, clocks = align_tracks([seen(rng), later])
    assert clocks[1].fit is None and "cannot be compared" in clocks[1].said[0]
    assert (tracks[1].position.time == later.position.time).all()


def with_heights(fault: float) -> Track:
    """A dive whose pressure altitude lags by `fault` metres for ten seconds."""
    rng = np.random.default_rng(6)
    time = np.arange(0.0, 200.0, 1.0)
    altitude = 5000.0 - 10.0 * time
    pressure = np.rint((altitude + np.where(abs(time - 150.0) < 5.0, fault, 0.0)) / 7.62) * 7.62
    height = 1.04 * altitude + 60.0 + 5.0 * rng.standard_normal(time.size)
    return Track(
        EPOCH,
        pressure_altitude=channel(time, pressure),
        geometric_altitude=channel(time, height),
    )


def test_weather_moves_the_altitudes_apart_without_a_word():
    found = compare_heights(with_heights(0.0))
    assert np.ptp(found.difference) > 60.0
    assert found.sigma == pytest.approx(np.hypot(5.0, 7.62 / 12**0.5), rel=0.15)
    assert len(watch_heights(with_heights(0.0))) == 1


def test_an_altitude_fault_in_a_dive_is_told():
    said = watch_heights(with_heights(120.0))
    assert len(said) == 2 and "static" in said[1]
    assert watch_heights(Track(EPOCH)) == ()
