"""What a flight came to and the latest safe action, held against numbers worked out by hand."""

from __future__ import annotations

from types import SimpleNamespace

import jax.numpy as jnp
import numpy as np
import pytest

from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.state import State
from neutralpoint.response import maps
from neutralpoint.response.maps import latest_safe_action, repeat, saved_over_height
from neutralpoint.response.outcome import Outcome, Watch, at_the_end, look, saved
from neutralpoint.response.trials import Trials

STEP = 0.1
RHO0 = 1.225  # kg/m3, US Standard Atmosphere 1976 at sea level


INCIDENCE = 0.1  # rad that the airplane below has to its stall in level flight at 65 m/s


def state(*, down=0.0, sink=0.0, bank=0.0, pitch=0.0) -> State:
    """60 m/s north and 25 m/s east, at a height, sinking, banked."""
    return State(
        north=0.0, east=0.0, down=down, velocity_north=60.0, velocity_east=25.0,
        velocity_down=sink, e0=np.cos(0.5 * bank) * np.cos(0.5 * pitch),
        e1=np.sin(0.5 * bank) * np.cos(0.5 * pitch), e2=np.cos(0.5 * bank) * np.sin(0.5 * pitch),
        e3=-np.sin(0.5 * bank) * np.sin(0.5 * pitch),
        roll_rate=0.0, pitch_rate=0.0, yaw_rate=0.0, power=(),
    )  # fmt: skip


def carried(*, time=20.0, load=1.0, force=0.0, trim=0.0, **where):
    return SimpleNamespace(
        time=jnp.asarray(time),
        state=state(**where),
        trim=trim,
        felt=SimpleNamespace(normal=load),
        mind=SimpleNamespace(force=force, recognised=2.0),
    )


def a_setting(*, sink=0.0):
    """The procedure begins at 2 s + 1 s and takes 3 s."""
    return SimpleNamespace(
        air=make_air(),
        state=state(sink=sink),
        pilot=SimpleNamespace(act_at=np.inf, reaction=1.0),
        timetable=SimpleNamespace(end=3.0),
        airplane=SimpleNamespace(
            longitudinal=SimpleNamespace(stall_angle=0.08, stall_angle_flap=0.04)
        ),
        inputs=SimpleNamespace(flap=0.5),
    )


def before(level=2.0, trim=0.0, recovered=np.inf) -> Watch:
    worst = Outcome(
        10.0, 2000.0, 1.1, 3000.0, 1.5, 0.8, 50.0, 900.0, 0.3, 0.05, 40.0, 25.0,
        jnp.asarray(recovered),
    )  # fmt: skip
    return Watch(SimpleNamespace(trim=trim), worst, jnp.asarray(level))


def after(*, level=2.0, settled=0.0, sink_at_start=0.0, recovered=np.inf, nose=1.0, **now) -> Watch:
    setting, been = a_setting(sink=sink_at_start), before(level, recovered=recovered)
    return look(setting, been, carried(**now), settled, STEP, nose=nose)


@pytest.mark.parametrize(
    ("now", "calm"),
    [
        ({}, True),
        ({"sink": 1.0}, True),  # as fast as counts as level
        ({"sink": 1.01}, False),
        ({"sink": 6.0, "sink_at_start": 5.0}, True),  # back in the descent that it was in
        ({"sink": 6.1, "sink_at_start": 5.0}, False),
        ({"sink": 1.1, "sink_at_start": -5.0}, False),  # a climb need not be taken up again
        ({"sink": 0.9, "sink_at_start": -5.0}, True),  # nor a part of it
        ({"bank": 0.49}, True),
        ({"bank": -0.51}, False),
        ({"trim": 0.001}, False),
    ],
)
def test_time_in_level_flight_is_added_up_and_begins_anew_from_nothing(now, calm):
    assert float(after(**now).level) == pytest.approx(2.1 if calm else 0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("now", "calm"),
    [
        ({}, True),
        ({"sink": -1.0}, True),  # climbs as fast as counts as level
        ({"sink": -1.01}, False),
        ({"sink": -6.0, "sink_at_start": -5.0}, True),  # back in the climb that it was in
        ({"sink": -6.1, "sink_at_start": -5.0}, False),
        ({"sink": -1.1, "sink_at_start": 5.0}, False),  # a descent need not be taken up again
        ({"sink": 1.01}, False),
        ({"pitch": 0.09}, True),
        ({"pitch": 0.11}, False),  # level, and stalled
    ],
)
def test_after_a_nose_up_fault_a_climb_is_no_recovery_nor_is_a_stall(now, calm):
    assert float(after(nose=-1.0, **now).level) == pytest.approx(2.1 if calm else 0.0, abs=1e-12)


def test_a_climb_and_a_stall_are_let_be_after_any_other_fault():
    for nose in (0.0, 1.0):
        assert float(after(nose=nose, sink=-9.0, pitch=0.2).level) == pytest.approx(2.1)


