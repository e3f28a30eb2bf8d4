"""What each cause does to the path, against the signature matrix of the trade.

Facts marked "common practice, no source" are the trade's; published figures of real cases serve as
plausibility only (order of magnitude) because only summaries of the reports were seen.
"""

from __future__ import annotations

import dataclasses

import jax
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neutralpoint.airplane.model import StopDevice
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.dynamics.state import attitude
from neutralpoint.explanations import (
    CAUSES,
    Action,
    Autopilot,
    Pilot,
    fly,
    timetable,
    trimmed_setting,
)
from neutralpoint.explanations.any_cause import ANY_CAUSE, as_any
from neutralpoint.quantities import DEGREE, POUND_FORCE
from neutralpoint.response.force import pull_to_hold, without_hands

START = 10.0
LONGEST = 70.0  # s; every flight is flown as long by one compiled program, and cut
FLY = jax.jit(fly, static_argnames=("cause", "duration", "step", "record_every"))


@pytest.fixture(scope="module")
def setting(commuter):
    """A climb soon after take-off."""
    drive = dataclasses.replace(commuter.trim_drive, autopilot_rate=0.004)
    airplane = dataclasses.replace(commuter, trim_drive=drive)
    condition = Condition(speed=80.0, height=600.0, path_angle=0.05)
    return trimmed_setting(airplane, make_air(), condition)


class Path:
    """A flight as NumPy arrays with the names the trade uses."""

    def __init__(self, setting, name, duration=40.0, **changes):
        cause = CAUSES[name]
        parameters = cause.middle() | {"start": START} | changes
        how = {"duration": LONGEST, "record_every": 2, "key": jax.random.key(4)}
        if cause.turbulent:
            parameters.pop("start")
            flight = FLY(setting, cause, parameters, **how)
        else:
            flight = FLY(setting, ANY_CAUSE, as_any(cause, parameters), **how)
        kept = np.asarray(flight.time) < duration - 1e-6
        self.flight = flight = jax.tree.map(lambda leaf: np.asarray(leaf)[kept], flight)
        bank, pitch, _ = attitude(flight.state)
        self.time = np.asarray(flight.time)
        self.bank, self.pitch = np.asarray(bank), np.asarray(pitch)
        self.climb = -np.asarray(flight.state.velocity_down)
        self.n = np.asarray(flight.readings.normal_load_factor)
        r = flight.readings
        alpha = np.asarray(r.angle_of_attack)
        along = np.asarray(r.forward_load_factor) * np.cos(alpha)
        self.nx = along - self.n * np.sin(alpha)
        self.speed = np.asarray(r.true_airspeed)
        self.lift = np.asarray(r.lift_coefficient)
        self.trim = np.asarray(flight.trim)
        self.force = np.asarray(flight.applied_force)

    def during(self, values, begin, end):
        """Values in a time span, from the start of the cause."""
        return values[(self.time >= START + begin) & (self.time < START + end)]

    def at(self, values, after):
        """Value at a time after the start of the cause."""
        return np.interp(START + after, self.time, values)


@pytest.fixture(scope="module")
def runaway(setting):
    return Path(setting, "stabilizer-runaway", rate_share=0.95, run=60.0)


def test_runaway_sags_first_then_steepens(runaway):
    """Climb rate sags, wings level, n below 1, energy unchanged; then a steep accelerating dive."""
    assert np.all(np.diff(runaway.during(runaway.climb, 0.5, 4.0)) < 0.0)
    assert np.abs(runaway.during(runaway.bank, 0, 10)).max() < 3 * DEGREE
    early = runaway.during(runaway.n, 1.0, 8.0)
    assert 0.3 < early.min() < 0.95
    assert runaway.during(runaway.n, 3.0, 6.0).max() > early.min() + 0.1  # pulled back for a while
    assert np.abs(runaway.during(runaway.nx, 0.0, 4.0) - runaway.at(runaway.nx, -1.0)).max() < 0.03
    assert runaway.at(runaway.pitch, 15.0) < -20 * DEGREE
    assert runaway.at(runaway.speed, 15.0) > runaway.at(runaway.speed, 0.0) + 20.0


