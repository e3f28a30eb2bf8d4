"""Readings as rows: runs, boundaries crossed, and what a row says of the states."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.motion.horizontal import DOUBT, Guide
from neutralpoint.motion.rows import KINDS, crossings, run_lengths, stack, taylor
from neutralpoint.motion.vertical import altitude_rows, rate_rows
from neutralpoint.track import Observations


def readings(time, value, step, suspect=None):
    row = np.arange(2, len(time) + 2)
    none = np.zeros(len(time), dtype=bool) if suspect is None else np.asarray(suspect)
    return Observations(np.asarray(time, float), np.asarray(value, float), step, row, row * 0, none)


def guide(nodes=60, step=0.25):
    zero = np.zeros(nodes)
    return Guide(0.0, step, zero, zero + 100.0, zero, zero)


def test_run_lengths():
    values = np.array([5.0, 5.0, 10.0, 10.0, 10.0, 5.0])
    assert run_lengths(values, 5.0).tolist() == [2, 2, 3, 3, 3, 1]
    assert run_lengths(values, 0.0).tolist() == [1] * 6
    assert run_lengths(np.zeros(0), 5.0).size == 0


def test_crossings():
    time = np.arange(8.0)
    values = np.array([0.0, 0.0, 0.0, 25.0, 25.0, 50.0, 75.0, 75.0])
    when, edge, variance, before = crossings(time, values, 25.0)
    # The step from 25 to 50 enters a run of one reading, which is too short to time it by.
    assert when.tolist() == [2.5]
    assert edge.tolist() == [12.5]
    assert before.tolist() == [2]
    assert variance[0] == pytest.approx((25.0 * 1.0 / 2.0) ** 2 / 12.0)


def test_two_steps_at_once_are_no_crossing():
    values = np.array([0.0, 0.0, 50.0, 50.0])
    when, *_ = crossings(np.arange(4.0), values, 25.0)
    assert when.size == 0


def test_taylor():
    position, velocity = taylor(np.array([0.1]))
    state = np.array([3.0, 5.0, 7.0])
    assert position[0] @ state == pytest.approx(3.0 + 0.5 + 0.035)
    assert velocity[0] @ state == pytest.approx(5.7)


def test_altitudes():
    found = altitude_rows(
        readings([0.0, 1.0, 2.1, 3.0], [0.0, 0.0, 30.0, 30.0], 30.0, [False, True, False, False]),
        guide(),
    )
    plain = found.kind == KINDS.index("altitude")
    assert found.weight[plain].tolist() == [0.5] * 4
    assert found.origin.tolist() == [2, 3, 4, 5, 3]
    # A doubtful reading keeps its row and loses its weight, and so does the boundary it made.
    variance = found.variance
    assert variance[1] == pytest.approx(DOUBT * variance[0])
    assert variance[4] > 0.9 * DOUBT
    assert found.value[4] == pytest.approx(15.0)
    states = np.zeros((60, 5))
    states[found.node[2]] = [100.0, 10.0, 2.0, 0.0, 0.0]
    offset = 2.1 - 0.25 * found.node[2]
    assert found.predict(states)[2] == pytest.approx(100.0 + 10.0 * offset + offset**2)


def test_geometric_rates_are_scaled():
    rates = readings([0.0, 1.0], [2.0, 2.0], 0.0)
    one = rate_rows(rates, guide(), lag=0.4, scale=np.ones(60))
    warm = rate_rows(rates, guide(), lag=0.4, scale=np.full(60, 1.05))
    np.testing.assert_allclose(warm.design, 1.05 * one.design)


def test_a_lagged_rate_moves_towards_the_rate():
    rows = rate_rows(readings([0.1], [0.0], 0.0), guide(), lag=0.4, scale=np.ones(60))
    states = np.zeros((60, 5))
    states[rows.node[0]] = [0.0, 8.0, 0.0, 4.0, 0.0]
    offset = 0.1 - 0.25 * rows.node[0]
    assert rows.predict(states)[0] == pytest.approx(4.0 + (8.0 - 4.0) * offset / 0.4)


def test_stack():
    one = altitude_rows(readings([0.0], [1.0], 0.0), guide())
    two = altitude_rows(readings([1.0, 2.0], [1.0, 2.0], 0.0), guide())
    joined = stack([one, two])
    assert joined.value.tolist() == [1.0, 1.0, 2.0]
    assert joined.design.shape == (3, 5)
