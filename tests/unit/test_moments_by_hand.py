"""Parts of the moments held against numbers worked out by hand.

Sources are those of the formulas; what is checked here is that they are written down right.
"""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm

import neutralpoint.moments
import neutralpoint.moments.judge as judging
from neutralpoint.moments import MotionFlight, energy, required_moment
from neutralpoint.moments.chance import changes, likelihood_ratio, tail
from neutralpoint.moments.energy import Energy, power_change
from neutralpoint.moments.flight import rates, smoothing_nodes, with_gusts
from neutralpoint.moments.judge import PRICES, word_of
from neutralpoint.moments.judgement import Grant, Hands, NotJudged, Word
from neutralpoint.moments.load_causes import shift_chance
from neutralpoint.moments.loads import load_reach
from neutralpoint.moments.needed import OFF_PATH, off_path, parted, per_size
from neutralpoint.moments.oscillation import Oscillation
from neutralpoint.moments.required import Required, _stall_margin, _thrust_arm
from neutralpoint.moments.shapes import averaged, motor_runs, starts, steps, two_motor_runs
from neutralpoint.moments.stall import spiral_dive, wing_stall
from neutralpoint.moments.strength import times_above
from neutralpoint.moments.thrust import lowest_block
from neutralpoint.moments.trim_rate import trim_rate
from neutralpoint.moments.trimmed import Reference, compared_span, safe_reference, unsteadiness
from neutralpoint.quantities import GRAVITY

TIME = 0.5 * np.arange(81)  # s


def test_the_fastest_trim_movement_is_found_with_its_band():
    ramp = np.clip(TIME - 10.0, 0.0, 4.0)
    slopes = np.array([[0.004], [0.005], [0.006]])
    required = SimpleNamespace(time=TIME, stalled=np.zeros(81, bool))
    judged = TIME >= 2.0
    for sign in (1.0, -1.0):
        found = trim_rate(required, sign * slopes * ramp, (0.004, 0.006), judged)
        assert found.time == 12.0 and found.median == pytest.approx(sign * 0.005)
        ends = sorted((sign * 0.0041, sign * 0.0059))
        assert (found.low, found.high) == pytest.approx(tuple(ends))
        # Spread of 4, 5 and 6: the root of 2/3. The rates lie a thousandth to either side.
        beyond = norm.cdf(1.0 / math.sqrt(2.0 / 3.0))
        assert found.beyond == pytest.approx((beyond, 1.0 - beyond))
    assert trim_rate(required, slopes * ramp, (), TIME < 4.0) is None
    # A span that runs over a gap, and one with a value missing, are no spans.
    halves = (TIME < 4.0) | (TIME > 36.5)
    assert trim_rate(required, slopes * ramp, (), halves) is None
    assert trim_rate(required, np.full((3, 81), np.nan), (), judged) is None


def test_change_of_power_by_hand():
    thrust = np.where(TIME < 20.0, 3000.0, 0.0) + np.array([[0.0], [300.0], [600.0]])
    found = Energy(thrust, thrust, thrust, idle=np.full((3, 81), -100.0))
    # The trim was left at 20 s: 0 N, 300 N and 600 N are left; hidden are 2 % of 20 kN.
    change = power_change(found, TIME, TIME < 15.0, 18.0, 20e3)
    assert change.before == 3300.0 and change.change == pytest.approx(-3000.0)
    assert (change.fell, change.rose) == (1.0, 0.0)
    assert change.idle_after == pytest.approx(2.0 / 3.0)
    rose = power_change(Energy(-thrust, thrust, thrust, found.idle), TIME, TIME < 15.0, 18.0, 20e3)
    assert (rose.fell, rose.rose) == (0.0, 1.0)
    late = power_change(found, TIME, TIME < 15.0, 39.9, 20e3)
    assert late.change == pytest.approx(-3000.0)
    assert found.thrust[:, TIME > 39.0].shape[1] == 2


