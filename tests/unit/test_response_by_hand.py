"""Parts of the response held against numbers worked out by hand: lessons, draws, lanes, answers.

Sources are those of the formulas; what is checked here is that they are written down right.
"""

from __future__ import annotations

import dataclasses
from collections import deque
from types import SimpleNamespace

import jax
import jax.numpy as jnp
import numpy as np
import pytest

import neutralpoint.response
from neutralpoint.airplane.model import StopDevice
from neutralpoint.explanations import CAUSES
from neutralpoint.explanations.prior import Prior
from neutralpoint.explanations.strength import Population
from neutralpoint.response import lessons, maps, trials
from neutralpoint.response.answers import (
    COLUMN_ALONE,
    POWER_BACK,
    answers_to,
    why_no_map,
    why_no_rate_map,
    works_the_trim,
)
from neutralpoint.response.faults import draw_faults, typical_fault
from neutralpoint.response.force import without_hands
from neutralpoint.response.outcome import Outcome
from neutralpoint.response.trials import DURATION, MAP_STEP, Trials

UNMAPPED = {"no-failure", "power-loss-all", "structural-failure", "unlisted"}
RUNAWAY, DIVE = CAUSES["stabilizer-runaway"], CAUSES["spiral-dive"]
BUTTON = StopDevice(
    name="button", kind="momentary_hold", reach_time=0.7, hands=1, release_restarts=True
)


def with_stops(airplane, *stops):
    drive = dataclasses.replace(airplane.trim_drive, stops=stops, manual_rate=0.3)
    return dataclasses.replace(airplane, trim_drive=drive)


def test_what_each_lesson_changes(commuter):
    airplane = with_stops(commuter, BUTTON)
    procedures = {COLUMN_ALONE: (), "late": (), POWER_BACK: lessons.power_back(1.0)}
    assert lessons.reference_procedure(procedures) == POWER_BACK
    found = lessons.lessons_for(RUNAWAY, airplane, procedures)
    assert list(found) == [f"lesson: {x.name}" for x in lessons.LESSONS]
    latch, wheel, button, power, sound = found.values()
    # A thumb on a latch after half a second, and no hand away; a wheel after one second by one
    # hand, half as fast as the motor; a button is let go after five seconds; a sound after one.
    assert float(latch.timetable.latched) == 0.5 and float(latch.timetable.end) == 0.5
    assert all(float(span.hands) == 0.0 for span in latch.timetable.hands)
    assert float(wheel.timetable.wheel) == 1.0
    assert max(float(span.hands) for span in wheel.timetable.hands) == 1.0
    assert float(wheel.manual_rate) == 0.5 * commuter.trim_drive.rate
    held = button.timetable.holds[0]
    assert float(held.end - held.begin) == 5.0 and float(held.begin) == 0.7
    assert float(button.timetable.was_held) == np.inf
    assert [float(power.timetable.levers[0].begin), float(power.timetable.levers[0].lever)] == [
        0,
        0,
    ]
    assert float(sound.cue_delay) == 1.0 and float(sound.manual_rate) == 0.3
    assert all(float(x.cue_delay) == np.inf for x in (latch, wheel, button, power))
    # The levers come back an action's wait earlier than with a wait of one second before.
    own = lessons.answer(airplane, procedures[POWER_BACK])
    earlier = own.timetable.levers[0].begin - power.timetable.levers[0].begin
    assert float(earlier) == pytest.approx(1.0)


def test_lessons_that_have_no_meaning_are_left_out(commuter):
    bare, steps = with_stops(commuter), {COLUMN_ALONE: (), "x": (lessons.Action(kind="attitude"),)}
    assert list(lessons.lessons_for(DIVE, bare, steps)) == []
    assert list(lessons.lessons_for(RUNAWAY, bare, steps)) == [
        "lesson: latching button", "lesson: manual wheel", "lesson: sound of trim",
    ]  # fmt: skip
    still = dataclasses.replace(BUTTON, release_restarts=False)
    found = lessons.lessons_for(RUNAWAY, with_stops(commuter, still), steps)
    assert "lesson: button released" not in found
    power = lessons.lessons_for(DIVE, bare, steps | {POWER_BACK: lessons.power_back(1.0)})
    assert list(power) == ["lesson: earlier power cut"]
    # Other steps follow the power; a procedure that has power in it is that alone.
    both = power["lesson: earlier power cut"].timetable
    assert float(both.attitude) < np.inf
    only = lessons.lessons_for(DIVE, bare, {POWER_BACK: lessons.power_back(1.0)})
    assert float(only["lesson: earlier power cut"].timetable.attitude) == np.inf


