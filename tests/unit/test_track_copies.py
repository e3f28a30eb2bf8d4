"""Copies of one transmission in several files: one reading, the mean of its times."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from neutralpoint.track import Observations, Track, align_tracks, join_tracks, without_copies

EPOCH = datetime(2030, 1, 1, tzinfo=UTC)
RADIUS = 6371000.0


def heard(time, stamp, *, noise, speed=120.0) -> Track:
    """Positions of a turning flight as one receiver stamps them."""
    turn = 0.005 * time
    north = speed / 0.005 * np.sin(turn) + noise[0]
    east = speed / 0.005 * (1.0 - np.cos(turn)) + noise[1]
    place = np.column_stack([0.7 + north / RADIUS, east / RADIUS / np.cos(0.7)])
    row = np.arange(time.size)
    none = np.zeros(time.size, dtype=bool)
    seen = Observations(stamp, place, 0.0, row, row * 0, none)
    level = Observations(stamp, 3000.0 + 7.62 * np.rint(time), 7.62, row, row * 0, none)
    return Track(EPOCH, position=seen, pressure_altitude=level)


def two(rng, late=0.8, share=0.7):
    """The same 400 transmissions; the second receiver misses some and stamps late."""
    time = np.arange(400) * 0.5
    noise = 8.0 * rng.standard_normal((2, 400))
    first = heard(time, time + 0.02 * rng.standard_normal(400), noise=noise)
    caught = np.flatnonzero(rng.random(400) < share)
    stamp = time[caught] + late + 0.02 * rng.standard_normal(caught.size)
    order = np.argsort(stamp)
    second = heard(time[caught][order], stamp[order], noise=noise[:, caught[order]])
    return first, second, caught.size


def test_copies_become_one_reading():
    first, second, caught = two(np.random.default_rng(1))
    tracks, clocks = align_tracks([first, second])
    assert clocks[1].fit.offset == pytest.approx(0.8, abs=4.0 * clocks[1].fit.offset_sigma)
    joined = join_tracks(tracks)
    assert len(joined.position) == 400 + caught
    single = without_copies(joined)
    assert len(single.position) == 400
    assert (np.diff(single.position.time) >= 0.0).all()
    assert np.abs(single.position.time - np.arange(400) * 0.5).max() < 0.12


def test_readings_of_one_source_are_no_copies():
    first, _, _ = two(np.random.default_rng(2))
    assert len(without_copies(first).position) == 400


def test_different_transmissions_stay():
    rng = np.random.default_rng(3)
    time = np.arange(200.0)
    one = heard(time, time, noise=5.0 * rng.standard_normal((2, 200)))
    other = heard(time + 0.3, time + 0.3, noise=5.0 * rng.standard_normal((2, 200)))
    joined = join_tracks([one, other])
    assert len(without_copies(joined).position) == 400


def test_one_good_copy_is_enough():
    first, second, caught = two(np.random.default_rng(4), late=0.0, share=1.0)
    doubted = replace(second.position, suspect=np.ones(caught, dtype=bool))
    joined = join_tracks([first, replace(second, position=doubted)])
    assert not without_copies(joined).position.suspect.any()


def test_what_the_clocks_leave_is_kept_as_an_error_in_common():
    first, second, _ = two(np.random.default_rng(5))
    tracks, clocks = align_tracks([first, second], [0.3, 0.0])
    left = clocks[1].fit.sigma(0.0)
    assert tracks[0].time_sigma == tracks[1].time_sigma >= 0.3
    assert tracks[0].time_sigma < 0.3 + left
    assert join_tracks(tracks).time_sigma == tracks[0].time_sigma