def test_runaway_moves_the_trim_at_one_rate_then_stands_at_the_stop(runaway, setting):
    drive = setting.airplane.trim_drive
    rates = np.diff(runaway.during(runaway.trim, 0.5, 4.0)) / 0.1
    np.testing.assert_allclose(rates, 0.95 * drive.rate, rtol=1e-6)
    assert runaway.trim[-1] == pytest.approx(drive.travel_max, abs=1e-9)


def test_force_passes_70_lb_soon_after_take_off(runaway, setting):
    """Common practice, no source: forces in a stabilizer runaway can pass 70 lb."""
    needed = np.asarray(pull_to_hold(setting, runaway.flight))
    soon = runaway.during(needed, 0.0, 15.0)
    assert soon.max() > 70.0 * POUND_FORCE
    assert np.abs(runaway.during(needed, -5.0, 0.0)).max() < 5.0 * POUND_FORCE
    # What the trim alone adds grows with the square of speed once the trim rests at its stop.
    unmoved = dataclasses.replace(runaway.flight, trim=0.0 * runaway.trim + runaway.trim[0])
    added = needed - np.asarray(pull_to_hold(setting, unmoved))
    resting = runaway.trim >= setting.airplane.trim_drive.travel_max - 1e-9
    fast = resting & (runaway.time < START + 14.0)
    slope = np.polyfit(np.log(runaway.speed[fast]), np.log(added[fast]), 1)[0]
    assert slope == pytest.approx(2.0, abs=0.15)


def test_slow_runaway_is_subtle_while_corrected_by_hand(setting):
    """Common practice, no source: vertical speed oscillates as the pilot corrects by hand, then
    it takes seconds to a steep, accelerating dive."""
    pilot = Pilot(crossover=1.0, outer=0.3, holding=0.4, strength=330.0)
    hand = dataclasses.replace(setting, pilot=pilot)
    path = Path(hand, "stabilizer-runaway", duration=60.0, rate_share=0.25, run=60.0)

    def restless(begin, end):
        climb, time = path.during(path.climb, begin, end), path.during(path.time, begin, end)
        return np.var(climb - np.polyval(np.polyfit(time, climb, 1), time))

    assert restless(0.0, 12.0) > 3.0 * restless(-9.0, 0.0)
    corrections = np.diff(np.sign(np.diff(path.during(path.climb, 0.0, 20.0))))
    assert np.count_nonzero(corrections) >= 2
    assert path.during(path.pitch, 0.0, 12.0).min() > -8 * DEGREE
    level = path.time[path.pitch > 0.0].max()
    steep = path.time[np.argmax(path.pitch < -30 * DEGREE)]
    assert 0.0 < steep - level < 12.0  # after nearly twenty subtle seconds
    assert level > START + 15.0
    assert np.interp(steep + 4.0, path.time, path.speed) > path.at(path.speed, 0.0) + 20.0


def test_trim_that_is_let_go_moves_again(setting):
    path = Path(
        setting, "intermittent-runaway", duration=30.0, first_run=3.0, pause=4.0, rate_share=0.4
    )
    still = path.during(path.trim, 3.2, 6.8)
    assert np.ptp(still) == 0.0
    assert path.at(path.trim, 10.0) > still[0] + 0.01


def test_hold_and_latch_in_flight(setting):
    """Held it stands exactly still, let go it runs on; latched it stands for good."""
    button = StopDevice(
        name="button", kind="momentary_hold", reach_time=0.5, hands=0, release_restarts=True
    )
    latch = StopDevice(
        name="latch", kind="latching_disconnect", reach_time=0.5, hands=0, release_restarts=False
    )
    hold = (Action(kind="hold", device="button"), Action(kind="release", device="button", wait=3))
    once = (Action(kind="press", device="latch"),)
    ends = []
    for steps in (hold, once):
        pilot = dataclasses.replace(setting.pilot, act_at=START + 2.0, trims=0.0)
        times = timetable((button, latch), steps)
        fixed = dataclasses.replace(setting, pilot=pilot, timetable=times)
        path = Path(fixed, "stabilizer-runaway", duration=20.0, rate_share=0.3, run=60.0)
        assert np.ptp(path.during(path.trim, 2.7, 5.3)) == 0.0
        ends.append(path.during(path.trim, 5.8, 9.0))
    rate = 0.3 * setting.airplane.trim_drive.rate
    np.testing.assert_allclose(np.diff(ends[0]) / 0.1, rate, rtol=1e-6)
    assert np.ptp(ends[1]) == 0.0