def test_the_block_in_which_thrust_is_lowest():
    inside = (TIME >= 0.0) & (TIME < 24.0)
    required = SimpleNamespace(time=TIME)
    airplane = SimpleNamespace(mass=SimpleNamespace(mass=1000.0 / GRAVITY))
    question = SimpleNamespace(
        judged=SimpleNamespace(required=required, inside=inside), airplane=airplane
    )
    need = np.where((TIME >= 12.0) & (TIME < 24.0), 400.0, 900.0)
    thrust = need + np.array([[-100.0], [0.0], [100.0]])
    band, left, chance = lowest_block(question, thrust, np.full((3, 81), 300.0))
    # 23.5 s are two blocks of 12 s; 400 N against 300 N and 2 % of 1,000 N.
    assert (band.low, band.median, band.high) == pytest.approx((310.0, 400.0, 490.0))
    assert left == 300.0
    assert chance == pytest.approx(norm.sf(80.0 / math.sqrt(2.0 / 3.0 * 100.0**2)))


def test_time_above_a_force_has_a_band():
    force = np.zeros((3, 100))
    for row, nodes in enumerate((20, 40, 60)):
        force[row, :nodes] = 1e5
    found = times_above(force, 0.5)[0]
    assert (found.low, found.median, found.high) == pytest.approx((11.0, 20.0, 29.0))
    assert found.probability == 1.0


def test_tail_of_trials_and_beyond():
    trials = np.arange(1000.0)
    # 899.1 is the nine-tenth quantile; 900 to 999 lie 50.4 beyond it on the mean.
    found = tail(trials, np.array([100.0, 899.0, 949.5, 1050.3]))
    np.testing.assert_allclose(found, [0.9, 0.101, 0.1 * math.exp(-1.0), 0.1 * math.exp(-3.0)])


def test_likelihood_ratio_by_hand():
    # (d' W x)^2 / (d' W d): W = [[2, 1], [1, 2]].
    weight = np.array([[2.0, 1.0], [1.0, 2.0]])
    directions = np.array([[1.0, 1.0], [0.0, 2.0], [0.0, 0.0]])
    found = likelihood_ratio(np.array([[1.0, 0.0], [-1.0, 1.0]]), weight, directions)
    np.testing.assert_allclose(found, [9.0 / 6.0, 4.0 / 8.0])


def test_changes_that_a_leftover_is_held_against():
    time = np.arange(0.0, 12.0)
    patterns = np.array([np.ones(12), np.arange(12.0)])
    made = changes(time, patterns).reshape(12, 3, 2, 12)
    np.testing.assert_allclose(made[0, 0], patterns)  # begun 12 s before
    # The sixth begins at -2 s; its slow ramp takes 12 s.
    share = np.clip((time + 2.0) / 12.0, 0.0, 1.0)
    np.testing.assert_allclose(made[5, 2], share * patterns)
    np.testing.assert_allclose(made[11, 1, 0, -1], 0.25)  # at 10 s, over 4 s


def test_a_parabola_gives_its_own_derivatives():
    values = (3.0 + 2.0 * TIME + 0.5 * 0.3 * TIME**2)[None]
    first, second = rates(values, 0.5, 4.0)
    np.testing.assert_allclose(first[0], 2.0 + 0.3 * TIME)
    np.testing.assert_allclose(second[0], 0.3)
    assert smoothing_nodes(0.5, 4.0) == 9 and smoothing_nodes(0.5, 0.5) == 5
    short = rates(values[:, :4], 0.5, 4.0)[0]
    np.testing.assert_allclose(short[0], 2.0 + 0.3 * TIME[:4])


@pytest.mark.parametrize("nodes", [4, 5, 6])
def test_a_record_of_a_few_nodes_has_gusts_of_the_stated_size(nodes):
    """Three nodes pass the end unsmoothed by a parabola: 0.4 m/s, MIL-F-8785C light turbulence."""
    one = np.ones((4000, nodes))
    flight = MotionFlight(
        time=0.5 * np.arange(nodes), true_airspeed=80.0 * one, dynamic_pressure=one, mach=one,
        density=one, normal_load_factor=one, longitudinal_load_factor=one, path_rate=one,
        gust_angle=0.0 * one,
    )  # fmt: skip
    found = with_gusts(flight, np.random.default_rng(1), 4.0).gust_angle
    assert found.shape == (4000, nodes)
    # 4,000 draws know a standard deviation to 1.1 %; smoothing takes off little of 533 m.
    assert (80.0 * found).std() == pytest.approx(0.4, rel=0.05)


