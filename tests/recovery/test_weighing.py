"""Simulated flights of every cause, and the odds that they give a flight of known cause."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.features import NAMES
from neutralpoint.weighing.nearest import kernel
from neutralpoint.weighing.odds import UNLISTED
from neutralpoint.weighing.predictive import LEVELS, predict
from neutralpoint.weighing.simulate import Start, flyable, simulate
from neutralpoint.weighing.weigh import weigh

pytestmark = pytest.mark.slow

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
    for name in ("tailplane-stall", "stabilizer-runaway", "elevator-jam"):
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


def test_a_kernel_is_as_narrow_as_the_flights_allow():
    distance = np.array([1.0, 1.1, 1.2, 5.0, np.inf])
    weight, width = kernel(distance, 2.0)
    assert weight.sum() == pytest.approx(1.0)
    assert weight[-1] == 0.0 and weight[3] < 1e-6
    assert 1.0 / np.sum(weight**2) == pytest.approx(2.0, abs=0.05)
    assert kernel(distance, 1.5)[1] < width


@pytest.fixture(scope="module")
def runaway(flown):
    """A runaway as it is seen, and its place among the flights."""
    batch = next(b for b in flown if b.cause == "stabilizer-runaway")
    number = int(np.argsort(np.abs(batch.trim[:, -1] - batch.trim[:, 0]))[batch.trim.shape[0] // 2])
    rng = np.random.default_rng(8)
    return batch, number, seen(batch, number, rng)


def test_rounds_bring_flights_nearer_and_tell_the_trim(flown, runaway):
    batch, number, course = runaway
    rows = np.arange(len(batch.unit))
    rows[number] = (number + 1) % rows.size  # the one that is seen is not among them
    others = [b.rows(rows) for b in flown if b.cause in ("no-failure", batch.cause)]
    at_once = predict(others, course, window=2.0, rng=np.random.default_rng(1), rounds=0)
    found = predict(others, course, window=2.0, rng=np.random.default_rng(1), rounds=4, each=60)
    mine, null = found["stabilizer-runaway"], found["no-failure"]
    assert mine.distance < 0.8 * at_once["stabilizer-runaway"].distance
    assert mine.distance < 0.5 * null.distance
    assert mine.moves_trim and not null.moves_trim
    moved = batch.trim[number, -1] - batch.trim[number, 0]
    told = mine.trim_end - np.median(mine.trim[:, 0])
    assert np.sign(told[2]) == np.sign(moved)
    assert abs(told[2] - moved) < 0.5 * abs(moved)


def test_what_is_told_fits_together(flown, runaway):
    _, _, course = runaway
    found = predict(flown, course, window=2.0, rng=np.random.default_rng(1), rounds=0)
    assert set(found) == {b.cause for b in flown}
    for told in found.values():
        assert told.trim.shape == (len(LEVELS), told.time.size)
        assert (np.diff(told.column_force, axis=0) >= 0.0).all()
        worst = max(NAMES, key=lambda name: np.abs(told.misfit[name]).max())
        assert told.fails_in == worst
        assert abs(told.fails_by) == np.abs(told.misfit[worst]).max()
        assert told.fails_at == told.at[np.abs(told.misfit[worst]).argmax()]
