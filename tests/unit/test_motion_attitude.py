"""Bank and signed load factor from the force across the path."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.ndimage import gaussian_filter1d

from neutralpoint.motion.attitude import (
    BANK_TIME,
    HELD_TIME,
    lift_direction,
    steadied,
    stilled,
)
from neutralpoint.quantities import DEGREE, GRAVITY

STEP = 0.25
DOWN = np.array([0.0, 0.0, 1.0])


def north(nodes: int, path_angle=0.0):
    """Unit vectors of flight to the north at a path angle, shape (1, nodes, 3)."""
    angle = np.broadcast_to(path_angle, (nodes,))
    return np.stack([np.cos(angle), np.zeros(nodes), -np.sin(angle)], axis=-1)[None]


def rolled(bank, load_factor):
    """Force of a level flight to the north that banks and pulls, shape (1, m, 3)."""
    bank, load_factor = np.asarray(bank), np.asarray(load_factor)
    zero = np.zeros_like(bank)
    lift = np.stack([zero, np.sin(bank), -np.cos(bank)], axis=-1)
    return GRAVITY * load_factor[:, None] * lift[None]


@pytest.mark.parametrize("bank_deg", [-75.0, -30.0, 0.0, 20.0, 60.0])
def test_steady_turn(bank_deg):
    bank = bank_deg * DEGREE
    # Level turn: the vertical part of the lift carries the weight.
    load = np.full(40, 1.0 / np.cos(bank))
    found = lift_direction(rolled(np.full(40, bank), load), north(40), STEP)
    np.testing.assert_allclose(found.bank, bank, atol=1e-9)
    np.testing.assert_allclose(found.load_factor, 1.0 / np.cos(bank), rtol=1e-12)
    np.testing.assert_allclose(found.along, 0.0, atol=1e-12)


def test_climb_without_acceleration():
    angle = 12.0 * DEGREE
    force = np.broadcast_to(-GRAVITY * DOWN, (1, 20, 3))
    found = lift_direction(force, north(20, angle), STEP)
    np.testing.assert_allclose(found.load_factor, np.cos(angle), rtol=1e-12)
    np.testing.assert_allclose(found.along, np.sin(angle), rtol=1e-12)


@pytest.mark.parametrize("depth", [0.9, 1.1, 1.6, 2.5])
def test_a_push_stays_upright(depth):
    """Through zero and below within two seconds: nobody rolls 180 degrees twice for that."""
    time = np.arange(0.0, 16.0, STEP)
    load = 1.0 - depth * np.exp(-0.5 * ((time - 8.0) / 1.5) ** 2)
    found = lift_direction(rolled(np.zeros(time.size), load), north(time.size), STEP)
    np.testing.assert_allclose(found.load_factor[0], load, atol=1e-9)
    assert np.abs(found.bank[0][np.abs(load) > 0.05]).max() < 1e-6


def test_a_slow_roll_to_inverted_is_pulled():
    """Rolled over in 4 s with lift all the way, then flown inverted at positive load factor."""
    time = np.arange(0.0, 12.0, STEP)
    bank = np.pi * np.clip((time - 4.0) / 4.0, 0.0, 1.0)
    found = lift_direction(rolled(bank, np.full(time.size, 0.9)), north(time.size), STEP)
    np.testing.assert_allclose(found.load_factor[0], 0.9, rtol=1e-9)
    np.testing.assert_allclose(np.cos(found.bank[0]), np.cos(bank), atol=1e-9)


def test_a_roll_leaves_the_flight_before_it_upright():
    """One full roll in 3 s, badly seen, in the middle of a long flight."""
    time = np.arange(0.0, 120.0, STEP)
    bank = 2.0 * np.pi * np.clip((time - 60.0) / 3.0, 0.0, 1.0)
    load = 1.0 - 0.8 * np.exp(-0.5 * ((time - 61.5) / 1.0) ** 2)
    found = lift_direction(rolled(bank, load), north(time.size), STEP)
    away = np.abs(time - 61.5) > 5.0
    np.testing.assert_allclose(found.load_factor[0][away], load[away], atol=1e-9)


@given(
    st.lists(st.floats(-1.2, 1.2), min_size=4, max_size=4),
    st.lists(st.floats(0.4, 2.5), min_size=4, max_size=4),
    st.floats(-0.5, 0.5),
)
def test_mirror(banks, loads, path_angle):
    """A flight seen in a mirror banks the other way and pulls as much."""
    nodes = 30
    grid, knots = np.linspace(0.0, 1.0, nodes), np.linspace(0.0, 1.0, 4)
    force = rolled(np.interp(grid, knots, banks), np.interp(grid, knots, loads))
    mirror = np.array([1.0, -1.0, 1.0])
    direction = north(nodes, path_angle)
    right = lift_direction(force, direction, STEP)
    left = lift_direction(force * mirror, direction * mirror, STEP)
    np.testing.assert_allclose(left.load_factor, right.load_factor, rtol=1e-9)
    np.testing.assert_allclose(np.sin(left.bank), -np.sin(right.bank), atol=1e-9)
    np.testing.assert_allclose(left.along, right.along, atol=1e-9)


@given(st.floats(0.0, 2.0 * np.pi))
def test_compass_direction_does_not_matter(turn):
    cosine, sine = np.cos(turn), np.sin(turn)
    rotation = np.array([[cosine, -sine, 0.0], [sine, cosine, 0.0], [0.0, 0.0, 1.0]])
    bank = np.linspace(-0.5, 0.8, 20)
    force = rolled(bank, np.full(20, 1.2))
    found = lift_direction(force @ rotation.T, north(20) @ rotation.T, STEP)
    np.testing.assert_allclose(found.bank[0], bank, atol=1e-9)


def half_time(deviations):
    """Lag at which the correlation falls to half, s."""
    whole = (deviations**2).mean()
    lags = range(1, 60)
    return STEP * next(
        k for k in lags if (deviations[:, k:] * deviations[:, :-k]).mean() < 0.5 * whole
    )


@pytest.mark.parametrize(("over", "halved"), [(BANK_TIME, (1.5, 3.5)), (HELD_TIME, (3.0, 7.0))])
def test_bank_paths_are_steadied_without_another_mean_or_band(over, halved):
    rng = np.random.default_rng(4)
    middle = np.linspace(-3.0, 3.3, 400)  # through half a turn: bank is an angle
    spread = np.linspace(1.0, 5.0, 400) * DEGREE
    bank = middle + spread * rng.standard_normal((200, 400))
    bank = np.mod(bank + np.pi, 2.0 * np.pi) - np.pi
    found = steadied(bank, STEP, over)

    def apart(paths):
        return np.mod(paths - middle + np.pi, 2.0 * np.pi) - np.pi

    np.testing.assert_allclose(apart(found).mean(0), apart(bank).mean(0), atol=2e-3)
    np.testing.assert_allclose(apart(found).std(0), apart(bank).std(0), rtol=0.02)
    # Noise of a quarter of a second is no roll that anybody flies; one of seconds is.
    assert half_time(apart(bank) / spread) == STEP
    assert halved[0] <= half_time(apart(found) / spread) <= halved[1]
    # Each path's own largest bank beyond the mean comes in.
    assert (apart(found) / spread).max(1).mean() < 0.85 * (apart(bank) / spread).max(1).mean()


def test_a_path_on_its_back_is_kept_apart():
    bank = np.zeros((10, 80))
    bank[0] = np.pi - 1e-6
    np.testing.assert_allclose(np.abs(steadied(bank, STEP)[0]), np.pi, atol=0.2)
    np.testing.assert_allclose(steadied(bank, STEP)[1:], 0.0, atol=0.2)


def test_a_held_bank_is_stilled_and_a_roll_is_left():
    """Errors of a second about a bank that is held, then rolled at 20 degrees a second."""
    rng = np.random.default_rng(6)
    time = STEP * np.arange(480)
    flown = 40.0 * DEGREE * np.clip((time - 60.0) / 2.0, 0.0, 1.0)
    errors = gaussian_filter1d(rng.standard_normal((81, 480)), 0.7 / STEP, axis=1)
    errors *= 1.5 * DEGREE / errors.std()
    bank = flown + errors[0] + errors[1:]
    found = stilled(bank, STEP)
    held, rolling = (time > 8.0) & (time < 52.0), (time > 58.0) & (time < 64.0)

    def off(paths, part):
        return np.sqrt(np.mean((paths.mean(0) - flown)[part] ** 2))

    # Of white noise under a kernel of s, one more of w leaves the power s over
    # sqrt(s^2 + w^2): 0.42 with 0.7 and 1.5 s, 0.65 of the root.
    assert off(found, held) < 0.85 * off(bank, held)
    assert found.std(0)[held].mean() < 0.92 * bank.std(0)[held].mean()
    assert off(found, rolling) < 1.15 * off(bank, rolling)
    turned = np.mod(bank + 1.2 * np.pi, 2.0 * np.pi) - np.pi  # through half a turn
    same = np.mod(stilled(turned, STEP) - found - 0.2 * np.pi + np.pi, 2.0 * np.pi) - np.pi
    np.testing.assert_allclose(same, 0.0, atol=1e-6)
    turned[0] += np.pi
    apart = np.mod(stilled(turned, STEP)[0] - turned[0] + np.pi, 2.0 * np.pi) - np.pi
    np.testing.assert_allclose(apart, 0.0, atol=1e-9)  # on its back: left alone