def test_unsteadiness_counts_load_and_speed_in_their_limits():
    load = 1.0 + 0.06 * (-1.0) ** np.arange(81)
    one = np.ones((1, 81))
    flight = MotionFlight(
        time=TIME, true_airspeed=(80.0 + 0.6 * TIME)[None], dynamic_pressure=one, mach=one,
        density=one, normal_load_factor=load[None], longitudinal_load_factor=one, path_rate=one,
        gust_angle=one,
    )  # fmt: skip
    # Both at their limits: root of 2, away from the ends.
    np.testing.assert_allclose(unsteadiness(flight)[20:-20], math.sqrt(2.0), rtol=1e-6)


def reference(end, before):
    return Reference(end > TIME, end, 1.0, before)


@pytest.mark.parametrize(
    ("latest", "last", "end"),
    [(None, 900.0, 160.0), (100.0, 900.0, 160.0), (130.0, 900.0, 175.0), (300.0, 900.0, 220.0),
     (130.0, 150.0, 150.0)],
)  # fmt: skip
def test_span_that_is_compared(latest, last, end):
    chosen = [reference(50.0, 0.0), reference(100.0, 0.1), reference(200.0, 0.3)]
    assert compared_span(chosen, latest, last) == (100.0, end)
    assert safe_reference(chosen[2:]).end == 200.0


def histories_of(made):
    return [dict(zip(made.names, row, strict=True)) for row in made.parameters]


def test_starts_of_histories():
    found = starts(np.array([10.0, 20.0, 50.0]), 5)
    np.testing.assert_allclose(found, np.linspace(9.0, 40.0, 5))


def test_a_motor_runs_at_its_rate_until_it_stops_or_meets_the_end():
    time = np.linspace(10.0, 50.0, 41)
    made = motor_runs(time, np.array([0.01, -0.02]), (-0.1, 0.3))
    for values, p in zip(made.values, histories_of(made), strict=True):
        run = np.clip(time - p["start"], 0.0, p["duration"]) * p["rate"]
        np.testing.assert_allclose(values, np.clip(run, -0.1, 0.3), atol=1e-15)
    lengths = sorted({p["duration"] for p in histories_of(made)})
    assert len(lengths) == 10 and lengths[0] == 1.0 and lengths[-2:] == pytest.approx([42.0, 84.0])


def test_a_second_run_follows_the_hold():
    time = np.linspace(10.0, 50.0, 41)
    made = two_motor_runs(time, np.array([0.01]), (-1.0, 1.0))
    # The second run lasts from two seconds to longer than the flight.
    lengths = sorted({p["second duration"] for p in histories_of(made)})
    assert lengths[0] == 2.0 and lengths[-1] == pytest.approx(2.0 * 42.0)
    for values, p in zip(made.values, histories_of(made), strict=True):
        again = p["start"] + p["first duration"] + p["hold"]
        run = np.clip(time - p["start"], 0.0, p["first duration"])
        run = run + np.clip(time - again, 0.0, p["second duration"])
        np.testing.assert_allclose(values, 0.01 * run, atol=1e-15)


def test_a_step_is_a_short_ramp_and_averaging_is_a_mean():
    time = np.linspace(0.0, 40.0, 41)
    made = steps(time, np.array([0.2]), np.array([4.0]))
    for values, p in zip(made.values, histories_of(made), strict=True):
        np.testing.assert_allclose(values, 0.2 * np.clip((time - p["start"]) / 4.0, 0.0, 1.0))

    def square(when):
        line = steps(when, np.array([1.0]), np.array([1.0]))
        return type(line)(when[None] ** 2, (), np.zeros((1, 0)))

    # Mean of (t + s)^2 with s = -2, -1, 0, 1, 2: t^2 + 2.
    found = averaged(square, time, 5.0).values
    np.testing.assert_allclose(found[0], time**2 + 2.0)


def test_too_many_paths_beyond_the_stall():
    margins = np.full((20, 3), 0.1)
    margins[0, 1] = margins[:2, 2] = -0.1
    required = object.__new__(Required)
    object.__setattr__(required, "stall_margin", margins)
    assert required.stalled.tolist() == [False, False, True]  # a twentieth is not more than that


def test_margin_to_the_nearer_stall_and_arm_of_thrust(commuter):
    found = _stall_margin(commuter, np.array([0.2, 0.0, -0.2]))
    np.testing.assert_allclose(found, [0.07, 0.24, 0.04])
    assert float(_thrust_arm(commuter)) == pytest.approx(-0.3)