def test_autopilot_trims_slowly_then_lets_go_with_a_step(setting):
    machine = dataclasses.replace(setting, autopilot=Autopilot(trim_force=15.0))
    path = Path(machine, "autopilot-mistrim", load=140.0, hold=20.0)
    assert np.abs(path.during(path.n, 5.0, 19.0) - 1.0).max() < 0.1
    assert np.abs(path.during(path.bank, 0.0, 25.0)).max() < 3 * DEGREE
    assert np.abs(path.during(path.nx, 0.0, 19.0) - path.at(path.nx, -1.0)).max() < 0.02
    slow = np.diff(path.during(path.trim, 0.0, 19.0)) / 0.1
    assert 0.0 < slow.max() <= 0.004 + 1e-12
    assert path.during(path.n, 20.0, 24.0).min() < 0.85


def test_separation_has_no_rate_limit(setting):
    path = Path(setting, "separation", jump=4 * DEGREE, snap=0.2, disconnected=1.0)
    rate = np.diff(path.during(path.trim, -0.5, 0.5)).max() / 0.1
    assert rate > 10.0 * setting.airplane.trim_drive.rate
    assert path.during(path.n, 0.0, 3.0).min() < 0.2
    assert np.ptp(path.during(path.n, -8.0, -0.1)) < 0.01  # quiet before
    assert np.abs(path.during(path.nx, 0.0, 1.5) - path.at(path.nx, -1.0)).max() < 0.05


def test_a_jammed_elevator_does_not_follow_the_column(setting):
    path = Path(setting, "elevator-jam", duration=20.0, angle=1 * DEGREE)
    stuck = path.during(np.asarray(path.flight.readings.elevator), 0.1, 10.0)
    assert np.ptp(stuck) < 1e-12
    assert path.during(path.n, 0.0, 5.0).min() < 0.9
    assert np.abs(path.during(path.nx, 0.0, 1.5) - path.at(path.nx, -1.0)).max() < 0.03


@pytest.mark.parametrize(("name", "sign"), [("load-shift-aft", 1), ("load-shift-forward", -1)])
def test_load_shift_turns_the_nose_its_own_way(setting, name, sign):
    """Aft shift pitches up, forward down, in a slide of 1 to 3 s, and power is unchanged."""
    alone = without_hands(setting)
    path = Path(alone, name, moved=0.03, distance=2.0)
    assert sign * (path.at(path.pitch, 3.0) - path.at(path.pitch, 0.0)) > 1 * DEGREE
    assert np.abs(path.during(path.bank, 0, 5)).max() < 1 * DEGREE
    assert sign * (path.at(path.n, 2.5) - 1.0) > 0.0
    assert np.abs(path.during(path.nx, 0.0, 2.0) - path.at(path.nx, -1.0)).max() < 0.02


def test_a_moved_load_weighs_with_load_factor_and_not_with_speed(runaway, setting):
    """What a shift adds to the pull goes with W n: the key to telling it from trim."""
    before = runaway.flight
    shifted = dataclasses.replace(before, cg_shift=before.cg_shift - 0.06)
    added = np.asarray(pull_to_hold(setting, shifted)) - np.asarray(pull_to_hold(setting, before))
    upright = np.sqrt(1.0 - (runaway.climb / runaway.speed) ** 2)  # load factor that was held
    spell = (runaway.time > START) & (runaway.time < START + 14.0)
    slope = np.polyfit(np.log(runaway.speed[spell]), np.log((added / upright)[spell]), 1)[0]
    assert slope == pytest.approx(0.0, abs=0.15)
    assert runaway.speed[spell].max() > 1.25 * runaway.speed[spell].min()


def test_aft_shift_alone_drives_no_steepening_dive(setting):
    """Common practice, no source."""
    path = Path(without_hands(setting), "load-shift-aft", moved=0.02, distance=2.0)
    assert path.during(path.pitch, 0.0, 8.0).min() > 0.0


