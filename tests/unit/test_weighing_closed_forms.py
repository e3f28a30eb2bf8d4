"""Draws, moves, nearest flights and scores of the weighing against sums done by hand.

Sources are those of the formulas; the sums are done here another way, and nothing is flown: a
stand-in for the flights says what was asked of it. Written for changes of one number or sign that
no quick test found (benchmarks/results/mutation.md).
"""

from __future__ import annotations

import math
from dataclasses import fields
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.special import ndtr

from neutralpoint.airplane.model import Multipliers
from neutralpoint.explanations import CAUSES, Effect, Prior
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing import compare, effects, network, predictive, simulate
from neutralpoint.weighing.blind import judge
from neutralpoint.weighing.broken import broke_at
from neutralpoint.weighing.check import Nulls, p_listed
from neutralpoint.weighing.course import BESIDE, COLUMNS, Course
from neutralpoint.weighing.evidence import drift_after
from neutralpoint.weighing.features import NAMES, features
from neutralpoint.weighing.flights import Drawn, Flown, Plan, Start, flown_of, values_of
from neutralpoint.weighing.items import ITEMS
from neutralpoint.weighing.nearest import Scale, band, closeness, kernel, near
from neutralpoint.weighing.odds import NOTHING
from neutralpoint.weighing.ordinary import ORDINARY
from neutralpoint.weighing.signatures import _first_unit, _kept, _push_unit, _scored, without_hands
from neutralpoint.weighing.weigh import _to_values
from neutralpoint.weighing.wider import wider_airplane, wider_ordinary

STILL, SPIRAL = CAUSES[CauseName.NO_FAILURE], CAUSES[CauseName.SPIRAL_DIVE]
LEAVES = [f.name for f in fields(Multipliers)]


def drawn_of(count: int, rng=None, ordinary: int = len(ORDINARY)) -> Drawn:
    rng = rng or np.random.default_rng(1)
    return Drawn(
        rng.standard_normal((count, simulate.WIDTH)),
        rng.standard_normal((count, ordinary)),
        Multipliers(**{name: rng.standard_normal(count) for name in LEAVES}),
        {"speed": 80.0 + np.arange(count)},
        np.arange(count),
    )


def course_of(rows: int, nodes: int = 9, **series) -> Course:
    blank = np.zeros((rows, nodes))
    return Course(0.5 * np.arange(nodes), **{n: blank + series.get(n, 0.0) for n in COLUMNS})


def test_every_row_of_every_item_is_a_distribution():
    for item in ITEMS:
        for row in (item.otherwise, *item.rows.values()):
            assert len(row) == len(item.outcomes) and min(row) > 0.0
            assert sum(row) == pytest.approx(1.0), item.key


def test_below_the_last_level_the_chance_falls_with_the_odds():
    levels = np.array([0.5, 0.1, 0.02])
    beyond = np.log(np.tile([0.2, 0.5, 0.8], (3, 1)))
    table = Nulls(("a",), levels, np.zeros((1, 3)), np.ones(1), np.zeros((3, 3)), levels, beyond)
    found = p_listed(table, ("a", "unlisted"), np.log([[0.1, 0.9]]), 1)
    assert found == pytest.approx(0.02 * (0.8 / 0.2) / (0.9 / 0.1))


def test_a_move_leaves_normal_scores_normal_and_most_of_each_as_it_was():
    """Shares of 0.1, 0.3 and 0.7 leave correlations of the root of 1 - share^2."""
    rng = np.random.default_rng(12)
    before, others = drawn_of(6000, rng, 3), drawn_of(50, rng, 3)
    after = predictive._moved(before, others, rng)
    kept = np.mean(np.sqrt(1.0 - np.array([0.1, 0.3, 0.7]) ** 2))
    for old, new in ((before.unit, after.unit), (before.ordinary, after.ordinary)):
        assert new.var() == pytest.approx(1.0, abs=0.03)  # over four standard errors
        assert (old * new).mean() == pytest.approx(kept, abs=0.03)
    swapped = after.multipliers.lift_slope != before.multipliers.lift_slope
    assert swapped.mean() == pytest.approx(0.3, abs=0.025)
    # All derivatives of a flight come from one other airplane.
    place = np.searchsorted(np.sort(others.multipliers.drag), after.multipliers.drag[swapped])
    whose = np.argsort(others.multipliers.drag)[place]
    np.testing.assert_array_equal(
        after.multipliers.thrust[swapped], others.multipliers.thrust[whose]
    )
    stirred = after.number != before.number
    assert stirred.mean() == pytest.approx(0.2, abs=0.022)
    assert np.median(after.number[stirred]) == pytest.approx(2.0**29, rel=0.1)
    assert np.unique(after.number[stirred]).size > 0.99 * stirred.sum()


