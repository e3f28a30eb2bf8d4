"""Long gaps: thinned nodes, long steps, filled states, and the flight around them."""

from __future__ import annotations

from dataclasses import replace

import motion_synthetic as synthetic
import numpy as np
import pytest

from neutralpoint.motion import estimate_motion
from neutralpoint.motion.estimate import MOST_NODES, STEP, grid_step
from neutralpoint.motion.gaps import LEAST, PARTS, Thinning, _places, thinning
from neutralpoint.motion.process import horizontal_process, vertical_process
from neutralpoint.motion.rows import Rows


@pytest.mark.parametrize("length", [16, 17, 1000, 4321, 86_399])
def test_places_reach_the_end_in_powers_of_two(length):
    places = _places(length)
    spacing = np.diff(places)
    assert places[0] == 0 and places[-1] == length
    assert (np.log2(spacing) % 1 == 0).all()
    assert spacing.size <= PARTS + 20


@pytest.mark.parametrize("make", [horizontal_process, lambda step, spacing=None: vertical_process(
    step, 0.4, spacing)])  # fmt: skip
def test_a_long_step_is_many_short_ones(make):
    short, long = make(0.25), make(0.25, np.array([1, 8, 64]))
    transition, noise = np.eye(short.size), np.zeros((short.size, short.size))
    one = np.linalg.inv(short.inverse_noise)
    for count in range(1, 65):
        noise = short.transition @ noise @ short.transition.T + one
        transition = short.transition @ transition
        if count in (1, 8, 64):
            k = (1, 8, 64).index(count)
            assert np.allclose(long.transition[k], transition, rtol=1e-9, atol=1e-9)
            assert np.allclose(np.linalg.inv(long.inverse_noise[k]), noise, rtol=1e-6)
            assert long.log_determinant_noise[k] == pytest.approx(np.linalg.slogdet(noise)[1])


def test_filled_states_follow_a_quintic():
    # A polynomial of fifth degree is its own quintic Hermite interpolant.
    time = 0.25 * np.arange(65)
    curve = np.polynomial.Polynomial([3.0, -2.0, 0.5, 0.02, -3e-3, 1e-4])
    states = np.stack([curve(time), curve.deriv()(time), curve.deriv(2)(time), 2.0 * time], axis=-1)
    thin = Thinning(np.array([0, 1, 9, 41, 57, 64]), 65, 0.25)
    assert np.allclose(thin.filled(states[thin.kept]), states, atol=1e-9)
    assert Thinning(np.arange(65), 65, 0.25).filled(states) is states


def _rows(node: np.ndarray) -> Rows:
    ones = np.ones(node.size)
    return Rows(node * 0, node, np.ones((node.size, 3)), ones, ones, ones, node)


def test_only_the_inside_of_a_gap_is_thinned():
    node = np.r_[np.arange(0, 400, 4), np.arange(2000, 2400, 4)]
    thin = thinning(_rows(node), 2400, 0.25)
    assert np.isin(node, thin.kept).all()
    assert np.isin(np.arange(396, 396 + 40), thin.kept).all()  # 10 s beyond the last reading
    assert thin.spacing.max() >= LEAST
    assert np.array_equal(thin.kept[thin.rows(_rows(node)).node], node)
    slow = thinning(_rows(np.arange(0, 2400, 48)), 2400, 0.25)  # a radar's 12 s are no gap
    assert slow.whole


def test_a_gap_of_minutes_leaves_the_flight_around_it_alone():
    rng = np.random.default_rng(5)
    truth = synthetic.fly(
        700.0,
        climb=synthetic.constant(0.0),
        heading=lambda t: 0.3 * np.sin(t / 200.0),
        rng=rng,
        gusts=0.01,
    )
    faults = synthetic.Faults(gap=(200.0, 500.0))
    track = synthetic.observe(truth, rng, replace(synthetic.PLAIN), faults=faults)
    motion = estimate_motion(
        track, weather=truth.weather, lift=truth.lift, rng=np.random.default_rng(1), samples=64
    )

    def spread(name: str, first: float, last: float) -> float:
        kept = (motion.time >= first) & (motion.time <= last)
        low, high = np.quantile(motion.paths[name][:, kept], (0.05, 0.95), axis=0)
        return float(np.median(high - low))

    assert spread("normal_load_factor", 50.0, 180.0) < 0.08
    assert spread("bank_angle", 520.0, 650.0) < np.radians(3.0)
    assert spread("pressure_altitude", 50.0, 180.0) < 12.0
    assert 100.0 < spread("pressure_altitude", 340.0, 360.0) < 20_000.0
    kept = (motion.time > 210.0) & (motion.time < 490.0)
    low, high = np.quantile(motion.paths["pressure_altitude"][:, kept], (0.02, 0.98), axis=0)
    real = truth.at("pressure_altitude", motion.time[kept])
    assert ((real >= low) & (real <= high)).all()


def test_a_long_record_gets_a_coarser_grid():
    assert grid_step(np.array([0.0, 600.0])) == STEP
    long = grid_step(np.array([0.0, 6.0 * 3600.0]))
    assert long > STEP and 6.0 * 3600.0 / long <= MOST_NODES
