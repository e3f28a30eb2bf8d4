"""The record: steps found, doubtful readings marked, sources joined."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.track import (
    Observations,
    Track,
    assess,
    flag_suspects,
    join_tracks,
    quantization_step,
)

EPOCH = datetime(2031, 4, 14, tzinfo=UTC)


def readings(time, value, step=0.0, suspect=None):
    time = np.asarray(time, dtype=float)
    row = np.arange(2, time.size + 2)
    none = np.zeros(time.size, dtype=bool)
    return Observations(
        time,
        np.asarray(value, dtype=float),
        step,
        row,
        row * 0,
        none if suspect is None else suspect,
    )


def flight(count=120, speed=100.0):
    """A straight level flight north at 1 Hz from 46 degrees."""
    time = np.arange(count, dtype=float)
    place = np.column_stack([0.8 + speed * time / 6371000.0, np.full(count, -0.6)])
    return Track(
        EPOCH,
        position=readings(time, place),
        pressure_altitude=readings(time, np.full(count, 2000.0), 7.62),
        ground_speed=readings(time, np.full(count, speed)),
    )


@pytest.mark.parametrize("step", [25.0, 100.0, 1.0, 64.0, 0.1, 1e-5, 7.62, 0.25])
def test_the_step_of_a_lattice_is_found(step):
    rng = np.random.default_rng(3)
    values = np.rint(np.cumsum(rng.normal(0.0, 2.0, 400)) * 3.0) * step
    assert quantization_step(values) == pytest.approx(step, rel=1e-3)


def test_the_step_is_found_beside_a_few_readings_off_the_lattice():
    rng = np.random.default_rng(4)
    values = np.rint(np.cumsum(rng.normal(0.0, 1.0, 500))) * 25.0
    values[rng.choice(500, 15, replace=False)] += rng.uniform(1.0, 24.0, 15)
    assert quantization_step(values) == pytest.approx(25.0)


def test_a_rate_converted_and_printed_with_two_decimals_keeps_its_step():
    rng = np.random.default_rng(5)
    rate = np.rint(np.cumsum(rng.normal(0.0, 2.0, 600))) * 64.0 * 0.00508
    assert quantization_step(np.round(rate, 2)) == pytest.approx(0.32512, rel=2e-3)


def test_continuous_readings_and_kept_levels_have_no_step():
    rng = np.random.default_rng(6)
    assert quantization_step(rng.normal(size=500)) == 0.0
    levels = np.repeat([3000.0, 6000.0, 9000.0], 100) + rng.normal(0.0, 2.0, 300)
    assert quantization_step(levels) == 0.0
    assert quantization_step(np.full(50, 7.0)) == 0.0
    assert quantization_step(np.array([])) == 0.0


def test_gaps_and_clock_are_reported():
    time = np.r_[np.arange(0.0, 20.0), np.arange(30.0, 50.0)]
    quality = assess(readings(time, np.zeros(time.size)))
    assert quality.interval == 1.0
    assert quality.clock == pytest.approx(1.0)
    assert [(g.start, g.end) for g in quality.gaps] == [(19.0, 30.0)]


def test_a_clock_of_milliseconds_is_seen():
    time = np.round(np.cumsum(np.random.default_rng(7).uniform(0.5, 1.5, 3000)), 3)
    assert assess(readings(time, time)).clock == pytest.approx(0.001)
    assert assess(readings(np.rint(time), time)).clock == pytest.approx(1.0)


def test_an_ordinary_flight_raises_no_suspicion():
    track, suspicions = flag_suspects(flight())
    assert suspicions == ()
    assert not track.position.suspect.any()


def test_a_wrong_bit_in_the_altitude_is_marked_and_kept():
    track = flight()
    track.pressure_altitude.value[60] += 304.8
    marked, suspicions = flag_suspects(track)
    assert [(s.quantity, s.row, s.reason) for s in suspicions] == [
        ("pressure_altitude", 62, "impossible jump")
    ]
    assert len(marked.pressure_altitude) == 120
    assert np.flatnonzero(marked.pressure_altitude.suspect).tolist() == [60]


def test_a_five_g_pull_is_not_called_impossible():
    track = flight()
    time = track.position.time
    track.pressure_altitude.value[:] = 2000.0 - 0.5 * 49.0 * np.clip(time - 60.0, 0.0, 4.0) ** 2
    assert flag_suspects(track)[1] == ()


def test_a_state_sent_again_is_stale_in_every_channel():
    track = flight()
    track.position.value[40] = track.position.value[39]
    _, suspicions = flag_suspects(track)
    assert {(s.quantity, s.row, s.reason) for s in suspicions} == {
        (name, 42, "stale repeat") for name in ("position", "pressure_altitude", "ground_speed")
    }


def test_a_position_alone_can_be_stale():
    track = flight()
    track.position.value[40] = track.position.value[39]
    track.pressure_altitude.value[40] += 7.62
    assert {s.quantity for s in flag_suspects(track)[1]} == {"position"}


def test_an_airplane_at_rest_is_not_stale():
    assert flag_suspects(flight(speed=0.0))[1] == ()


def test_the_second_of_two_equal_readings_is_a_duplicate():
    time = np.r_[0.0, 1.0, 1.0, 2.0, 3.0]
    track = Track(EPOCH, pressure_altitude=readings(time, [5.0, 6.0, 6.0, 6.0, 7.0]))
    assert [(s.row, s.reason) for s in flag_suspects(track)[1]] == [(4, "duplicate")]


def test_joining_keeps_every_reading_in_order_of_time():
    first = flight(count=10)
    later = Track(EPOCH + timedelta(seconds=0.5), ground_speed=readings([0.0, 1.0], [1.0, 2.0]))
    joined = join_tracks([first, later])
    assert len(joined.ground_speed) == 12
    assert (np.diff(joined.ground_speed.time) > 0.0).all()
    assert joined.ground_speed.source.sum() == 2
    assert joined.span() == (0.0, 9.0)


def test_joining_nothing_is_refused():
    with pytest.raises(NeutralPointError) as caught:
        join_tracks([])
    assert caught.value.code == "argument-invalid"


def test_sources_of_different_steps_keep_each_its_own():
    one, other = flight(60), flight(60)
    coarse = readings(other.pressure_altitude.time + 0.4, np.full(60, 2011.68), 30.48)
    joined = join_tracks([one, replace(other, pressure_altitude=coarse)])
    altitude = joined.pressure_altitude
    assert altitude.step == 30.48
    assert altitude.steps.tolist() == [7.62, 30.48] * 60
    fine, rough = altitude.by_step()
    assert (fine.step, rough.step, len(fine), len(rough)) == (7.62, 30.48, 60, 60)
    assert (np.diff(fine.time) == 1.0).all()
    assert joined.ground_speed.steps is None
    assert joined.ground_speed.by_step() == (joined.ground_speed,)