def stall_question(margin):
    time = np.arange(4.0)
    lon = SimpleNamespace(stall_angle=0.25, negative_stall_angle=-0.2, CL_0=0.3, CL_alpha=5.0)
    required = SimpleNamespace(time=time, stall_margin=margin, angle_of_attack=0.25 - margin)
    return SimpleNamespace(
        airplane=SimpleNamespace(longitudinal=lon),
        judged=SimpleNamespace(required=required, span=(1.0, 2.0)),
    )


@pytest.mark.parametrize(
    ("least", "word", "grant"),
    [(0.0, Word.CAN, None), (0.02, Word.CAN_IF, Grant.ICE), (0.2, Word.CANNOT, None)],
)
def test_margin_to_the_stall_and_what_ice_takes_of_it(least, word, grant):
    """Ice takes 0.3 of 0.25 + 0.3 / 5 rad: 0.093."""
    margin = np.full((2, 4), 0.3)
    margin[:, 0] = -0.1  # before the reference ends: not looked at
    margin[:, 3] = least + np.array([-0.01, 0.01])
    found = wing_stall(stall_question(margin))
    assert found.word is word and found.judged == (1.0, 3.0)
    iced = grant is Grant.ICE
    expected = norm.sf((least - (0.093 if iced else 0.0)) / 0.01)
    assert found.probability == pytest.approx(expected, abs=1e-12)
    assert (found.condition.grant if found.condition else None) is grant
    if iced:
        assert found.condition.value == pytest.approx(0.02)
        assert found.miss.time == 3.0 and found.miss.deviations == pytest.approx(2.0)


def test_a_bank_that_is_seldom_known_is_not_judged():
    time = np.arange(8.0)
    question = SimpleNamespace(
        judged=SimpleNamespace(required=SimpleNamespace(time=time), span=(4.0, 7.0))
    )
    known = np.array([True] * 5 + [False] * 3)  # one of the four after the reference
    found = spiral_dive(question, np.zeros((2, 8)), known)
    assert found.word is Word.NOT_JUDGED and found.reason is NotJudged.BANK_NOT_OBSERVABLE


def test_words_at_their_limits():
    assert word_of(0.05, documented=True) is Word.CAN
    assert word_of(0.049, documented=True) is Word.CAN_IF
    assert word_of(0.5, documented=False) is Word.CAN_IF
    assert word_of(0.01, documented=True) is Word.CAN_IF
    assert word_of(0.009, documented=False) is Word.CANNOT


@pytest.mark.parametrize(("explained", "cycles", "found"), [(0.7, 1.5, True), (0.69, 9.0, False),
                                                            (0.9, 1.4, False)])  # fmt: skip
def test_an_oscillation_needs_both_share_and_cycles(explained, cycles, found):
    spread = np.array([0.0, explained, 1.0])
    assert Oscillation(spread, spread, spread, cycles, 60.0).found is found


def test_reach_of_items_from_those_that_reach_furthest():
    def item(name, mass, station, loose):
        return SimpleNamespace(name=name, mass=mass, position=(station, 0.0, 0.0), loose=loose)

    items = [item("a", 10.0, 2.0, True), item("b", 40.0, 4.0, True), item("c", 50.0, 7.0, False)]
    empty = SimpleNamespace(
        mass=900.0, cg_station=3.0, cg_depth=0.0, roll_inertia=1.0, pitch_inertia=1.0,
        yaw_inertia=1.0, cross_inertia=0.0,
    )  # fmt: skip
    loading = SimpleNamespace(empty=empty, items=items, tanks=[])
    found = load_reach(loading, lambda forward, aft: aft)
    # Of 1,000 kg: c forward 50 x 5, b aft 40 x 3, a aft 10 x 5.
    assert [row.name for row in found.items] == ["c", "b", "a"]
    assert [row.aft for row in found.items] == pytest.approx([0.0, 0.12, 0.05])
    assert [row.forward for row in found.items] == pytest.approx([-0.25, -0.08, 0.0])
    assert found.items[1].enough == found.items[1].aft
    assert (found.aft, found.forward) == pytest.approx((0.17, -0.08))
    assert (found.all_aft, found.all_forward) == pytest.approx((0.17, -0.33))


def test_no_shift_has_no_chance():
    question = SimpleNamespace(of=lambda *_: SimpleNamespace(known=True))
    assert math.isnan(shift_chance(question, 0.0, 0.0))