def test_the_gusts_of_an_ordinary_flight_stay_those_of_the_air():
    drawn = drawn_of(5)
    air = [p.name for p in ORDINARY].index("air")
    plan = SimpleNamespace(ordinary=ORDINARY)
    tied = predictive._tied(STILL, plan, drawn)
    np.testing.assert_array_equal(tied.unit[:, 0], drawn.ordinary[:, air])
    np.testing.assert_array_equal(tied.unit[:, 1:], drawn.unit[:, 1:])
    assert predictive._tied(SPIRAL, plan, drawn) is drawn


def flown_rows(count: int, cause=STILL, nodes: int = 4, offset: float = 0.0) -> Flown:
    rows = offset + np.arange(count * nodes * 11.0).reshape(count, nodes, 11)
    plan = Plan(SimpleNamespace(trim_drive=SimpleNamespace(kind="tab")), ORDINARY, 1.5, None)
    return flown_of(cause, plan, drawn_of(count), rows, np.arange(count))


def test_the_nearest_flight_ever_met_is_kept():
    flown = flown_rows(3)
    first = predictive._pool(flown, np.array([[2.0, 2.0], [1.0, -1.0], [np.inf, 0.0]]))
    assert first.distance.tolist() == [2.0, 1.0, math.inf]
    assert first.best.course.altitude[0, 0] == flown.course.altitude[1, 0]
    worse = predictive._pool(flown, np.full((3, 2), 1.5), first)
    assert worse.best is first.best and worse.best_residual.tolist() == [1.0, -1.0]
    better = predictive._pool(flown, np.array([[3.0, 3.0], [3.0, 3.0], [0.5, 0.5]]), first)
    assert better.best_residual.tolist() == [0.5, 0.5]
    assert better.best.course.altitude[0, 0] == flown.course.altitude[2, 0]


def test_moves_that_come_nearer_are_taken_and_the_others_stay():
    old, new = flown_rows(3), flown_rows(3, offset=1000.0)
    pools = [predictive._pool(f, np.full((3, 2), r)) for f, r in ((old, 2.0), (new, 1.0))]
    mixed = predictive._mixed(*pools, np.array([True, False, True]))
    picked = [new, old, new]
    for name in COLUMNS:
        expected = [getattr(f.course, name)[k] for k, f in enumerate(picked)]
        np.testing.assert_array_equal(getattr(mixed.flown.course, name), expected)
    for name in (*BESIDE, "unit", "values"):
        np.testing.assert_array_equal(
            getattr(mixed.flown, name), [getattr(f, name)[k] for k, f in enumerate(picked)]
        )
    assert mixed.residual.tolist() == [[1.0, 1.0], [2.0, 2.0], [1.0, 1.0]]
    assert mixed.flown.drawn.number.tolist() == [0, 1, 2]


def test_a_summary_says_where_the_nearest_flight_fails():
    flown, knots = flown_rows(60), 3
    residual = np.ones((60, len(NAMES) * knots))
    residual[:, :] *= np.linspace(1.0, 30.0, 60)[:, None]
    residual[0, NAMES.index("speed") * knots + 1] = -4.0
    target = SimpleNamespace(at=np.array([1.0, 2.5, 4.0]))
    pool = predictive._pool(flown, residual)
    found = predictive._summary(pool, target, True)
    assert (found.fails_in, found.fails_at, found.fails_by) == ("speed", 2.5, -4.0)
    assert found.distance == pytest.approx(math.sqrt((20.0 + 16.0) / 21.0))
    assert found.misfit["speed"].tolist() == [1.0, -4.0, 1.0] and not found.moves_trim
    assert found.effective == pytest.approx(20.0, rel=1e-6)  # at least so many, of 60
    early = predictive._summary(pool, target, False)
    assert early.effective == pytest.approx(6.0, rel=1e-6)  # a tenth
    assert found.best["pitch"].tolist() == flown.pitch[0].tolist()
    assert found.trim_end.tolist() == found.trim[:, -1].tolist()


