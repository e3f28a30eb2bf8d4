"""Flights under known carriers: the required moment finds them, and never excludes them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from moments_flights import (
    TRACKS,
    analyst_uncertainty,
    analyst_weather,
    exact_flight,
    lift_of,
    observe,
    simulate,
)

from neutralpoint.airplane.model import apply_multipliers
from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.moments import (
    Word,
    batched,
    energy,
    flight_from_paths,
    judge_causes,
    judged_part,
    last_trimmed,
    power_change,
    required_moment,
    with_gusts,
    with_power_effect,
)
from neutralpoint.moments.judge import ABLE
from neutralpoint.moments.question import Question
from neutralpoint.motion import estimate_motion
from neutralpoint.quantities import DEGREE, GRAVITY
from neutralpoint.vocabulary import CauseName

WINDOW = 1.25  # s: five nodes of the record, the least there is


@pytest.fixture(scope="module")
def described():
    return load_airplane("velmar-c7")


@pytest.fixture(scope="module")
def runs(described):
    return simulate(described.airplane, described.uncertainty, seed=11, runs=12)


def inverted(run):
    """Inversion of the exact states with the true airplane, and where it is compared."""
    trimmed = (run.time > run.onset - 14.0) & (run.time < run.onset - 2.0)
    required = required_moment(run.truth, exact_flight(run), trimmed, window=WINDOW)
    compared = (run.time > run.onset + 4.0) & (run.time < run.end - 1.0) & ~required.stalled
    return required, trimmed, compared


def of_kind(runs, kind, hands=None):
    chosen = [r for r in runs if r.kind == kind and hands in (None, r.hands)]
    assert chosen, f"no flight with {kind}"
    return chosen


def gust_error(run, gain):
    """Tolerance: gusts look like a carrier; `gain` per m/s, and the smoothing beside it."""
    return gain * (0.15 + run.gust)


@pytest.mark.parametrize(
    ("kind", "name", "series", "gain"),
    [
        ("trim", "stabilizer", "stabilizer", 0.8 * DEGREE),
        ("elevator", "elevator", "elevator", 1.6 * DEGREE),
        ("center of gravity", "cg_shift", "cg_shift", 0.10),
    ],
)
def test_exact_states_give_back_the_carrier(runs, kind, name, series, gain):
    for run in of_kind(runs, kind):
        required, trimmed, compared = inverted(run)
        true = run.series[series] - run.series[series][trimmed].mean()
        if run.hands:  # what the hands supplied is part of what was needed
            worth = getattr(required, name)[0] / required.column_force[0]
            true = true + worth * run.series["column_force"]
        error = (getattr(required, name)[0] - true)[compared]
        assert np.sqrt(np.nanmean(error**2)) < gust_error(run, gain)


def test_exact_states_give_back_thrust_and_incidence(runs):
    for run in runs:
        required, _, compared = inverted(run)
        thrust = (required.thrust[0] - run.series["thrust"])[compared]
        alpha = (required.angle_of_attack[0] - run.series["angle_of_attack"])[compared]
        weight = float(run.truth.mass.mass) * GRAVITY
        # Drag is that of the lift; a tail that lifts otherwise than in trim moves it a little.
        assert np.abs(thrust).max() < 0.01 * weight
        # The lift of stabilizer and elevator is not known beforehand: 5 deg of stabilizer, 1 deg.
        assert np.abs(alpha).max() < 2.0 * DEGREE


def test_a_stall_is_marked_and_left_out(runs, described):
    airplane, run = described.airplane, runs[0]
    flight = exact_flight(run)
    area = float(airplane.geometry.wing_area)
    weight = float(airplane.mass.mass) * GRAVITY
    reach = 1.7 * flight.dynamic_pressure * area / weight
    late = flight.time > run.onset + 5.0
    load = np.where(late, reach, flight.normal_load_factor)
    stalled = required_moment(
        airplane,
        replace(flight, normal_load_factor=load),
        flight.time < run.onset - 2.0,
        window=WINDOW,
    ).stalled
    assert stalled[flight.time > run.onset + 7.0].all()
    assert not stalled[flight.time < run.onset].any()


def chain(run, described, seed):
    """From the track of a run to its verdicts and its power change."""
    rng = np.random.default_rng(seed)
    uncertainty = analyst_uncertainty(described.uncertainty)
    motion = estimate_motion(
        observe(run, rng, TRACKS[seed % 2]),
        weather=analyst_weather(run, rng),
        lift=lift_of(described.airplane, uncertainty),
        rng=rng,
        samples=100,
    )
    flight = flight_from_paths(motion.time, motion.is_fix, motion.paths, 2.0)
    flight = with_gusts(flight, rng, 2.0)
    drawn = batched(apply_multipliers(described.airplane, uncertainty.draw(rng, 100)))
    drawn = with_power_effect(drawn, rng, 100)
    trimmed = last_trimmed(flight, before=run.onset)
    required = required_moment(drawn, flight, trimmed, window=2.0)
    found = energy(drawn, flight, required)
    grid = ~motion.is_fix
    part = judged_part(drawn, flight, required, window=2.0, onset=run.onset)
    judged = judge_causes(
        Question(described.airplane, part, rng),
        found,
        bank=motion.paths["bank_angle"][:, grid],
        bank_known=motion.observable["bank_angle"][grid],
    )
    weight = float(described.airplane.mass.mass) * GRAVITY
    change = power_change(found, required.time, trimmed, run.onset, weight)
    return {one.cause: one for one in judged}, change


CAUSE = {
    "trim": CauseName.STABILIZER_RUNAWAY,
    "elevator": CauseName.ELEVATOR_JAM,
    "power": CauseName.POWER_LOSS_ALL,
}


@pytest.mark.slow  # works out three flights, ten seconds
def test_the_true_cause_is_not_excluded_from_a_degraded_track(runs, described):
    fell = {}
    for seed, kind in enumerate(CAUSE):
        words, change = chain(of_kind(runs, kind)[0], described, seed)
        judged = words[CAUSE[kind]]
        assert judged.word in (Word.CAN, Word.CAN_IF), (kind, judged)
        assert (judged.probability >= ABLE) or judged.condition
        first, last = judged.judged
        assert last - first <= 61.0  # the judged window is said
        fell[kind] = change.fell
    assert fell["power"] > 0.95 and fell["trim"] < 0.95