def test_power_cut_alone_is_a_phugoid(setting):
    """Common practice, no source: power or gravity alone gives no steepening dive."""
    path = Path(without_hands(setting), "power-loss-all", duration=70.0, lost=1.0)
    assert path.at(path.nx, 4.0) < path.at(path.nx, -1.0) - 0.05  # the first sign: a step down
    assert np.abs(path.during(path.n, 0.0, 40.0) - 1.0).max() < 0.35
    lowest = path.pitch.argmin()
    assert path.pitch[lowest] > -25 * DEGREE
    assert path.pitch[lowest:].max() > path.pitch[lowest] + 3 * DEGREE  # it comes up again


def test_wing_stall_comes_at_the_largest_lift_with_little_speed(setting):
    path = Path(setting, "wing-stall", duration=60.0, power=-0.5, lift_limit=0.7, lean=0.01)
    assert path.speed[-1] < path.at(path.speed, 0.0) - 8.0
    top = path.lift.max()
    assert path.during(path.lift, 25.0, 50.0).max() == pytest.approx(top, rel=1e-6)
    assert np.abs(path.during(path.bank, 0.0, 50.0)).max() > np.abs(path.bank[:50]).max()
    assert path.during(path.speed, 0.0, 50.0).max() < path.at(path.speed, 0.0) + 20.0
    assert path.during(path.nx, 4.0, 10.0).max() < path.at(path.nx, -1.0) - 0.08  # falls first
    assert path.during(path.n, 28.0, 50.0).min() < 0.6


def test_tail_stall_is_sudden(setting):
    path = Path(setting, "tailplane-stall", duration=20.0, loss=0.4, flap=0.0, hinge=0.08)
    assert path.during(path.n, 0.0, 2.0).min() < 0.7
    assert np.abs(path.during(path.bank, 0, 3)).max() < 1 * DEGREE
    assert np.abs(path.during(path.nx, 0.0, 0.5) - path.at(path.nx, -1.0)).max() < 0.05


def test_one_engine_lost_yaws_and_slows(setting):
    """First a step of n_x; n stays near 1; sideslip breaks the assumption of none."""
    path = Path(setting, "power-loss-one", duration=30.0, lost=1.0, engine=1.0, feather=0.0)
    # Until the other engine is given all it has, which takes the pilot three seconds.
    assert path.during(path.nx, 0.0, 6.0).min() < path.at(path.nx, -1.0) - 0.08
    assert np.abs(path.during(path.n, 0.0, 15.0) - 1.0).max() < 0.1
    slip = np.asarray(path.flight.readings.sideslip)
    assert np.abs(path.at(slip, 8.0)) > 0.5 * DEGREE > 10.0 * np.abs(path.at(slip, -1.0))


def test_spiral_turns_and_pulls(setting):
    path = Path(setting, "spiral-dive", duration=45.0, lean=0.01)
    assert 30 * DEGREE < path.during(path.bank, 15.0, 30.0).max() < 90 * DEGREE
    assert path.during(path.n, 18.0, 28.0).min() > 1.1
    assert np.abs(path.during(path.bank, 0.0, 2.0)).max() < 6 * DEGREE  # it grows slowly
    heading = np.unwrap(np.asarray(attitude(path.flight.state)[2]))
    assert np.all(np.diff(path.during(heading, 1.0, 30.0)) > 0.0)  # after the yaw of the aileron
    # Heading has drifted before the nose is down or the speed up; speed comes from height.
    assert path.at(heading, 10.0) - path.at(heading, 0.0) > 5 * DEGREE
    assert abs(path.at(path.speed, 10.0) - path.at(path.speed, 0.0)) < 1.0
    assert path.during(path.speed, 30.0, 35.0).max() > path.at(path.speed, 0.0) + 8.0
    assert path.during(path.nx, 0.0, 25.0).max() < path.at(path.nx, -1.0) + 0.01


def test_push_follows_acceleration(setting):
    path = Path(setting, "somatogravic-input", duration=25.0, power=0.5, belief=1.0)
    first = path.during(path.time, 0, 15)[np.argmax(path.during(path.nx, 0, 15) > 0.12)]
    push = path.during(path.time, 0, 15)[np.argmax(path.during(path.n, 0, 15) < 0.92)]
    assert START < first < push < START + 10.0
    assert np.abs(path.during(path.bank, 0, 15)).max() < 3 * DEGREE


