"""Simulated flights of every cause, and the odds that they give a flight of known cause."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.simulate import Start, flyable, simulate
from neutralpoint.weighing.weigh import UNLISTED, weigh

ERROR = dict(zip(COLUMNS, (0.03, 0.02, 0.03, 1.5, 0.006, 5.0), strict=True))


@pytest.fixture(scope="module")
def flown(commuter):
    causes = flyable(commuter)
    uncertainty = Uncertainty({"lift_slope": 0.05, "pitch_damping": 0.15, "stabilizer_power": 0.1})
    rng = np.random.default_rng(1)
    draws = uncertainty.draw(rng, 32 * len(causes))
    start = Start(np.full(10, 100.0), np.zeros(10), 3000.0)
    return simulate(commuter, draws, start, causes, rng=rng, duration=18.0)


def seen(batch, number: int, rng) -> Course:
    """One simulated flight as a reconstruction would give it."""
    paths = {
        name: getattr(batch.course, name)[number]
        + ERROR[name] * rng.standard_normal((60, 1)) * np.ones(batch.course.time.size)
        for name in COLUMNS
    }
    return Course(batch.course.time, **paths)


def test_flights_are_steady_before_anything_happens(flown):
    for batch in flown:
        first = {name: getattr(batch.course, name)[:, 0] for name in COLUMNS}
        assert np.median(first["true_airspeed"]) == pytest.approx(100.0, abs=1.0)  # gusts
        assert np.abs(first["flight_path_angle"]).max() < 0.01
        assert np.abs(first["bank_angle"]).max() < 0.02


def test_load_factors_fit_the_path_that_was_flown(flown):
    """In the vertical plane V gamma' = g (n cos(bank) - cos(gamma)), V' = g (n_x - sin(gamma))."""
    batch = next(b for b in flown if b.cause == "stabilizer-runaway")
    c, step = batch.course, batch.course.step
    turn = np.gradient(c.flight_path_angle, step, axis=1) * c.true_airspeed / 9.80665
    lift = c.normal_load_factor * np.cos(c.bank_angle) - np.cos(c.flight_path_angle)
    inside = np.abs(c.flight_path_angle) < 1.0
    assert np.median(np.abs(turn - lift)[inside]) < 0.03
    pull = np.gradient(c.true_airspeed, step, axis=1) / 9.80665
    assert np.median(np.abs(pull - c.longitudinal_load_factor + np.sin(c.flight_path_angle))) < 0.03


def test_odds_of_known_causes(flown):
    """A few flights of a small batch: better than no knowledge, nobody excluded."""
    rng = np.random.default_rng(2)
    prior = np.full(len(flown) + 1, 1.0 / (len(flown) + 1))
    given = []
    for name in ("tail-stall", "stabilizer-runaway", "elevator-jam"):
        batch = next(b for b in flown if b.cause == name)
        found = weigh(
            seen(batch, 5, rng), flown, window=2.0, prior=prior, rng=rng, seeds=2, deep=False
        )
        assert found.odds.probability.sum() == pytest.approx(1.0)
        assert found.odds.probability[-1] > 0.0
        assert found.odds.causes[-1] == UNLISTED
        given.append(found.odds.probability[found.odds.causes.index(name)])
    assert min(given) > 0.005
    assert np.log(given).mean() > np.log(1.0 / len(prior)) + 0.5
