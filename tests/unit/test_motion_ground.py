"""Where the airplane is on the ground, from speed and height."""

from __future__ import annotations

import numpy as np

from neutralpoint.motion import LiftData, on_ground, stretches
from neutralpoint.quantities import KNOT

# Stalls at 43.7 m/s: 1600 kg on 14 m2 with a largest lift coefficient of 1.0 less what air weighs.
LIFT = LiftData(1600.0, 14.0, 5.0, 0.0, 1.0)
STALL = float(np.sqrt(2.0 * 1600.0 * 9.80665 / (1.225 * 14.0)))


def paths(speed, height, time, spread=1.0):
    """Sample paths of one history, with a wind error on the speed."""
    error = spread * np.random.default_rng(3).standard_normal((50, 1))
    rate = np.gradient(height, time)
    return {
        "dynamic_pressure": 0.5 * 1.225 * (speed + error) ** 2,
        "vertical_speed": np.tile(rate, (50, 1)),
        "pressure_altitude": np.tile(height, (50, 1)),
    }


def test_take_off_and_landing_are_cut_where_the_airplane_is_clear_of_the_ground():
    time = np.arange(0.0, 400.0, 0.5)
    speed = np.interp(time, [0, 60, 90, 300, 330, 400], [5, 5, 55, 55, 10, 0])
    height = np.interp(time, [0, 84, 150, 240, 305, 400], [100, 100, 350, 350, 100, 100])
    ground = on_ground(time, paths(speed, height, time), LIFT)
    (first, last), (again, end) = stretches(ground)
    assert first == 0
    assert end == time.size - 1
    assert 84.0 < time[last] <= 87.5  # 10 m of climb at 3.8 m/s
    assert 302.0 <= time[again] < 305.0


def test_a_slow_zoom_and_flight_near_the_stall_are_no_ground():
    time = np.arange(0.0, 100.0, 0.5)
    zoom = np.where(np.abs(time - 50.0) < 8.0, 0.5, 2.0) * STALL
    height = 2000.0 - 4.9 * np.clip(np.abs(time - 50.0), 0.0, 8.0) ** 2
    assert not on_ground(time, paths(zoom, height, time), LIFT).any()
    level = np.full_like(time, 2000.0)
    assert not on_ground(time, paths(np.full_like(time, 0.8 * STALL), level, time), LIFT).any()


def test_a_speed_that_the_wind_leaves_open_is_not_called_too_slow():
    time = np.arange(0.0, 100.0, 0.5)
    still = np.full_like(time, 0.6 * STALL)
    level = np.full_like(time, 500.0)
    assert on_ground(time, paths(still, level, time, 2.0 * KNOT), LIFT).all()
    assert not on_ground(time, paths(still, level, time, 20.0 * KNOT), LIFT).any()


def test_a_feed_that_freezes_at_the_end_takes_no_flight_with_it():
    time = np.arange(0.0, 200.0, 0.5)
    speed = np.interp(time, [0, 150, 152, 200], [90, 90, 0, 0])
    (first, _), *more = stretches(
        on_ground(time, paths(speed, np.full_like(time, 800.0), time), LIFT)
    )
    assert not more
    assert 150.0 <= time[first] <= 152.0


def test_a_rejected_take_off_is_all_ground():
    time = np.arange(0.0, 200.0, 0.5)
    speed = np.interp(time, [0, 60, 90, 110, 140, 200], [5, 5, 55, 55, 5, 5])
    level = np.full_like(time, 30.0)
    assert on_ground(time, paths(speed, level, time), LIFT).all()


def test_the_ground_ends_where_the_airplane_is_ten_metres_above_it():
    """Half a second between nodes; 2 m/s up from 60 s on: 10 m at 65 s, and more from then on."""
    time = np.arange(0.0, 200.0, 0.5)
    speed = np.where(time <= 50.0, 0.3, 0.9) * STALL
    height = 400.0 + 2.0 * np.maximum(time - 60.0, 0.0)
    (run,) = stretches(on_ground(time, paths(speed, height, time, 0.0), LIFT))
    assert (time[run[0]], time[run[1]]) == (0.0, 65.0)
    back = on_ground(time, paths(speed[::-1], height[::-1], time, 0.0), LIFT)
    assert [(time[a], time[b]) for a, b in stretches(back)] == [(134.5, 199.5)]
    # No climb: a roll may take a minute, unless it is too fast for one.
    level = np.full_like(time, 400.0)
    (run,) = stretches(on_ground(time, paths(speed, level, time, 0.0), LIFT))
    assert time[run[1]] == 110.0
    fast = np.where(time <= 50.0, 0.3, np.where(time < 70.0, 0.9, 1.4)) * STALL
    (run,) = stretches(on_ground(time, paths(fast, level, time, 0.0), LIFT))
    assert time[run[1]] == 69.5


def test_between_two_rolls_without_a_flight_it_is_all_ground():
    """200 s, 5 m up; a flight at 12 m, or of five minutes, is one."""
    for up, apart, flown in ((5.0, 200.0, False), (12.0, 200.0, True), (5.0, 301.0, True)):
        time = np.arange(0.0, apart + 100.0, 0.5)
        away = (time > 50.0) & (time < 50.0 + apart)
        speed, height = np.where(away, 0.9, 0.3) * STALL, 400.0 + up * away
        found = on_ground(time, paths(speed, height, time, 0.0), LIFT)
        assert found.all() != flown
        assert found[time <= 50.0].all() and found[time >= 50.0 + apart].all()