def test_a_kernel_is_as_narrow_as_its_flights_allow():
    distance = np.r_[np.linspace(1.0, 5.0, 40), np.inf]
    weight, width = kernel(distance, 8.0)
    expected = np.exp(-0.5 * (distance[:40] ** 2 - 1.0) / width**2)
    np.testing.assert_allclose(weight[:40], expected / expected.sum())
    assert weight[40] == 0.0 and 1.0 / (weight**2).sum() == pytest.approx(8.0, rel=1e-6)
    few, _ = kernel(distance[:6], 20.0)
    assert 1.0 / (few**2).sum() == pytest.approx(3.0, rel=1e-6)  # half of those that are there
    values = np.array([[3.0, 1.0], [1.0, 2.0], [2.0, 3.0]])
    found = band(values, np.array([0.5, 0.2, 0.3]), (0.1, 0.5, 0.9))
    assert found.tolist() == [[1.0, 1.0], [2.0, 1.0], [3.0, 3.0]]


def test_the_nearest_flight_by_root_mean_square():
    simulated = np.zeros((3, 14))
    simulated[0], simulated[1], simulated[2] = 2.0, 1.0, 1.0
    simulated[1, 5] = -3.0  # of two knots: the second of the third quantity
    found = near(simulated, np.zeros(14), Scale(np.full(14, 0.5)))
    assert found.best == 2 and found.distance == 2.0
    found = near(simulated[:2], np.zeros(14), Scale(np.full(14, 0.5)))
    assert (found.best, found.miss_name, found.miss_index) == (1, NAMES[2], 1)
    assert found.miss == -6.0 and found.distance == pytest.approx(math.sqrt((13 * 4 + 36) / 14))
    ordinary = np.array([[-1.0], [0.0], [1.0], [9.0], [-9.0]])
    sigma = closeness(np.array([[3.0], [-3.0]]), ordinary).sigma
    assert sigma[0] == pytest.approx(math.hypot(3.0, 1.4826))


def test_a_trace_is_told_against_the_twin():
    null = np.array([[0.0, 0.0], [1.0, 1.0]])
    batches = [SimpleNamespace(cause="a", twin=np.array([1, 0])),
               SimpleNamespace(cause=NOTHING, twin=np.arange(2))]  # fmt: skip
    own = np.array([[1.0, 4.0], [-5.0, 1.0]])
    found = compare.traces(batches, [own, null], np.array([1.0, 0.5]))
    assert found[0].tolist() == [6.0, 5.0] and found[1].tolist() == [math.inf] * 2
    alone = compare.traces(batches[:1], [own], np.ones(2))
    assert alone[0].tolist() == [math.inf] * 2
    unseen = compare._unseen((4000, 14)).reshape(4000, 7, 2)
    loads = [NAMES.index(n) for n in ("lift up", "pull at the trim of the start")]
    assert unseen.std(axis=0)[loads].ravel() == pytest.approx(0.025, rel=0.05)
    np.testing.assert_array_equal(unseen[:, loads[0]], unseen[:, loads[1]])
    assert not np.delete(unseen, loads, axis=1).any()


def test_every_eighth_flight_only_tests_and_those_with_a_trace_come_again():
    clean = np.arange(32.0).reshape(16, 2)
    traced = np.isin(np.arange(16), (0, 2, 3, 5))
    compared = SimpleNamespace(simulated=[clean, 100.0 + clean], errors=np.full((1, 2), 0.5),
                               traced=[traced, np.ones(16, bool)])  # fmt: skip
    rng = np.random.default_rng(3)
    rows, labels = compare.labelled(compared, rng, test=False)
    assert labels.tolist() == [0] * 14 + [1] * 14 + [2] * 14
    own = rows[:14, 0] / 2.0
    assert own.tolist() == [2, 3, 5] * 4 + [2, 3]
    assert (rows[14:28, 0] - 100.0).tolist() == [2.0 * k for k in range(16) if k % 8]
    rows, labels = compare.labelled(compared, rng, test=True)
    assert labels.tolist() == [0, 0, 1, 1, 2, 2]
    assert rows[:4, 0].tolist() == [0.5, 0.5, 100.5, 116.5]  # with an error laid over