def test_answers_have_a_meaning_or_a_reason(commuter):
    airplane = with_stops(commuter, BUTTON)
    assert works_the_trim(RUNAWAY) and not works_the_trim(DIVE)
    for name, cause in CAUSES.items():
        reason = why_no_map(cause)
        assert bool(reason) == (name in UNMAPPED)
        found = answers_to(cause, airplane)
        assert bool(found) != bool(reason)
        if found:
            assert next(iter(found)) == COLUMN_ALONE and next(iter(found.values())) == ()
        rated = any(p.name == "rate_share" for p in cause.parameters)
        assert (why_no_rate_map(cause) == "") == rated
    (full,) = answers_to(CAUSES["wind-shear"], airplane)["full power"]
    assert full.kind == "power" and full.lever == 1.0
    down, power, up = answers_to(CAUSES["wing-stall"], airplane)["nose down, full power"]
    assert (down.kind, power.lever, up.wait) == ("lower nose", 1.0, 8.0)
    assert list(answers_to(DIVE, airplane)) == [COLUMN_ALONE, "fly by the attitude instruments"]


def a_cause(**priors: Prior):
    parameters = tuple(
        SimpleNamespace(
            name=name, prior=prior, unit="s" if name in ("start", "run", "hold") else "1"
        )
        for name, prior in priors.items()
    )
    return SimpleNamespace(
        parameters=parameters, middle=lambda: {p.name: p.prior.middle for p in parameters}
    )


def test_faults_begin_after_a_second_and_lower_the_nose():
    cause = a_cause(
        start=Prior("uniform", 5.0, 9.0),
        run=Prior("lognormal", 3.0, 0.5),
        size=Prior("normal", 0.0, 2.0),
        side=Prior("either", -1.0, 1.0),
        lean=Prior("normal", 1.0, 2.0),
        rate=Prior("uniform", 0.0, 1.0),
        odd=Prior("either", -1.0, 2.0),
    )
    drawn = draw_faults(cause, np.random.default_rng(3), 40)
    assert (drawn["start"] == 1.0).all() and (drawn["run"] == 1e4).all()
    assert (drawn["size"] > 0.0).all() and (drawn["side"] == 1.0).all()
    assert drawn["lean"].min() < 0.0 and set(drawn["odd"]) == {-1.0, 2.0}
    # One in each fortieth.
    assert np.sort(np.floor(40.0 * drawn["rate"])).tolist() == list(range(40))
    typical = typical_fault(cause)
    assert typical == {
        "start": 1.0, "run": 1e4, "size": 2.0, "side": 1.0, "lean": 1.0, "rate": 0.5, "odd": 2.0,
    }  # fmt: skip
    settled = maps._settled(
        cause, {"start": np.ones(2), "run": np.full(2, 1e4), "rate": np.ones(2)}
    )
    assert settled.tolist() == [1.0, 1.0]


def test_pilots_are_drawn_evenly_and_differ_by_their_spreads():
    rng = SimpleNamespace(
        permutation=lambda n: np.arange(n)[::-1], standard_normal=lambda n: np.full(n, 1.0)
    )
    pilot = SimpleNamespace(crossover=2.0, delay=0.4)
    people = maps.draw_people(
        SimpleNamespace(pilot=pilot), rng, 2, Population(median=500.0, spread=0.3)
    )
    # Quarters of a normal distribution: 0.67449 standard deviations.
    assert people.strength == pytest.approx(
        500.0 * np.exp(0.3 * np.array([0.67449, -0.67449])), rel=1e-4
    )
    assert people.crossover == pytest.approx(2.0 * np.exp(0.2))
    assert people.delay == pytest.approx(0.4 * np.exp(0.3))


def test_settings_that_the_pages_state():
    """Delays of rules and the analyst's own; where they are from is said beside each."""
    assert maps.REGULATORY_DELAYS == (1.0, 1.5, 3.0)
    assert Prior("lognormal", 4.0, 0.5) == maps.REACTION
    assert (MAP_STEP, DURATION, trials.CHUNK, trials.TELL_EVERY) == (0.1, 60.0, 20, 50)


def test_a_map_runs_over_rates_then_delays_then_pilots(commuter):
    people = maps.People(*(np.array([1.0, 2.0]) * k for k in (1.0, 10.0, 100.0)))
    start = RUNAWAY.middle()
    answer = lessons.answer(with_stops(commuter), ())
    found = maps.over_rates(
        RUNAWAY, answer, people, start, delay=np.array([0.0, 5.0]), rate=np.array([0.3, 0.6, 0.9])
    )
    assert found.strength.tolist() == [1.0, 2.0] * 6
    assert found.reaction.tolist() == [0.0, 0.0, 5.0, 5.0] * 3
    place = np.flatnonzero(np.ptp(found.values, axis=0))
    assert place.size == 1
    assert found.values[:, place[0]].tolist() == [0.3] * 4 + [0.6] * 4 + [0.9] * 4
    assert (found.act_at == np.inf).all() and (found.manual_rate == 0.3).all()