def test_thrust_turns_the_airplane_by_its_arm_and_all_else_is_scaled(commuter):
    """Statics: 0.3 m above the center of gravity a thrust turns the nose down by 0.3 m of it."""
    one = np.ones((1, 120))
    time = 0.25 * np.arange(120)
    flight = MotionFlight(
        time=time, true_airspeed=90.0 * one, dynamic_pressure=4900.0 * one, mach=0.27 * one,
        density=1.21 * one, normal_load_factor=np.where(time > 20.0, 0.1, 1.0) * one,
        longitudinal_load_factor=np.where(time > 12.0, 0.05, 0.0) * one, path_rate=0.0 * one,
        gust_angle=0.0 * one,
    )  # fmt: skip
    trimmed = time < 8.0
    level = replace(commuter, engines=tuple(replace(e, depth=0.0) for e in commuter.engines))
    found, without = (required_moment(a, flight, trimmed, window=2.0) for a in (commuter, level))
    bounds = energy(commuter, flight, found)
    thrust = found.thrust
    assert (bounds.idle < thrust).all() and (thrust < bounds.full).all()
    np.testing.assert_allclose(bounds.power, 90.0 * thrust)
    change = thrust - thrust[:, trimmed].mean()
    scale = 4900.0 * 28.0 * 1.75
    made = found.moment_coefficient - without.moment_coefficient
    np.testing.assert_allclose(made, 0.3 * change / scale, atol=1e-12)
    np.testing.assert_allclose(found.moment, scale * found.moment_coefficient)
    alpha = found.angle_of_attack
    lift = found.lift_coefficient
    weight = 5200.0 * GRAVITY * flight.normal_load_factor
    np.testing.assert_allclose(lift, (weight - thrust * np.sin(alpha)) / 137_200.0, atol=1e-5)
    np.testing.assert_allclose(found.shift_effect, lift * np.cos(alpha) / 1.75, atol=1e-12)
    assert np.isfinite(found.cg_shift[:, time < 20.0]).all()
    assert np.isnan(found.cg_shift[:, time > 20.0]).all()  # a tenth of the load is too little


def test_need_per_size_of_its_own_effect():
    # Sizes along (1, 1): (2 + 4) / 2 = 3 and 1.
    values = np.array([[6.0, 9.0], [1.0, 2.0]])
    found = per_size(values, np.array([[2.0, 4.0], [2.0, 0.0]]), np.ones(2))
    np.testing.assert_allclose(found, [[2.0, 3.0], [1.0, 2.0]])


def test_a_spread_is_parted_and_counted_by_its_freedom():
    drawn = np.array([[1.0], [1.0], [-1.0], [-1.0]]) / 2.0
    noise = np.array([[1.0], [-1.0], [1.0], [-1.0]])
    built, left = parted(5.0 + 6.0 * drawn + noise, drawn)
    np.testing.assert_allclose(built, 5.0 + 6.0 * drawn)
    assert left[0, 0] == pytest.approx(4.0 / (4 - 1 - 1))


def test_path_above_and_below_the_trimmed_one():
    """sin(gamma) = n_x - V' / g: a thrust that only speeds up does not climb."""
    one = np.ones((1, 81))
    part = np.select([TIME < 20.0, TIME < 30.0], [0.0, 1.1], -1.1) * OFF_PATH
    flight = SimpleNamespace(
        true_airspeed=(80.0 + TIME)[None] * one,
        longitudinal_load_factor=(np.sin(0.05 + part) + 1.0 / GRAVITY)[None],
        step=0.5,
    )
    required = SimpleNamespace(trimmed=TIME < 10.0)
    knots = np.array([10, 50, 75])
    above, below = off_path(SimpleNamespace(flight=flight, required=required, knots=knots))
    assert above.tolist() == [False, True, False] and below.tolist() == [False, False, True]


@pytest.mark.parametrize(
    ("enough", "found"), [(1.0, PRICES[0]), (140.0, PRICES[6]), (1e4, math.inf)]
)
def test_the_price_is_the_least_force_that_does(monkeypatch, enough, found):
    def flown(needed, histories, pilot, rng):
        assert pilot.hands is Hands.RESISTING
        return SimpleNamespace(probability=0.05 if pilot.force >= enough else 0.049)

    monkeypatch.setattr(judging, "flown", flown)
    assert judging.price(None, None, Hands.RESISTING, None) == found


def test_values_are_not_changed_once_they_are_made(changeable):
    assert changeable(neutralpoint.moments) == []