def test_a_flight_breaks_where_it_passes_one_and_a_half_times_its_limit():
    limits = SimpleNamespace(load_factor_max=4.0, load_factor_min=-2.0)
    load = np.ones((4, 9))
    load[0, 3], load[1, 5:], load[2, 4], load[3, 2] = 6.1, -3.1, 5.9, -2.9
    flown = SimpleNamespace(
        cause="x", course=course_of(4, normal_load_factor=load),
        plan=SimpleNamespace(airplane=SimpleNamespace(limits=limits)),
    )  # fmt: skip
    assert broke_at(flown).tolist() == [1.5, 2.5, math.inf, math.inf]
    flown.cause = CauseName.STRUCTURAL_FAILURE
    assert broke_at(flown).tolist() == [math.inf] * 4


def test_flights_are_flown_for_whole_lengths_of_twenty_seconds():
    lengths = {19.0: (20.0, 39), 19.6: (40.0, 41), 30.2: (40.0, 62), 60.0: (80.0, 121)}
    for duration, (flown_for, records) in lengths.items():
        plan = Plan(None, (), duration, None)
        assert (plan.flown_for, plan.records) == (flown_for, records)


def test_energy_height_counts_from_the_start():
    """A zoom from 100 to 80 m/s that keeps its energy, then a loss of 2 m/s of height."""
    time = 0.5 * np.arange(81)
    speed = 100.0 - 0.5 * time
    climb = (1e4 - speed**2) / (2.0 * 9.80665)
    course = Course(
        time, **{n: np.zeros((1, 81)) for n in COLUMNS} | {
            "true_airspeed": speed[None], "altitude": (900.0 + climb - 2.0 * time)[None]}
    )  # fmt: skip
    at = np.array([10.0, 30.0])
    found = features(course, at, 3.0)[0].reshape(7, 2)
    np.testing.assert_allclose(found[NAMES.index("energy height")], -2.0 * at)
    np.testing.assert_allclose(found[NAMES.index("speed")], -0.5 * at)
    pull = -((1.0 - 0.005 * at) ** 2)  # a smoothed parabola keeps its shape: order 2
    np.testing.assert_allclose(found[NAMES.index("pull at the trim of the start")], pull)


@pytest.mark.parametrize("own", [0.0, 0.4, -2.0])
def test_a_flight_goes_on_from_where_the_track_ends(own):
    """Straight for 100 m, then 300 m ahead and 40 m to its right; seen to head 70 degrees."""
    along, right = np.array([0.0, 100.0, 400.0]), np.array([0.0, 0.0, 40.0])
    north = along * math.cos(own) - right * math.sin(own)
    east = along * math.sin(own) + right * math.cos(own)
    seen = math.radians(70.0)
    found = drift_after(north[None], east[None], last=1, then=2, heading=seen, drift=(5.0, -3.0))
    cos, sin = math.cos(seen), math.sin(seen)
    expected = [300.0 * cos - 40.0 * sin + 5.0, 300.0 * sin + 40.0 * cos - 3.0]
    np.testing.assert_allclose(found[0], expected)