def test_incapacitation_is_at_most_one_step(setting):
    path = Path(setting, "incapacitation", duration=25.0, force=-60.0)
    np.testing.assert_array_equal(path.during(path.force, 0.2, 14.0), -60.0)
    assert np.ptp(path.trim) < 0.02 and path.trim[-1] == path.at(path.trim, 0.2)
    slump = Path(setting, "incapacitation", duration=40.0, force=0.0)
    assert np.abs(slump.during(slump.n, 0.0, 25.0) - 1.0).max() < 0.05
    assert np.abs(slump.during(slump.nx, 0.0, 25.0) - slump.at(slump.nx, -1.0)).max() < 0.02


def test_a_push_that_is_not_opposed_lasts_as_long_as_it_lasts(setting):
    """As fast as hands, wings level, energy unchanged; over when the hand is gone."""
    path = Path(setting, "control-input", force=120.0, lasting=3.0, opposed=0.0)
    assert path.during(path.force, 1.0, 2.9).max() == pytest.approx(-120.0, rel=0.01)
    assert path.during(path.n, 0.5, 3.0).min() < 0.7
    assert np.abs(path.during(path.bank, 0, 10)).max() < 3 * DEGREE
    assert np.abs(path.during(path.nx, 0.0, 2.0) - path.at(path.nx, -1.0)).max() < 0.05
    assert np.ptp(path.during(path.trim, 0.0, 3.0)) < 0.2 * DEGREE


def test_a_pull_that_is_trimmed_moves_the_trim_like_a_runaway(setting):
    """Track alone cannot tell it from a runaway: same rate, same way."""
    path = Path(
        setting, "control-input", force=60.0, lasting=8.0, opposed=0.0, trimmed=1.0, direction=-1.0
    )
    rates = np.diff(path.during(path.trim, 0.5, 6.0)) / 0.1
    np.testing.assert_allclose(rates, -setting.airplane.trim_drive.rate, rtol=1e-6)
    assert path.during(path.n, 0.5, 6.0).max() > 1.3


def test_a_hard_over_is_a_step_that_ends_with_the_autopilot(setting):
    path = Path(setting, "autopilot-hardover", load=0.8, hold=3.0, trim_share=0.0)
    assert np.abs(path.during(path.n, -8.0, -0.1) - 1.0).max() < 0.05
    assert path.during(path.n, 0.3, 3.0).min() < 0.8
    assert np.abs(path.during(path.bank, 0, 10)).max() < 3 * DEGREE
    assert path.during(path.n, 6.0, 25.0).max() < 2.0
    assert abs(path.at(path.n, 25.0) - 1.0) < 0.1


def test_wrong_trim_at_takeoff_is_constant_from_the_start(setting):
    path = Path(setting, "takeoff-mistrim", mistrim=1.5 * DEGREE, misload=0.0, freed=2.0)
    alone = dataclasses.replace(setting, pilot=dataclasses.replace(setting.pilot, trims=0.0))
    held = Path(alone, "takeoff-mistrim", mistrim=1.5 * DEGREE, misload=0.0, freed=2.0)
    assert path.during(path.n, 0.0, 4.0).min() < 0.9
    assert np.ptp(held.during(held.trim, 2.5, 25.0)) < 1e-9
    assert np.abs(path.during(path.nx, 0.0, 2.0) - path.at(path.nx, -1.0)).max() < 0.03


def test_structure_that_fails_loses_lift_and_gains_drag(setting):
    path = Path(setting, "structural-failure", wing_lost=0.6, tail_lost=0.8, drag=6.0, lopsided=0.2)
    assert path.during(path.n, 0.3, 2.0).min() < 0.6
    assert path.at(path.nx, 1.0) < path.at(path.nx, -1.0) - 0.1
    assert np.abs(path.during(path.bank, 0.0, 8.0)).max() > 30 * DEGREE


