"""Parts of the required moment: trimmed flight, sets of histories, tails, loads, strength."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import lsq_linear
from scipy.stats import chi2

from neutralpoint.airplane.loading import Loading, LoadItem
from neutralpoint.airplane.model import MassProperties
from neutralpoint.moments import (
    Grant,
    Hands,
    MotionFlight,
    Needed,
    Word,
    energy,
    held_force,
    judged_part,
    last_trimmed,
    load_reach,
    needed_history,
    references,
    required_moment,
    scaling_test,
    times_above,
    with_fuel_burnt,
    with_gusts,
    with_power_effect,
)
from neutralpoint.moments.chance import chance, changes
from neutralpoint.moments.fit import closest
from neutralpoint.moments.flight import GUST_SIGMA, carried_bank
from neutralpoint.moments.hands import CORRECTIONS, limits
from neutralpoint.moments.judge import ABLE, Extra, HandsOfPilot, judge
from neutralpoint.moments.needed import parted, spread_of, strata
from neutralpoint.moments.required import POWER_ARM
from neutralpoint.moments.shapes import averaged, motor_runs, nothing, steps, two_motor_runs
from neutralpoint.moments.trimmed import LEAST_LEFT
from neutralpoint.quantities import POUND, POUND_FORCE
from neutralpoint.vocabulary import CauseName
from neutralpoint.vocabulary.strength import (
    AVERAGE,
    LARGEST,
    ONE_HAND,
    PROLONGED,
    STRENGTH_LIMITS,
    TWO_HANDS,
)

INCH = 0.0254


def flight(load: np.ndarray, speed: np.ndarray, step: float = 0.25) -> MotionFlight:
    """A flight of two equal paths at sea level."""
    both = [np.stack([x, x]) for x in (load, speed)]
    one = np.ones_like(both[0])
    return MotionFlight(
        time=step * np.arange(load.size),
        true_airspeed=both[1],
        dynamic_pressure=0.6 * both[1] ** 2,
        mach=both[1] / 340.0,
        density=1.2 * one,
        normal_load_factor=both[0],
        longitudinal_load_factor=0.0 * one,
        path_rate=0.0 * one,
        gust_angle=0.0 * one,
    )


def needed(mean: np.ndarray, covariance: np.ndarray, **more) -> Needed:
    """A need in a moment of one per unit of what moves, a thousandth per newton."""
    size = mean.size
    plain = {
        "time": 2.0 * np.arange(float(size)),
        "samples": 500,
        "effect": np.ones(size),
        "pull": np.full(size, 1e-3),
        "rising": np.zeros(size, bool),
        "falling": np.zeros(size, bool),
        "scale": np.ones(size),
    }
    return Needed(
        means=mean[None], weights=np.ones(1), covariance=covariance, total=covariance,
        **plain | more,
    )  # fmt: skip


def mixed(rng: np.random.Generator, size: int) -> np.ndarray:
    """A covariance with correlations."""
    root = rng.standard_normal((size, size))
    return root @ root.T / size + 0.1 * np.eye(size)


def test_the_last_steady_stretch_before_the_onset_is_the_reference():
    time = 0.25 * np.arange(480)
    load = np.where((time > 30) & (time < 50), 1.0 + 0.3 * np.sin(time), 1.0)
    load = np.where(time > 90, 1.0 + 0.1 * (time - 90), load)
    chosen = last_trimmed(flight(load, np.full(480, 80.0)), before=90.0)
    assert time[chosen].max() <= 88.0 and time[chosen].min() >= 50.0
    assert time[chosen].max() > 85.0


def test_without_an_onset_the_end_is_no_reference():
    """The steadiest stretch may be the last; then nothing would be left to compare."""
    time = 0.25 * np.arange(480)
    load = np.where(time < 100.0, 1.0 + 0.05 * np.sin(time), 1.0)
    chosen = last_trimmed(flight(load, np.full(480, 80.0)))
    assert time[-1] - time[chosen].max() >= 30.0


@pytest.mark.parametrize("before", [118.0, 119.5, 130.0])
def test_however_late_the_onset_the_last_seconds_are_no_reference(before):
    """Found in a study: less than 6 s were left after the reference, and there were no odds."""
    time = 0.25 * np.arange(480)
    steady = flight(np.ones(480), np.full(480, 80.0))
    assert time[-1] - time[last_trimmed(steady, before=before)].max() >= LEAST_LEFT
    found = references(steady, np.array([before]), np.array([1.0]))
    assert time[-1] - found[-1].end >= LEAST_LEFT


def test_references_share_the_probability_of_when_the_fault_began():
    time = 0.25 * np.arange(720)
    load = np.where((time > 60) & (time < 110), 1.0 + 0.3 * np.sin(time), 1.0)
    steady = flight(load, np.full(720, 80.0))
    found = references(steady, np.array([80.0, 150.0]), np.array([0.4, 0.6]))
    assert [round(each.weight, 2) for each in found] == [0.4, 0.6]
    assert found[0].end < 62.0 and 135.0 < found[1].end <= 148.0
    assert found[0].before == 0.0
    alone = references(steady, np.array([150.0]), np.array([1.0]))
    assert len(alone) == 1 and alone[0].weight == 1.0


def test_a_crew_that_left_the_trim_alone_holds_what_the_speed_asked_for():
    """Half of the paths: 80 N since an earlier steady flight; the others next to nothing."""
    time = 0.25 * np.arange(480)
    steady = flight(np.ones(480), np.full(480, 80.0))
    trimmed = (time >= 88.0) & (time <= 100.0)
    force = np.where(time < 75.0, 80.0, 0.0) + np.zeros((400, 1))
    held = held_force(steady, trimmed, force, np.random.default_rng(3))
    assert 0.3 < (held < -40.0).mean() < 0.6
    alone = held_force(steady, time < 10.0, force, np.random.default_rng(3))
    assert abs(alone.mean()) < 3.0 and 12.0 < alone.std() < 18.0


def test_without_a_steady_stretch_the_steadiest_one_is_taken():
    time = 0.25 * np.arange(480)
    load = 1.0 + (0.1 + 0.001 * np.abs(time - 40.0)) * np.sin(2.0 * time)
    chosen = last_trimmed(flight(load, np.full(480, 80.0)), before=100.0)
    assert chosen.any() and abs(time[chosen].mean() - 40.0) < 10.0


@pytest.mark.parametrize("seed", range(5))
def test_the_closest_history_is_that_of_bounded_least_squares(seed):
    rng = np.random.default_rng(seed)
    mean, covariance = rng.standard_normal(8), mixed(rng, 8)
    low, high = -rng.uniform(0.0, 0.6, 8), rng.uniform(0.0, 0.6, 8)
    root = np.linalg.cholesky(np.linalg.inv(covariance)).T
    exact = lsq_linear(root, root @ mean, (low, high), tol=1e-12)
    found = closest(needed(mean, covariance), np.zeros((1, 8)), low[None], high[None])
    assert found.squares[0] == pytest.approx(2.0 * exact.cost, rel=1e-3)
    np.testing.assert_allclose(mean - found.off[0], exact.x, atol=5e-3)


def test_the_best_of_several_histories_is_found():
    rng = np.random.default_rng(7)
    mean, covariance = rng.standard_normal(6), mixed(rng, 6)
    made = np.stack([np.zeros(6), mean + 0.01, -mean])
    still = np.zeros_like(made)
    found = closest(needed(mean, covariance), made, still, still)
    assert found.which[0] == 1 and found.squares[0] < 0.1


def chances(off, covariance, bound, rng, samples=500):
    directions = changes(2.0 * np.arange(len(off[0])), np.ones((1, len(off[0]))))
    return chance(np.asarray(off), covariance, bound, directions, samples=samples, rng=rng)


@pytest.mark.parametrize("free", [0, 5])
def test_chances_of_noise_are_even(free):
    rng = np.random.default_rng(3)
    covariance, bound = mixed(rng, 12), np.arange(12) >= free
    noise = rng.standard_normal((600, 12)) @ np.linalg.cholesky(covariance).T
    found = chances(noise, covariance, bound, rng)
    # Three standard errors of a share over 600 draws.
    assert np.mean(found < 0.05) == pytest.approx(0.05, abs=0.027)
    assert np.mean(found < 0.5) == pytest.approx(0.5, abs=0.062)


def test_a_lasting_change_is_seen_where_a_sum_of_squares_sees_none():
    rng = np.random.default_rng(4)
    off = np.r_[np.zeros(6), np.full(14, 1.05)] + 0.3 * rng.standard_normal((40, 20))
    found = chances(off, np.eye(20), np.ones(20, bool), rng)
    omnibus = chi2.sf((off**2).sum(axis=1), 20)
    assert np.median(found) < 0.01 < 0.3 < np.median(omnibus)


def test_where_hands_are_free_nothing_can_miss():
    rng = np.random.default_rng(5)
    assert chances(np.full((1, 6), 9.0), np.eye(6), np.zeros(6, bool), rng)[0] == 1.0


def test_hands_resist_a_fault_and_the_path_but_do_not_drive():
    need = needed(np.zeros(4), np.eye(4), falling=np.array([False, False, True, True]))
    made = np.array([[0.0, -0.5, -0.5, -0.5]])
    small = CORRECTIONS * 1e-3
    low, high = limits(Hands.RESISTING, 300.0, need, made, np.array([1.5]))
    np.testing.assert_allclose(low[0], -small)  # nobody pushes on
    # At 2 s they have not yet answered; then they pull the fault off, or all they can.
    np.testing.assert_allclose(high[0], [small, small, 0.3, 0.3])
    assert not np.any(limits(Hands.NONE, 300.0, need, made, np.array([1.5])))
    low, high = limits(Hands.ANYTHING, 300.0, need, made, np.array([1.5]))
    np.testing.assert_allclose(np.r_[-low[0], high[0]], 0.3)


def a_step(size: float = 0.2) -> np.ndarray:
    return size * np.clip((2.0 * np.arange(20.0) - 10.0) / 0.5, 0.0, 1.0)


def judged(mean, histories, **more):
    rng = np.random.default_rng(6)
    need = needed(mean, 1e-4 * np.eye(20))
    return judge(CauseName.SEPARATION, need, histories, judged=(0.0, 38.0), rng=rng, **more)


def test_the_word_follows_from_what_has_to_be_granted():
    time = 2.0 * np.arange(20.0)
    right = steps(time, np.array([0.1, 0.2, 0.3]), np.array([0.5]))
    small = steps(time, np.array([0.01]), np.array([0.5]))
    can = judged(a_step(), right)
    assert can.word is Word.CAN and can.condition is None and can.probability > ABLE
    wider = (Extra(Grant.OTHER_TRAVEL, 0.3, right),)
    granted = judged(a_step(), small, extras=wider)
    assert granted.word is Word.CAN_IF and granted.condition.grant is Grant.OTHER_TRAVEL
    cannot = judged(a_step(0.6), small)
    assert cannot.word is Word.CANNOT and cannot.condition is None
    anything = next(row for row in cannot.abilities if row.hands is Hands.ANYTHING)
    # The price is what is left over less what noise and the load itself give.
    assert anything.price == pytest.approx(600.0, rel=0.2)
    assert cannot.miss.moment == pytest.approx(0.58, abs=0.1) and cannot.miss.time > 9.0


def test_derivatives_scale_a_need_and_do_not_turn_its_sign():
    """In strata the mean keeps its sign; one normal law over all would let it be zero."""
    rng = np.random.default_rng(9)
    shape = np.clip(np.arange(20.0) / 10.0, 0.0, 1.0)
    drawn = np.exp(0.5 * rng.standard_normal((200, 1))) * shape
    means, weights, left = strata(drawn, 1e-3 * np.eye(20))
    assert weights.sum() == pytest.approx(1.0) and (means[:, -1] > 0.0).all()
    np.testing.assert_allclose(weights @ means, drawn.mean(axis=0))
    assert np.trace(left) < 0.1 * np.trace(np.cov(drawn.T))


def test_an_estimate_is_printed_only_where_the_data_narrow_it():
    time = 2.0 * np.arange(20.0)
    histories = steps(time, np.linspace(0.02, 0.5, 241), np.array([0.5]))
    sharp = dict(judged(a_step(), histories, pilot=HandsOfPilot(Hands.NONE, 0.0)).estimates)
    assert sharp["size"].low < 0.2 < sharp["size"].high < 0.3
    # Hands that cancel any part of the fault leave its size open.
    assert "size" not in dict(judged(a_step(), histories).estimates)


def test_a_need_is_known_near_zero_load_and_per_size_of_effect(commuter):
    """A moved load is compared in moment: knots at n = 0 stay, and one size fits all paths."""
    load = np.where(np.arange(240) > 120, 0.02, 1.0)
    still = flight(load, np.full(240, 90.0))
    required = required_moment(commuter, still, still.time < 20.0, window=2.0)
    part = judged_part(commuter, still, required, window=2.0)
    assert np.isnan(required.cg_shift[0, part.knots]).any()  # in meters it is lost
    sizes = np.array([[0.5], [2.0]])
    need = needed_history(
        part,
        lambda took: 0.1 * took.shift_effect * sizes,
        lambda took: took.shift_effect * sizes,
    )
    assert need.time.size == part.knots.size
    np.testing.assert_allclose(need.mean / need.effect, 0.1, rtol=1e-6)


def test_motor_runs_keep_rate_duration_and_travel():
    time = np.linspace(0.0, 40.0, 81)
    made = motor_runs(time, np.array([0.01]), (-0.05, 0.05))
    slopes = np.diff(made.values, axis=1) / 0.5
    assert slopes.max() <= 0.01 + 1e-12 and slopes.min() >= 0.0
    assert made.values.max() == pytest.approx(0.05)
    assert made.names == ("start", "rate", "duration")
    np.testing.assert_array_equal(made.start, made.parameters[:, 0])


def test_a_second_run_starts_after_the_hold():
    time = np.linspace(0.0, 60.0, 241)
    made = two_motor_runs(time, np.array([0.01]), (-1.0, 1.0))
    member = dict(zip(made.names, made.parameters[0], strict=True))
    history = made.values[0]
    end = member["start"] + member["first duration"]
    held = (time > end) & (time < end + member["hold"])
    assert np.ptp(history[held]) < 1e-12 and history[-1] > history[held][0]


def test_steps_reach_their_size_and_nothing_is_nothing():
    time = np.linspace(0.0, 20.0, 41)
    made = steps(time, np.array([-0.3]), np.array([0.5]))
    np.testing.assert_allclose(made.values[:, -1], -0.3)
    assert not nothing(time).values.any() and np.isinf(nothing(time).start).all()


def test_a_family_is_averaged_over_the_window_as_the_data_are():
    knots = np.linspace(0.0, 20.0, 21)
    sharp = steps(knots, np.array([1.0]), np.array([0.01])).values
    smooth = averaged(lambda t: steps(t, np.array([1.0]), np.array([0.01])), knots, 2.0).values
    between = (smooth > 0.05) & (smooth < 0.95)
    assert between.any() and not ((sharp > 0.05) & (sharp < 0.95)).any()


def test_the_law_of_growth_is_found_where_it_shows_and_not_where_it_does_not():
    rng = np.random.default_rng(5)
    time = np.linspace(0.0, 38.0, 20)
    lift = np.linspace(1.0, 0.3, 20)  # lift coefficient falls as speed builds up
    share = np.clip((time - 8.0) / 0.5, 0.0, 1.0)
    covariance = 1e-6 * np.eye(20)

    def told(change, lift):
        return scaling_test(needed(change, covariance, time=time), lift, rng, window=1.0)

    surface, load = told(0.02 * share, lift), told(0.02 * share * lift, lift)
    assert surface.surface() > 0.99 and load.surface() < 0.01 and surface.surface_power() > 0.99
    flat = told(0.02 * share, np.ones(20))
    # With a constant lift coefficient the laws are one; only the times they may take differ.
    assert flat.surface_power() < 0.75 and not flat.separable


def test_item_reach_is_that_of_the_worked_examples():
    # FAA-H-8083-1A ch. 4, example: 100 lb moved 50 in in 2,450 lb shifts the CG by 2.04 in.
    empty = MassProperties(
        mass=2300.0 * POUND,
        cg_station=80.0 * INCH,
        roll_inertia=1.0,
        pitch_inertia=1.0,
        yaw_inertia=1.0,
    )
    bag = LoadItem("bag", 100.0 * POUND, (100.0 * INCH, 0.0, 0.0), loose=True)
    box = LoadItem("box", 50.0 * POUND, (150.0 * INCH, 0.0, 0.0))
    asked = []

    def chance_of(forward, aft):
        asked.append((forward, aft))
        return 0.25

    reach = load_reach(Loading(empty, (bag, box)), chance_of)
    assert reach.aft == pytest.approx(2.04 * INCH, abs=0.005 * INCH)  # last_printed_digit
    assert reach.forward == 0.0 and reach.all_forward == pytest.approx(-50.0 * 50.0 / 2450.0 * INCH)
    first = next(row for row in reach.items if row.name == "bag")
    assert first.enough == 0.25 and first.loose and (first.forward, first.aft) in asked


def test_force_levels_are_those_of_the_rules():
    # 14 CFR 23.143(c) and 25.143(d); NACA TN 550.
    pounds = [level.force / POUND_FORCE for level in (PROLONGED, ONE_HAND, TWO_HANDS)]
    assert pounds == pytest.approx([10.0, 50.0, 75.0])
    assert AVERAGE.force / POUND_FORCE == pytest.approx(95.0)
    assert LARGEST.force / POUND_FORCE == pytest.approx(200.0)
    assert ONE_HAND.force == pytest.approx(222.0, abs=0.5) and TWO_HANDS.force == pytest.approx(
        334.0, abs=0.5
    )


def test_time_above_a_force_counts_both_directions():
    force = np.zeros((4, 100))
    force[:, :20] = -300.0
    force[:2, 20:30] = 300.0
    rows = times_above(force, 0.25)
    assert [row.limit for row in rows] == list(STRENGTH_LIMITS)
    hand = rows[1]
    assert hand.probability == 1.0 and hand.low == pytest.approx(5.0) and hand.high > 7.0
    assert rows[-1].probability == 0.0


def test_gusts_are_as_strong_as_said_and_leave_the_rest_alone():
    still = flight(np.ones(4000), np.full(4000, 100.0))
    moved = with_gusts(still, np.random.default_rng(2), 0.5)
    assert np.std(moved.gust_angle * 100.0) == pytest.approx(GUST_SIGMA, rel=0.2)
    assert moved.path_rate is still.path_rate


def test_bank_is_carried_through_moments_without_lift():
    rng = np.random.default_rng(8)
    time = np.arange(0.0, 20.0, 0.5)
    lost = (time > 8.0) & (time < 13.0)
    bank = np.full((50, time.size), 0.2) + 0.02 * rng.standard_normal((50, time.size))
    bank[:, lost] = rng.uniform(-np.pi, np.pi, (50, lost.sum()))
    load = np.where(lost, 0.1, 1.0) * np.ones_like(bank)
    along, carried = carried_bank(time, load, bank)
    assert np.abs(carried - 0.2).max() < 0.15
    np.testing.assert_allclose(carried[:, ~lost], bank[:, ~lost], rtol=1e-12)
    # Lift that points elsewhere than the carried bank is no load factor of this airplane.
    np.testing.assert_allclose(along[:, lost], 0.1 * np.cos(bank - carried)[:, lost])
    alone = carried_bank(time, load[:1], bank[:1])
    np.testing.assert_allclose(alone[1], bank[:1])


def test_fuel_burnt_makes_the_airplane_lighter_along_the_flight(commuter):
    lighter = with_fuel_burnt(commuter, np.array([0.0, 52.0]))
    np.testing.assert_allclose(lighter.mass.mass, [5200.0, 5148.0])
    np.testing.assert_allclose(lighter.mass.pitch_inertia, [2.9e4, 2.9e4 * 0.99])


def test_power_has_an_unknown_arm_of_its_own_on_each_path(commuter):
    drawn = with_power_effect(commuter, np.random.default_rng(3), 4000)
    arm = np.asarray(drawn.engines[0].depth) - commuter.engines[0].depth
    assert arm.shape == (4000, 1)
    assert np.std(arm) == pytest.approx(POWER_ARM * 1.75, rel=0.05)  # the chord is 1.75 m
    np.testing.assert_array_equal(drawn.engines[1].depth, drawn.engines[0].depth)


def test_no_engine_gives_more_than_its_full_thrust(commuter):
    still = flight(np.ones(60), np.full(60, 90.0))
    late = still.time > 12.0
    pushed = replace(
        still, longitudinal_load_factor=np.where(still.time > 8.0, 3.0, still.mach * 0)
    )
    required = required_moment(commuter, pushed, still.time < 6.0, window=2.0)
    full = energy(commuter, pushed, required).full[:, late]
    assert (required.thrust[:, late] > 10.0 * full).all()  # that is no engine
    arm = 0.3  # m, thrust line over the center of gravity
    most = arm * full / (still.dynamic_pressure[:, late] * 28.0 * 1.75)
    assert (np.abs(required.moment_coefficient[:, late]) < most).all()


def test_the_spread_of_a_need_is_parted_by_what_was_drawn(commuter):
    rng = np.random.default_rng(12)
    drawn = with_power_effect(commuter, rng, 400)
    columns = spread_of(drawn, 400)
    assert columns.shape == (400, 1)  # both engines err together
    np.testing.assert_allclose(columns.T @ columns, np.eye(1), atol=1e-12)
    noise = 0.1 * rng.standard_normal((400, 5))
    built, left = parted(20.0 * columns * np.ones(5) + noise, columns)
    np.testing.assert_allclose(np.diag(left), 0.01, rtol=0.25)
    assert np.corrcoef(built[:, 0], columns[:, 0])[0, 1] > 0.999