def test_scores_of_each_cause_are_those_of_its_own_cases():
    """Two cases of a that are told, one of b that is lost: given 0.9, 0.9 and next to nothing."""
    shares = np.array([[0.9, 0.05, 0.05], [0.9, 0.05, 0.05], [1.0 - 2e-9, 1e-9, 1e-9]])
    causes = (SimpleNamespace(name="a"), SimpleNamespace(name="b"))
    found = judge(np.log(shares)[None], np.array([0, 0, 1]), causes, ("a", "b", "unlisted"))
    a, b = found.by_cause["a"], found.by_cause["b"]
    assert (a.cases, a.leads, a.below_1_percent) == (2, 1.0, 0.0)
    assert (b.cases, b.leads) == (1, 0.0)
    assert found.cases == 3 and found.leads == pytest.approx(2.0 / 3.0)
    assert found.prior_log_score == pytest.approx(math.log(1.0 / 3.0))
    scores = [a.mean_log_score] * 2 + [b.mean_log_score]
    assert found.mean_log_score == pytest.approx(np.mean(scores))
    assert found.log_score_error == pytest.approx(np.std(scores) / math.sqrt(3.0))
    # Three in ten by the power 0.4 alone, 0.5 % nothing: b keeps 7e-5 and a third of that.
    faults = 0.7 * 1e-9 + 0.3 * 1e-9**0.4 / ((1.0 - 2e-9) ** 0.4 + 2.0 * 1e-9**0.4)
    assert b.mean_log_score == pytest.approx(math.log(0.995 * faults + 0.005 / 3.0), rel=1e-6)


def test_draws_are_stratified_in_each_column():
    found = ndtr(simulate._stratified(3, np.random.default_rng(2), 50))
    cells = np.sort(np.floor(50.0 * found), axis=0)
    np.testing.assert_array_equal(cells, np.tile(np.arange(50.0)[:, None], 3))
    certain = SimpleNamespace(permutation=np.arange, uniform=lambda size: np.zeros(size))
    assert np.isfinite(simulate._stratified(1, certain, 4)).all()
    assert ndtr(simulate._stratified(1, certain, 4)[1, 0]) == pytest.approx(0.25)


def test_the_aileron_of_a_bank_is_that_of_damping_at_the_loop_of_bank(monkeypatch):
    """Roll rate per aileron is -2 V Cl_a/(b Cl_p); somebody levels the wings at BANK_LOOP a rad."""
    monkeypatch.setattr(simulate, "jnp", np)
    state = SimpleNamespace(velocity_north=60.0, velocity_east=-48.0, velocity_down=64.0)  # 100 m/s
    lateral = SimpleNamespace(Cl_aileron=-0.2, Cl_p=-0.5)
    airplane = SimpleNamespace(lateral=lateral, geometry=SimpleNamespace(span=16.0))
    setting = SimpleNamespace(state=state, airplane=airplane)
    speed = math.sqrt(60.0**2 + 48.0**2 + 64.0**2)
    rate = -2.0 * speed * -0.2 / (16.0 * -0.5)
    assert simulate.roll_of(setting) == pytest.approx(simulate.BANK_LOOP / rate)
    found = simulate.static_of(setting, {"static": 0.02})
    assert (found.share, found.speed) == (0.02, pytest.approx(speed))
    lateral.Cl_aileron = 0.0
    with np.errstate(divide="ignore"):
        assert simulate.roll_of(setting) == 0.0


@pytest.mark.parametrize(("drive", "find"), [("none", "elevator"), ("tab", "trim")])
def test_a_flight_begins_trimmed_where_there_is_a_trim(monkeypatch, drive, find):
    asked = {}
    for module, name, made in (
        (simulate, "apply_multipliers", lambda airplane, multipliers: airplane),
        (effects, "make_air", lambda temperature_offset: temperature_offset),
        (simulate, "who_flies", lambda ordinary: ("pilot", "autopilot")),
        (effects, "find_equilibrium", lambda _, air, condition: asked.update(c=condition, air=air)),
        (simulate, "make_setting", lambda airplane, air, steady, **who: who),
    ):
        monkeypatch.setattr(module, name, made)
    start = {"speed": 90.0, "height": 900.0, "path_angle": 0.02, "flap": 0.1, "gear": 1.0}
    airplane = SimpleNamespace(trim_drive=SimpleNamespace(kind=drive))
    found = simulate.setting_of(airplane, None, start | {"temperature_offset": 7.0}, {})
    assert found == {"pilot": "pilot", "autopilot": "autopilot"} and asked["air"] == 7.0
    assert asked["c"].find == find and asked["c"].turn == "none"
    assert {name: getattr(asked["c"], name) for name in start} == start