def test_how_slow_how_steep_and_how_far_down_from_the_top():
    worst = after(down=-60.0, pitch=0.4).worst  # 60 m up, 20 m above the highest point so far
    assert float(worst.height_gained) == 60.0 and float(worst.dropped) == 25.0
    assert float(worst.pitch_high) == pytest.approx(0.4)
    # Heading north with 25 m/s from the left: the incidence is that of 60 m/s along the nose.
    assert float(worst.spare_low) == pytest.approx(INCIDENCE - 0.4)
    assert float(worst.pressure_low) == 900.0
    worst = after(down=-5.0).worst  # 35 m below it
    assert float(worst.height_gained) == 40.0 and float(worst.dropped) == 35.0
    assert float(worst.pitch_high) == 0.3 and float(worst.spare_low) == 0.05


def test_recovered_is_four_seconds_of_level_flight_after_all_is_done():
    # The procedure ends at 6 s: not before 10 s, nor before 4 s after the fault has settled.
    def recovered(time, level, settled=0.0):
        return float(after(time=time, level=level, settled=settled).worst.recovered)

    assert recovered(10.0, 3.95) == 10.0
    assert recovered(9.9, 8.0) == np.inf
    assert recovered(10.0, 3.85) == np.inf
    assert recovered(13.9, 8.0, settled=10.0) == np.inf
    assert recovered(14.0, 8.0, settled=10.0) == 14.0


def test_the_lowest_point_has_its_own_pressure_and_load():
    pressure = 0.5 * RHO0 * (60.0**2 + 25.0**2 + 10.0**2)
    worst = after(down=12.0, sink=10.0, load=0.9, force=-80.0).worst
    assert float(worst.height_lost) == 12.0
    # 12 m below height 0 the air is denser by 0.12 %.
    assert float(worst.lowest_pressure) == pytest.approx(pressure, rel=2e-3)
    assert float(worst.lowest_load) == 0.9 and float(worst.pull) == 80.0
    assert float(worst.pressure_high) == 3000.0 and float(worst.load_factor_high) == 1.5
    assert float(worst.load_factor_low) == 0.8
    higher = after(down=8.0, sink=60.0, load=1.7).worst
    assert float(higher.height_lost) == 10.0 and float(higher.lowest_pressure) == 2000.0
    assert float(higher.lowest_load) == 1.1 and float(higher.load_factor_high) == 1.7
    fast = 0.5 * RHO0 * (60.0**2 + 25.0**2 + 60.0**2)
    assert float(higher.pressure_high) == pytest.approx(fast, rel=2e-3)


def test_what_comes_after_recovery_counts_no_more():
    worst = after(down=99.0, sink=60.0, load=3.0, force=200.0, recovered=15.0).worst
    assert [float(value) for value in worst] == [
        10.0, 2000.0, 1.1, 3000.0, 1.5, 0.8, 50.0, 900.0, 0.3, 0.05, 40.0, 25.0, 15.0,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("over", "level", "recovered", "then"),
    [
        (True, 4.0, np.inf, 20.0),
        (True, 3.9, np.inf, np.inf),
        (False, 9.0, np.inf, np.inf),
        (True, 9.0, 12.0, 12.0),
    ],
)
def test_who_is_level_when_time_is_up_has_recovered(over, level, recovered, then):
    watch = before(level, recovered=recovered)._replace(carry=SimpleNamespace(time=20.0))
    assert float(at_the_end(watch, jnp.asarray(over)).recovered) == then


def outcomes(lost, recovered) -> Outcome:
    return Outcome(np.asarray(lost), *[np.zeros(len(lost))] * 11, np.asarray(recovered))


def test_saved_is_recovered_above_the_ground():
    found = outcomes([10.0, 300.0, 300.0, 20.0], [9.0, 9.0, 9.0, np.inf])
    assert np.asarray(saved(found, 300.0)).tolist() == [True, False, False, False]
    share = saved_over_height(found, np.array([5.0, 100.0, 301.0]))
    np.testing.assert_allclose(share, [0.0, 0.25, 0.75])


def test_the_latest_safe_action_is_halved_in_on(monkeypatch):
    """Pilots whose true limit is known: one too late at once, one always in time."""
    limit = np.array([-1.0, 3.0, 11.0, 29.9, 45.0])

    def fly(setting, trials, *, deepest):
        late = trials.act_at - 7.0 > limit[trials.number.astype(int)]
        assert setting == "here" and deepest == 500.0
        return outcomes(np.full(late.size, 100.0), np.where(late, np.inf, 20.0))

    monkeypatch.setattr(maps, "fly_trials", fly)
    each = np.arange(5.0)
    trials = Trials(each, each, each, (), *[each] * 8)
    latest = latest_safe_action("here", trials, fault=7.0, height=500.0)
    assert latest[0] == -1.0 and latest[4] == np.inf
    short = limit[1:4] - latest[1:4]
    assert short.min() >= 0.0 and short.max() <= 30.0 / 2**8


def test_repeat_runs_through_all_before_it_begins_again():
    assert repeat(np.array([1.0, 2.0]), 3).tolist() == [1.0, 2.0, 1.0, 2.0, 1.0, 2.0]