def test_wind_shear_averages_to_little(setting):
    path = Path(setting, "wind-shear", duration=50.0, crossing=20.0, tailwind=10.0, downdraught=3.0)
    change = path.during(path.nx, 0.0, 20.0) - path.at(path.nx, -1.0)
    assert change.min() < -0.02 and change.max() > 0.02
    assert abs(change.mean()) < 0.5 * np.abs(change).max()
    load = path.during(path.n, 0.0, 20.0)
    assert load.min() < 0.9 and load.max() > 1.1


@pytest.mark.slow  # compiles a flight in stirred air
def test_turbulence_leaves_no_lasting_change(setting):
    path = Path(setting, "no-failure", gust=1.0)
    assert np.std(path.n) > 0.02
    assert np.ptp(path.trim) < 0.5 * DEGREE
    assert abs(path.climb.mean() - path.climb[0]) < 1.0


@pytest.mark.slow  # compiles a flight with sides changed
@settings(max_examples=5)
@given(lean=st.floats(0.001, 0.02))
def test_mirror_symmetry(setting, lean):
    """A spiral to the other side is the same flight in a mirror, in still air."""
    right, left = (Path(setting, "spiral-dive", duration=45.0, lean=x) for x in (lean, -lean))
    np.testing.assert_allclose(right.bank, -left.bank, atol=1e-9)
    np.testing.assert_allclose(right.climb, left.climb, atol=1e-9)


@pytest.mark.slow  # compiles a flight of another step
def test_step_refinement(setting, runaway):
    """Halving the step moves the height 15 s into a runaway by less than 2 m."""
    cause = CAUSES["stabilizer-runaway"]
    parameters = cause.middle() | {"start": START, "run": 60.0, "rate_share": 0.95}
    fine = FLY(setting, cause, parameters, duration=40.0, step=0.025, record_every=4)
    heights = np.asarray(runaway.flight.readings.height), np.asarray(fine.readings.height)
    before = runaway.time < START + 15.0
    assert np.abs(heights[0] - heights[1])[before].max() < 2.0


def test_order_of_magnitude_of_a_published_case(runaway, setting):
    """Plausibility only. ATSB AO-2019-019, from a summary of the report, not the report itself: a
    single turboprop soon after take-off reached full nose-down trim in 16 s, its pitch went from
    9.5 deg up to 7.5 deg down, and both hands were not enough."""
    drive = setting.airplane.trim_drive
    to_the_stop = (drive.travel_max - runaway.trim[0]) / (0.95 * drive.rate)
    assert 16.0 / 3.0 < to_the_stop < 16.0 * 3.0
    assert runaway.at(runaway.pitch, to_the_stop) < 0.0
    assert runaway.flight.applied_force.max() == pytest.approx(setting.pilot.strength, rel=0.1)


def test_order_of_magnitude_of_a_published_final_force(runaway, setting):
    """Plausibility only. KNKT.18.10.35.04, from press summaries: after repeated uncommanded trim
    the final column force was about 100 lb, at a rate of about 0.27 deg/s (from memory)."""
    assert 0.27 / 3.0 < setting.airplane.trim_drive.rate / DEGREE < 0.27 * 3.0
    needed = runaway.during(np.asarray(pull_to_hold(setting, runaway.flight)), 5.0, 15.0)
    assert needed.max() > 100.0 * POUND_FORCE / 3.0
    first = np.argmax(needed > 100.0 * POUND_FORCE)
    assert needed[first] > 100.0 * POUND_FORCE


def test_energy_changes_by_what_acts_along_the_path(runaway):
    """Conservation: height plus V^2 / 2 g changes by n_x V, whatever cause acts, in still air."""
    energy = np.asarray(runaway.flight.readings.height) + runaway.speed**2 / (2.0 * 9.80665)
    held = runaway.time < START + 14.0
    worked = np.concatenate([[0.0], np.cumsum(0.1 * (runaway.nx * runaway.speed)[:-1])])
    middle = np.concatenate([[0.0], np.cumsum(0.1 * (runaway.nx * runaway.speed)[1:])])
    gained = 0.5 * (worked + middle)  # trapezoids
    assert np.ptp(energy[held]) > 5.0
    np.testing.assert_allclose((energy - energy[0])[held], gained[held], atol=0.5)