def test_a_meant_deed_is_added_to_the_effect_of_a_cause(monkeypatch):
    monkeypatch.setattr(simulate, "jnp", np)
    own = Effect()._replace(
        gust=0.4, climb=1.0, aileron=0.1, lever=0.2, flap=0.3, drag=2.0, bank_care=0.5
    )
    deed = Effect()._replace(climb=2.0, aileron=0.4, lever=0.1, flap=-0.1, drag=1.5)
    monkeypatch.setattr(simulate, "given_way", lambda ordinary, moment, effect: effect)
    monkeypatch.setattr(simulate, "meant", lambda ordinary, moment, duration, roll: deed)
    told = {"ordinary": {"air": 0.7}, "duration": 9.0, "roll": 1.0}
    found = simulate.with_meant(own, told, None)
    expected = {"gust": 0.7, "climb": 3.0, "aileron": 0.3, "lever": 0.3, "flap": 0.2, "drag": 3.0}
    assert {name: getattr(found, name) for name in expected} == pytest.approx(expected)
    picked = simulate._chosen([own, deed, own], np.array(1))
    assert (float(picked.climb), float(picked.drag)) == (2.0, 1.5)


def test_sound_flights_are_taken_again_for_those_that_are_lost():
    good = np.array([True, False, True, False, True])
    assert simulate._filled_up(good).tolist() == [0, 2, 4, 0, 2]
    assert simulate._filled_up(np.zeros(3, bool)).tolist() == [0, 1, 2]


def test_a_fault_begins_within_its_window_and_the_air_is_that_of_all():
    begun = simulate.limited(SPIRAL, (1.0, 9.0), ORDINARY)
    start = next(p.prior for p in begun.parameters if p.name == "start")
    assert start == Prior("uniform", 1.0, 9.0)
    air = next(p.prior for p in ORDINARY if p.name == "air")
    still = simulate.limited(STILL, (1.0, 9.0), ORDINARY)
    assert next(p.prior for p in still.parameters if p.name == "gust") == air


class Stand:
    """Says what was asked to be flown, and flies rows that tell their place."""

    def __init__(self, lost=()) -> None:
        self.jobs, self.lost = [], lost

    def __call__(self, jobs):
        self.jobs += jobs
        records = 100
        found, before = [], 0
        for job in jobs:
            place = before + np.arange(job.used)
            rows = np.broadcast_to(place[:, None, None], (job.used, records, 11)).astype(float)
            rows = rows.copy()
            rows[np.isin(place, self.lost)] = np.nan
            found.append(rows)
            before += job.used
        return found


def test_causes_share_all_that_is_drawn_and_lost_twins_take_theirs_along():
    rng, count = np.random.default_rng(5), 300
    multipliers = Multipliers(**{name: rng.standard_normal(2 * count) for name in LEAVES})
    start = Start(np.array([70.0, 90.0]), np.array([0.01, 0.02]), 1500.0, 4.0, 0.2, 1.0)
    stand = Stand(lost=(7, count + 11))  # of no failure, and of the spiral dive
    still, spiral = simulate.simulate(
        SimpleNamespace(), multipliers, start, (STILL, SPIRAL), rng=rng, duration=12.2, fly=stand,
    )  # fmt: skip
    assert [job.used for job in stand.jobs] == [512, 88]
    assert all(job.numbers.shape == (512,) for job in stand.jobs)
    assert (stand.jobs[0].duration, stand.jobs[0].flown_for) == (12.2, 20.0)
    drawn, begin, ordinary, cause = stand.jobs[0].drawn
    places = [simulate.FLOWN.index(STILL), simulate.FLOWN.index(SPIRAL)]
    assert cause["index"].tolist() == [places[0]] * count + [places[1]] * (512 - count)
    np.testing.assert_array_equal(drawn.drag[:count], multipliers.drag[:count])
    np.testing.assert_array_equal(drawn.drag[count:], multipliers.drag[: 512 - count])
    assert set(zip(begin["speed"], begin["path_angle"], strict=True)) == {
        (70.0, 0.01),
        (90.0, 0.02),
    }
    told = {"height": 1500.0, "temperature_offset": 4.0, "flap": 0.2, "gear": 1.0}
    assert all((begin[name] == value).all() for name, value in told.items())
    assert stand.jobs[0].numbers[:count].tolist() == list(range(count))
    np.testing.assert_array_equal(ordinary["air"][:count], cause["values"][:count, 0])
    # 26 records of half a second; the flight number 7 is gone with its twin, 11 of one alone.
    assert still.course.altitude.shape == spiral.course.altitude.shape == (count, 26)
    sound = [k for k in range(count) if k != 7]
    assert still.course.altitude[:, 0].tolist() == [*sound, 0.0]
    dived = [k for k in sound if k != 11]
    assert (spiral.course.altitude[:, 0] - count).tolist() == [*dived, 0.0, 1.0]
    assert still.twin.tolist() == [*range(count - 1), 0]
    np.testing.assert_array_equal(still.course.altitude[spiral.twin, 0], [*dived, 0, 1])
    np.testing.assert_array_equal(
        spiral.values, values_of(spiral.act.parameters, spiral.drawn.unit)
    )


