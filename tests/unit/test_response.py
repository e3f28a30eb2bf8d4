"""Outcomes, maps and the latest safe action agree with each other and with a flight."""

from __future__ import annotations

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from neutralpoint.airplane.model import StopDevice
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.explanations import CAUSES, Action, fly, trimmed_setting
from neutralpoint.explanations.any_cause import ANY_CAUSE, FLOWN, as_any
from neutralpoint.explanations.cause import Moment
from neutralpoint.explanations.gate import why_not
from neutralpoint.explanations.nose import nose_by_nature, turned_by
from neutralpoint.response import (
    COLUMN_ALONE,
    REACTION_SOURCE,
    REGULATORY_DELAYS,
    answer,
    answers_to,
    draw_people,
    fly_trials,
    join,
    latest_safe_action,
    lessons_for,
    over_delays,
    over_rates,
    saved,
    saved_over_height,
    shaped,
    share_interval,
    trials_of,
    typical_fault,
    why_no_map,
    why_no_rate_map,
)
from neutralpoint.response.trials import MAP_STEP

CAUSE = CAUSES["stabilizer-runaway"]
START = 1.0
PARAMETERS = CAUSE.middle() | {"start": START, "run": 100.0}
HEIGHT = 900.0
PRESS = (Action(kind="press", device="latch"),)
# Fewer lanes than flights, so that lanes are refilled.
RUN = {"duration": 40.0, "lanes": 24, "kind": "float64"}
DELAY, RATE = np.array([0.0, 2.0, 8.0]), np.array([0.3, 1.0])


@pytest.fixture(scope="module")
def setting(commuter):
    latch = StopDevice(
        name="latch", kind="latching_disconnect", reach_time=0.5, hands=0, release_restarts=False
    )
    drive = dataclasses.replace(commuter.trim_drive, stops=(latch,))
    return trimmed_setting(
        dataclasses.replace(commuter, trim_drive=drive),
        make_air(),
        Condition(speed=85.0, height=1200.0, path_angle=0.05),
    )


@pytest.fixture(scope="module")
def people(setting):
    return draw_people(setting, np.random.default_rng(1), 8)


@pytest.fixture(scope="module")
def trials(setting, people):
    return over_rates(
        CAUSE, answer(setting.airplane, PRESS), people, PARAMETERS, delay=DELAY, rate=RATE
    )


@pytest.fixture(scope="module")
def outcome(setting, trials):
    """Over rate, delay, pilot."""
    return shaped(fly_trials(setting, trials, deepest=HEIGHT, **RUN), 2, 3, 8)


def test_waiting_and_faster_motors_save_fewer(outcome):
    share = np.asarray(saved(outcome, HEIGHT)).mean(axis=-1)
    assert share[:, 0].min() == 1.0  # at once: everybody
    assert np.all(np.diff(share, axis=1) <= 0.0)
    assert np.all(np.diff(share, axis=0) <= 0.0)
    assert share[1, -1] < 1.0


def test_who_was_descending_is_recovered_when_back_in_the_descent(commuter, setting, people):
    down = trimmed_setting(
        setting.airplane, make_air(), Condition(speed=85.0, height=1200.0, path_angle=-0.05)
    )
    assert float(down.state.velocity_down) > 4.0  # m/s: no level flight is asked for
    trials = trials_of(CAUSE, answer(setting.airplane, PRESS), people, PARAMETERS)
    found = fly_trials(down, trials, deepest=HEIGHT, **RUN)
    assert np.asarray(saved(found, HEIGHT)).mean() == 1.0


def test_nothing_is_recovered_before_the_procedure_is_done(outcome):
    ended = START + DELAY[None, :, None] + 0.5
    assert np.all(outcome.recovered >= ended)


def test_one_flight_answers_for_every_height(outcome):
    share = saved_over_height(outcome, np.array([1.0, 100.0, HEIGHT]))
    assert share.shape == (2, 3, 3)
    assert np.all(np.diff(share, axis=-1) >= 0.0)
    np.testing.assert_allclose(share[..., -1], np.asarray(saved(outcome, HEIGHT)).mean(axis=-1))


def test_lanes_do_not_meet(setting, trials, outcome):
    """In another order, with other neighbours in the lanes, every flight is the same."""
    back = fly_trials(setting, jax.tree.map(lambda x: x[::-1], trials), deepest=HEIGHT, **RUN)
    for one, other in zip(outcome, back, strict=True):
        np.testing.assert_array_equal(one.ravel(), other[::-1])


def test_progress_is_the_share_of_flights_taken_up(setting, trials, monkeypatch):
    monkeypatch.setattr("neutralpoint.response.trials.TELL_EVERY", 1)
    told = []
    fly_trials(setting, join([trials] * 3), deepest=HEIGHT, told=told.append, **RUN)
    # Of 144 flights 48 are in lanes before the first look; at the end all have been taken up.
    assert told and told == sorted(told)
    assert 48.0 / 144.0 <= told[0] < told[-1] == 1.0


@pytest.mark.slow  # compiles a flight beside the trials, ten seconds
def test_a_trial_is_the_flight_that_fly_flies(setting, trials, outcome):
    row = 2 * 8 + 3  # slow motor, longest delay
    own = jax.tree.map(lambda x: np.asarray(x[row]), trials)
    pilot = dataclasses.replace(
        setting.pilot,
        strength=own.strength,
        crossover=own.crossover,
        delay=own.delay,
        reaction=own.reaction,
    )
    flown = dataclasses.replace(setting, pilot=pilot, timetable=own.timetable)
    parameters = as_any(CAUSE, PARAMETERS | {"rate_share": RATE[0]})
    flight = jax.jit(
        lambda s, p: fly(s, ANY_CAUSE, p, duration=40.0, step=MAP_STEP, record_every=1)
    )(flown, parameters)
    height, time = np.asarray(flight.readings.height), np.asarray(flight.time)
    until = time <= outcome.recovered.ravel()[row] + 1e-9
    lost = height[0] - height[until].min()
    assert outcome.height_lost.ravel()[row] == pytest.approx(lost, abs=0.02)
    lowest = np.argmin(height[until])
    pressure = float(flight.readings.dynamic_pressure[lowest])
    assert outcome.lowest_pressure.ravel()[row] == pytest.approx(pressure, rel=1e-3)