def test_rows_are_unpacked_as_they_were_packed(commuter):
    answer = lessons.answer(with_stops(commuter), ())
    people = maps.People(np.array([1.0, 2.0]), np.array([3.0, 4.0]), np.array([5.0, 6.0]))
    made = maps.trials_of(RUNAWAY, answer, people, RUNAWAY.middle(), reaction=np.array([7.0, 8.0]))
    rows, tree = trials._packed(made)
    back = trials._unpacked(jnp.asarray(rows[1]), tree, made.values.shape[-1])
    for leaf, row in zip(jax.tree.leaves(made), jax.tree.leaves(back), strict=True):
        assert np.asarray(row) == pytest.approx(leaf[1], nan_ok=True)


def test_lanes_are_refilled_as_their_flights_end():
    calls = []

    def run(rows, fresh, watches):
        calls.append((rows[:, 0].tolist(), fresh.tolist()))
        over = rows[:, 0] != 2.0 if len(calls) < 3 else np.ones(2, bool)
        return watches, np.stack([rows[:, 0], rows[:, 0] + 0.5], axis=1), over

    group = trials._Lanes(run, jnp.zeros(()), 2)
    rows, queue = np.array([[1.0], [2.0], [3.0], [4.0]]), deque(range(4))
    found = np.full((4, 2), np.nan)
    group.refill(rows, queue)
    while group.result is not None:
        group.collect(found)
        group.refill(rows, queue)
    assert found.tolist() == [[1.0, 1.5], [2.0, 2.5], [3.0, 3.5], [4.0, 4.5]]
    assert [fresh for _, fresh in calls] == [[True, True], [True, False], [True, False]]
    assert [flown for flown, _ in calls] == [[1.0, 2.0], [3.0, 2.0], [4.0, 2.0]]
    assert not queue
    # Fewer flights than lanes: the first one flies again, and is not kept.
    few = trials._Lanes(run, jnp.zeros(()), 2)
    few.refill(rows[:1], deque([0]))
    assert calls[-1] == ([1.0, 1.0], [True, False]) and few.flight.tolist() == [0, -1]


def test_a_trial_flies_its_own_pilot_on_its_own_wheel(commuter):
    @dataclasses.dataclass(frozen=True)
    class Pilot:
        strength: float = 9.0
        crossover: float = 9.0
        delay: float = 9.0
        reaction: float = 9.0
        act_at: float = 9.0
        works_power: float = 9.0
        adapts: float = 9.0
        trims: float = 9.0

    @dataclasses.dataclass(frozen=True)
    class Setting:
        airplane: object
        pilot: Pilot
        timetable: object = None
        cue_delay: float = 9.0

    one = Trials(0, np.zeros(1), 1.0, "clock", 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, -1.0)
    own = trials._own(Setting(with_stops(commuter, BUTTON), Pilot()), one)
    assert own.pilot == Pilot(2.0, 3.0, 4.0, 5.0, 6.0, works_power=0.0, adapts=0.0)
    assert (own.cue_delay, own.timetable) == (7.0, "clock")
    assert own.airplane.trim_drive.manual_rate == 8.0 and own.airplane.trim_drive.stops == ()


def test_without_hands_nobody_pulls_or_trims(monkeypatch):
    @dataclasses.dataclass(frozen=True)
    class Anyone:
        strength: float = 500.0
        trims: float = 1.0
        pilot: object = None

    monkeypatch.setattr("neutralpoint.response.force.with_procedure", lambda s, steps: (s, steps))
    setting, steps = without_hands(Anyone(pilot=Anyone()))
    assert setting.pilot.strength <= 1e-3 and setting.pilot.trims == 0.0 and steps == ()


@pytest.mark.parametrize("asked", [True, False])
def test_every_other_look_tells_the_share_that_is_taken_up(commuter, monkeypatch, asked):
    """Five flights in one lane, each over at its first look: 3 of 5 after two looks, then all."""

    def over_at_once(setting, begin, rows, fresh, watches, *limits, tree, width, step):
        assert limits == (60.0, np.inf) and step == 0.1 and width == 4
        return watches, np.tile(rows[:, 1:2], (1, len(Outcome._fields))), np.ones(len(rows), bool)

    monkeypatch.setattr(trials, "_chunk", over_at_once)
    monkeypatch.setattr(trials, "_first", lambda setting: jnp.zeros(()))
    monkeypatch.setattr(trials, "cast", lambda tree, kind: tree)
    monkeypatch.setattr(trials, "TELL_EVERY", 2)
    number = np.arange(5.0)
    clock = lessons.answer(with_stops(commuter), ()).timetable
    made = Trials(number, np.stack([number] * 4, 1), *[number] * 10)._replace(
        timetable=jax.tree.map(lambda x: np.full(5, float(x)), clock)
    )

    @dataclasses.dataclass(frozen=True)
    class Setting:
        airplane: object

    told: list[float] = []
    found = trials.fly_trials(
        Setting(commuter), made, lanes=1, calls=1, told=told.append if asked else None
    )
    assert found.height_lost.tolist() == found.recovered.tolist() == number.tolist()
    assert told == (pytest.approx([0.6, 1.0]) if asked else [])


def test_values_are_not_changed_once_they_are_made(changeable):
    assert changeable(neutralpoint.response) == []