def test_scores_become_values_by_the_draws_themselves():
    unit = np.array([[1.0], [-1.0], [0.0]])
    batch = SimpleNamespace(parameters=("x",), unit=unit, values=np.array([[9.0], [2.0], [4.0]]))
    found = _to_values(np.array([[-0.5], [0.5], [5.0]]), batch)
    assert found.ravel().tolist() == [3.0, 6.5, 9.0]


def test_the_temperature_that_scores_best(monkeypatch):
    """Outputs of ln 3 either way that are right in three of four: true of them divided by 2."""
    logit = math.log(3.0)
    runs = np.tile([[logit, -logit]], (1, 8, 1))
    monkeypatch.setattr(network, "log_evidence", lambda net, features: runs)
    found = network.temperature(SimpleNamespace(temperature=1.5), None, np.array([0, 0, 0, 1] * 2))
    assert found == pytest.approx(3.0, rel=1e-3)
    score = network._score(np.log([[[0.2, 0.8]], [[0.6, 0.4]]]), np.array([1]))
    assert score == pytest.approx(math.log(0.6))


def test_nobody_is_on_the_column():
    """Loops that never act, no reaction, nothing meant; scores that choose stay to be chosen."""
    plan = without_hands(Plan(None, ORDINARY, 30.0, None))
    middle = {p.name: float(p.prior.quantile(np.array(0.9))) for p in plan.ordinary}
    for name in ("engaged", "activity", "sway", "heave", "climbs", "turns", "hills", "steeps"):
        assert middle[name] == 0.0, name
    assert middle["reaction"] == 1e6 and middle["crossover"] == 1e-6
    drawn = drawn_of(3)
    scored = _scored(plan, drawn, cuts=2.0)
    at = [p.name for p in ORDINARY].index("cuts")
    assert scored.ordinary[:, at].tolist() == [2.0] * 3
    np.testing.assert_array_equal(
        np.delete(scored.ordinary, at, 1), np.delete(drawn.ordinary, at, 1)
    )
    assert _first_unit(drawn, -6.0).unit[:, 0].tolist() == [-6.0] * 3
    push = CAUSES[CauseName.CONTROL_INPUT]
    unit = _push_unit(push, drawn.unit)
    values = dict(
        zip([p.name for p in push.parameters], values_of(push.parameters, unit).T, strict=True)
    )
    assert (values["direction"] > 0.0).all() and values["start"] == pytest.approx(0.0, abs=1e-6)
    rows = np.zeros((3, 4, 11))
    rows[1, 2, 3] = 1e8
    assert _kept(STILL, plan, drawn, rows).drawn.number.tolist() == [0, 2]
    assert _kept(STILL, plan, drawn, rows + 1e9) is None


def test_the_wider_world_is_half_as_wide_again():
    fitted = SimpleNamespace(flown=lambda: SimpleNamespace(sigma={"drag": 0.2}))
    assert wider_airplane(fitted).sigma == {"drag": pytest.approx(0.3)}
    for told, wide in zip(ORDINARY, wider_ordinary(), strict=True):
        grown = told.prior.shape in ("normal", "lognormal")
        assert wide.prior.low == told.prior.low
        assert wide.prior.high == pytest.approx((1.5 if grown else 1.0) * told.prior.high)