def test_faults_pitch_the_way_they_are_turned_with_nobody_on_the_column(setting, people):
    """Ten seconds: a raised nose gains height first, a lowered one loses it, of every cause."""
    # A jam holds what it met, and a pilot's own push needs the pilot.
    sided = [
        cause
        for cause in CAUSES.values()
        if (turned_by(cause) or nose_by_nature(cause))
        and not why_not(cause, setting.airplane)
        and cause.name != "somatogravic-input"
    ]
    ways = [
        (cause, nose)
        for cause in sided
        for nose in ((1, -1) if turned_by(cause) else (nose_by_nature(cause),))
    ]
    nobody = people._replace(strength=np.full(8, 1e-3))
    typical = [typical_fault(cause, nose=nose) for cause, nose in ways]
    trials = [
        trials_of(cause, answer(setting.airplane, ()), nobody, fault)
        for (cause, _), fault in zip(ways, typical, strict=True)
    ]
    still = trials_of(CAUSE, answer(setting.airplane, ()), nobody, typical[0] | {"rate_share": 0.0})
    found = fly_trials(setting, join([still, *trials]), **RUN | {"duration": 10.0})
    lost, gained = (
        np.asarray(x).reshape(-1, 8).mean(axis=1)
        for x in (found.height_lost - found.height_gained, found.pitch_high)
    )
    for (cause, nose), down, pitch in zip(ways, lost[1:], gained[1:], strict=True):
        assert np.sign(down - lost[0]) == nose, (cause.name, nose, down, lost[0])
        assert nose > 0 or pitch > gained[0], cause.name


def test_latest_safe_action_is_where_the_outcome_changes(setting, people):
    trials = trials_of(CAUSE, answer(setting.airplane, PRESS), people, PARAMETERS)
    latest = latest_safe_action(setting, trials, fault=START, height=HEIGHT, rounds=6, **RUN)
    assert latest.shape == (8,) and np.all(latest > 0.0)
    within = np.isfinite(latest)
    assert within.any()

    def safe(delay):
        later = trials._replace(act_at=np.where(within, START + delay, 1.0))
        return np.asarray(saved(fly_trials(setting, later, deepest=HEIGHT, **RUN), HEIGHT))

    assert safe(latest)[within].all()
    assert not safe(latest + 30.0 / 2**6 + 0.01)[within].any()
    # Strength buys time: the stronger half has at least as long, by the median.
    weak = people.strength < np.median(people.strength)
    assert np.median(latest[~weak]) >= np.median(latest[weak])


def test_every_lesson_is_no_worse_than_only_pulling(setting, people):
    parts = [over_delays(CAUSE, answer(setting.airplane, ()), people, PARAMETERS, DELAY[:2])]
    lessons = lessons_for(CAUSE, setting.airplane, {COLUMN_ALONE: (), "latch": PRESS})
    parts += [over_delays(CAUSE, each, people, PARAMETERS, DELAY[:2]) for each in lessons.values()]
    outcome = shaped(fly_trials(setting, join(parts), deepest=HEIGHT, **RUN), len(parts), 16)
    share = np.asarray(saved(outcome, HEIGHT)).mean(axis=-1)
    assert list(lessons)[:2] == ["lesson: latching button", "lesson: manual wheel"]
    assert share[1:].min() > share[0]
    # A sound can only bring the same action forward.
    assert share[-1] >= share[1]


def test_every_cause_has_answers_or_a_reason(setting):
    for cause in CAUSES.values():
        found = answers_to(cause, setting.airplane)
        assert bool(found) != bool(why_no_map(cause)), cause.name
        assert not found or next(iter(found)) == COLUMN_ALONE
        assert why_no_rate_map(cause) == "" or "no meaning" in why_no_rate_map(cause)


def test_any_cause_acts_like_each(setting):
    """The pooled program gives each cause's own effect."""
    for cause in FLOWN:
        parameters = cause.middle() | ({"start": 3.0} if "start" in cause.middle() else {})
        pooled = jax.tree.map(jnp.asarray, as_any(cause, parameters))
        for time in (1.0, 3.5, 9.0):
            moment = Moment(time, None, None)
            own, any_of = cause.act(parameters, moment), ANY_CAUSE.act(pooled, moment)
            for one, other in zip(jax.tree.leaves(own), jax.tree.leaves(any_of), strict=True):
                assert float(one) == pytest.approx(float(other), abs=1e-12), cause.name


def test_interval_of_a_share():
    """Wilson's interval of 5 in 10 at 95 % is 0.237 to 0.763: from the formula, by hand."""
    low, high = share_interval(np.array([0.0, 0.5, 1.0]), 10)
    np.testing.assert_allclose([low[1], high[1]], [0.2366, 0.7634], atol=1e-4)
    assert low[0] == 0.0 and high[0] > 0.2 and high[2] == 1.0 and low[2] < 0.8


def test_delays_of_rules_are_settings_and_the_prior_says_whose_it_is():
    assert REGULATORY_DELAYS == (1.0, 1.5, 3.0)
    assert REACTION_SOURCE == "analyst's estimate, no published distribution"
