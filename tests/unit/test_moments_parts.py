"""Parts of the required moment: trimmed flight, sets of histories, tails, loads, strength."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import lsq_linear

from neutralpoint.airplane.loading import Item, Loading
from neutralpoint.airplane.model import MassProperties
from neutralpoint.moments import (
    LIMITS,
    Flight,
    closest,
    energy,
    last_trimmed,
    load_reach,
    needed_history,
    required_moment,
    scaling_test,
    times_above,
    with_fuel_burnt,
    with_gusts,
    with_power_effect,
)
from neutralpoint.moments.feasible import Needed, tail_probability
from neutralpoint.moments.flight import GUST_SIGMA, carried_bank
from neutralpoint.moments.required import POWER_ARM
from neutralpoint.moments.shapes import averaged, motor_runs, nothing, steps, two_motor_runs
from neutralpoint.moments.strength import AVERAGE, LARGEST, ONE_HAND, PROLONGED, TWO_HANDS
from neutralpoint.quantities import POUND, POUND_FORCE

INCH = 0.0254


def flight(load: np.ndarray, speed: np.ndarray, step: float = 0.25) -> Flight:
    """A flight of two equal paths at sea level."""
    both = [np.stack([x, x]) for x in (load, speed)]
    one = np.ones_like(both[0])
    return Flight(
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


def needed(rng: np.random.Generator, size: int) -> Needed:
    root = rng.standard_normal((size, size))
    covariance = root @ root.T / size + 0.1 * np.eye(size)
    return Needed(np.arange(float(size)), rng.standard_normal(size), covariance, 200)


def test_the_last_steady_stretch_before_the_onset_is_the_reference():
    time = 0.25 * np.arange(480)
    load = np.where((time > 30) & (time < 50), 1.0 + 0.3 * np.sin(time), 1.0)
    load = np.where(time > 90, 1.0 + 0.1 * (time - 90), load)
    chosen = last_trimmed(flight(load, np.full(480, 80.0)), before=90.0)
    assert time[chosen].max() <= 88.0 and time[chosen].min() >= 50.0
    assert time[chosen].max() > 85.0


def test_without_a_steady_stretch_the_steadiest_one_is_taken():
    time = 0.25 * np.arange(480)
    load = 1.0 + (0.1 + 0.001 * np.abs(time - 40.0)) * np.sin(2.0 * time)
    chosen = last_trimmed(flight(load, np.full(480, 80.0)), before=100.0)
    assert chosen.any() and abs(time[chosen].mean() - 40.0) < 10.0


@pytest.mark.parametrize("seed", range(5))
def test_the_closest_history_is_that_of_bounded_least_squares(seed):
    rng = np.random.default_rng(seed)
    wanted = needed(rng, 8)
    low, high = -rng.uniform(0.0, 0.6, 8), rng.uniform(0.0, 0.6, 8)
    root = np.linalg.cholesky(np.linalg.inv(wanted.covariance)).T
    exact = lsq_linear(root, root @ wanted.mean, (low, high), tol=1e-12)
    found = closest(wanted, np.zeros((1, 8)), low, high)
    assert found.square == pytest.approx(2.0 * exact.cost, rel=1e-3)
    np.testing.assert_allclose(found.added, exact.x, atol=5e-3)


def test_the_best_of_several_members_is_found():
    rng = np.random.default_rng(7)
    wanted = needed(rng, 6)
    members = np.stack([np.zeros(6), wanted.mean + 0.01, -wanted.mean])
    found = closest(wanted, members, np.zeros(6), np.zeros(6))
    assert found.member == 1 and found.probability > 0.99


def test_the_tail_is_that_of_simulated_draws():
    rng = np.random.default_rng(3)
    size, samples, trials = 6, 60, 4000
    squares = []
    for _ in range(trials):
        draws = rng.standard_normal((samples, size))
        weight = np.linalg.inv(np.cov(draws.T))
        off = rng.standard_normal(size) - draws.mean(axis=0)
        squares.append(off @ weight @ off)
    limit = np.quantile(squares, 0.95)
    # The mean of the draws is off too; the law used leaves out that 1/60 of the variance.
    assert tail_probability(limit, np.array(size), samples) == pytest.approx(0.05, abs=0.012)
    assert tail_probability(np.array(1e3), np.array(0), 20) == 1.0


def test_hands_at_their_limit_alone_count_as_freedom():
    """The true need lies on the edge of the set: the tail is as even as it should be."""
    rng = np.random.default_rng(4)
    size, trials = 6, 1500
    low, high = np.full(size, -10.0), np.zeros(size)
    covariance = np.eye(size)
    chances = [
        closest(Needed(np.arange(6.0), rng.standard_normal(size), covariance, 500),
                np.zeros((1, size)), low, high).probability
        for _ in range(trials)
    ]  # fmt: skip
    # Without a knot at its limit the probability is 1, which happens in 1 of 2^6 trials.
    assert np.mean(np.array(chances) < 0.05) == pytest.approx(0.05, abs=0.02)


def test_a_needed_history_leaves_out_unknown_times_and_adds_what_is_not_modelled():
    rng = np.random.default_rng(1)
    time = np.arange(10.0)
    paths = rng.standard_normal((200, 10))
    paths[3, 4] = np.nan
    found = needed_history(time, paths, np.array([0.0, 4.0, 8.0]), 4.0 * np.eye(3))
    np.testing.assert_array_equal(found.time, [0.0, 8.0])
    assert found.covariance[0, 0] == pytest.approx(5.0, rel=0.25)


def test_motor_runs_keep_rate_duration_and_travel():
    time = np.linspace(0.0, 40.0, 81)
    family = motor_runs(time, np.array([0.01]), (-0.05, 0.05))
    slopes = np.diff(family.histories, axis=1) / 0.5
    assert slopes.max() <= 0.01 + 1e-12 and slopes.min() >= 0.0
    assert family.histories.max() == pytest.approx(0.05)
    assert set(family.describe(0)) == {"start", "rate", "duration"}


def test_a_second_run_starts_after_the_hold():
    time = np.linspace(0.0, 60.0, 241)
    family = two_motor_runs(time, np.array([0.01]), (-1.0, 1.0))
    member = family.describe(0)
    history = family.histories[0]
    end = member["start"] + member["first duration"]
    held = (time > end) & (time < end + member["hold"])
    assert np.ptp(history[held]) < 1e-12 and history[-1] > history[held][0]


def test_steps_reach_their_size_and_nothing_is_nothing():
    time = np.linspace(0.0, 20.0, 41)
    family = steps(time, np.array([-0.3]), np.array([0.5]))
    np.testing.assert_allclose(family.histories[:, -1], -0.3)
    assert not nothing(time).histories.any()


def test_a_family_is_averaged_over_the_window_as_the_data_are():
    knots = np.linspace(0.0, 20.0, 21)
    sharp = steps(knots, np.array([1.0]), np.array([0.01])).histories
    smooth = averaged(lambda t: steps(t, np.array([1.0]), np.array([0.01])), knots, 2.0).histories
    between = (smooth > 0.05) & (smooth < 0.95)
    assert between.any() and not ((sharp > 0.05) & (sharp < 0.95)).any()


def test_the_law_of_growth_is_found_where_it_shows_and_not_where_it_does_not():
    rng = np.random.default_rng(5)
    time = np.linspace(0.0, 38.0, 20)
    lift = np.linspace(1.0, 0.3, 20)  # lift coefficient falls as speed builds up
    share = np.clip((time - 8.0) / 0.5, 0.0, 1.0)
    covariance = 1e-6 * np.eye(20)
    surface = scaling_test(Needed(time, 0.02 * share, covariance, 200), lift, rng, window=1.0)
    load = scaling_test(Needed(time, 0.02 * share * lift, covariance, 200), lift, rng, window=1.0)
    assert surface.surface() > 0.99 and load.surface() < 0.01 and surface.surface_power() > 0.99
    flat = scaling_test(Needed(time, 0.02 * share, covariance, 200), np.ones(20), rng, window=1.0)
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
    bag = Item("bag", 100.0 * POUND, (100.0 * INCH, 0.0, 0.0), loose=True)
    box = Item("box", 50.0 * POUND, (150.0 * INCH, 0.0, 0.0))
    reach = load_reach(Loading(empty, (bag, box)), np.array([2.0 * INCH, 3.0 * INCH, np.nan]))
    assert reach.aft == pytest.approx(2.04 * INCH, abs=0.005 * INCH)  # last_printed_digit
    assert reach.forward == 0.0 and reach.all_forward == pytest.approx(-50.0 * 50.0 / 2450.0 * INCH)
    first = next(row for row in reach.items if row.name == "bag")
    assert first.enough == 0.5 and first.loose


def test_force_levels_are_those_of_the_rules():
    # 14 CFR 23.143(c) and 25.143(d); NACA Rep. 550.
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
    assert [row.limit for row in rows] == list(LIMITS)
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
    arm = 0.3  # m, thrust line over the centre of gravity
    most = arm * full / (still.dynamic_pressure[:, late] * 28.0 * 1.75)
    assert (np.abs(required.moment_coefficient[:, late]) < most).all()
