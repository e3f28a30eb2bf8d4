"""The judge's rigid airplane against closed forms, so that it can be called a truth."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from six_degrees import (
    ROWS,
    STEP,
    Controls,
    G,
    advance,
    air,
    attached,
    column_need,
    euler,
    idle,
    quaternion,
    rates,
    rotation,
    thrust,
)
from six_degrees_airframe import CATALOGUE, documented, load
from six_degrees_flights import fly
from six_degrees_pilots import load_and_rate
from six_degrees_start import stall_speed, trimmed

SPEED, HEIGHT = np.array([85.0, 120.0, 55.0]), np.array([2500.0, 5000.0, 1500.0])
ONE, CALM = np.ones(3), np.zeros((3, 3))


@pytest.fixture(scope="module")
def frames() -> SimpleNamespace:
    """The catalogue as documented."""
    return documented(list(CATALOGUE), load())


@pytest.fixture(scope="module")
def level(frames) -> tuple[np.ndarray, Controls, np.ndarray]:
    """Level flight, nobody's hand on the column."""
    return trimmed(frames, SPEED, 0.0 * SPEED, HEIGHT, 0.0 * SPEED)


def test_the_atmosphere_is_that_of_the_standard():
    # ISO 2533, table of 5,000 m: 0.7361 kg/m3 and 320.5 m/s (geopotential).
    density, sound = air(np.array([5000.0]), np.zeros(1))
    assert density[0] == pytest.approx(0.7361, abs=2e-4)
    assert sound[0] == pytest.approx(320.5, abs=0.1)


def test_trimmed_flight_stays_as_it_is_without_a_force(frames, level):
    y, control, lever = level
    change, felt = rates(y, frames, control, idle(3), CALM, ONE)
    need, _ = column_need(frames, felt, control.elevator, control.tab)
    assert np.abs(change[[0, 2, 4]]).max() < 1e-3
    assert np.abs(need).max() < 1.0  # N
    assert np.all((lever > 0.1) & (lever < 0.9))
    assert felt.load == pytest.approx(1.0, abs=0.02)


def test_a_body_without_air_keeps_energy_and_momentum(frames):
    frames = SimpleNamespace(**{**vars(frames), "wing_area": 0.0 * ONE})
    y = np.zeros((ROWS, 3))
    y[0], y[3:6], y[12] = SPEED, np.array([[0.6], [0.3], [-0.4]]), 9000.0
    y[6:10] = quaternion(0.2 * ONE, 0.1 * ONE, 0.3 * ONE)
    control = Controls(*(0.0 * ONE for _ in range(5)), np.zeros((2, 3)), 0.0 * ONE, 0.0 * ONE)

    def kept(y):
        a, (p, q, r) = frames, y[3:6]
        spin = np.stack(
            [
                a.roll_inertia * p - a.cross_inertia * r,
                a.pitch_inertia * q,
                a.yaw_inertia * r - a.cross_inertia * p,
            ]
        )
        return np.einsum("ijn,jn->in", rotation(y), spin)

    before, rise = kept(y), np.einsum("ijn,jn->in", rotation(y), y[0:3])[2]
    apart = ONE
    for _ in range(100):
        y, apart, _ = advance(y, frames, control, idle(3), CALM, apart)
    time = 100 * STEP
    fallen = 9000.0 - y[12]
    assert kept(y) == pytest.approx(before, rel=2e-2, abs=30.0)
    assert fallen == pytest.approx(rise * time + 0.5 * G * time**2, rel=1e-2)


def test_the_phugoid_has_the_period_of_lanchester(frames, level):
    # Lanchester (1908): pi sqrt(2) V / g for a body that keeps its angle of attack; longer by the
    # damping and by the change of lift with pitch rate, within a fifth.
    y, control, _ = level
    y, apart, speeds = y.copy(), ONE, []
    y[0] += 2.0
    for _ in range(round(50.0 / STEP)):
        y, apart, felt = advance(y, frames, control, idle(3), CALM, apart)
        speeds.append(felt.speed - SPEED)
    table = np.array(speeds)
    for k in range(3):
        down = np.flatnonzero((table[:-1, k] > 0.0) & (table[1:, k] <= 0.0)) * STEP
        up = np.flatnonzero((table[:-1, k] < 0.0) & (table[1:, k] >= 0.0)) * STEP
        half = np.abs(up[0] - down[0])
        assert 2.0 * half == pytest.approx(np.pi * np.sqrt(2.0) * SPEED[k] / G, rel=0.2)


def test_a_steady_pull_makes_the_load_that_stick_force_per_g_says(frames, level):
    y, control, _ = level
    density, _ = air(HEIGHT, frames.warmer)
    _, _, per_g = load_and_rate(frames, 0.5 * density * SPEED**2, SPEED)
    assert np.all((per_g > 30.0) & (per_g < 300.0))  # N, of the order of 14 CFR 23.155
    y, apart, pull = y.copy(), ONE, 0.2 * per_g
    control = Controls(**vars(control))
    _, felt = rates(y, frames, control, idle(3), CALM, apart)
    for _ in range(round(3.0 / STEP)):
        need, stiff = column_need(frames, felt, control.elevator, control.tab)
        control.elevator = control.elevator - 0.4 * (pull - need) / stiff
        y, apart, felt = advance(y, frames, control, idle(3), CALM, apart)
    assert felt.load - 1.0 == pytest.approx(0.2, abs=0.05)


def test_the_wing_stalls_where_the_file_says(frames):
    assert attached(frames, frames.stall_angle, frames.flap) == pytest.approx(0.5)
    # Lift over weight at the stalling speed, flaps in, of the airplane files: 1.45 to 1.56.
    density, _ = air(HEIGHT, frames.warmer)
    speed = stall_speed(frames, HEIGHT)
    most = frames.mass * G / (0.5 * density * speed**2 * frames.wing_area)
    assert most == pytest.approx([1.56, 1.45, 1.5], abs=0.1)


def test_a_propeller_that_stands_pulls_as_an_ideal_disc(frames):
    # Glauert: T^3 = 2 rho A P^2 of the power that reaches the disc.
    density, rest = np.full(3, 1.225), np.zeros(3)
    found = thrust(frames, ONE, rest + 0.1, density, rest)
    power = frames.propeller_efficiency * frames.rating
    ideal = (2.0 * density * frames.disc_area * power**2) ** (1.0 / 3.0)
    assert found[[0, 2]] == pytest.approx(ideal[[0, 2]], rel=0.03)


def test_a_dead_engine_costs_the_climb_that_its_thrust_was_worth(frames, level):
    # Climb gradient = (thrust - drag) / weight; half the thrust gone leaves half the drag unpaid.
    y, control, _ = level
    control = Controls(**vars(control))
    control.thrust = np.stack([control.thrust[0], 0.0 * ONE])
    change, _ = rates(y, frames, control, idle(3), CALM, ONE)
    along = (change[0] * y[0] + change[2] * y[2]) / SPEED
    pull = control.thrust[0][:2]
    assert -along[:2] / G == pytest.approx(pull / (frames.mass[:2] * G), rel=0.03)
    assert change[5][0] > 0.0  # right engine dead: the nose goes right


def test_a_quiet_flight_is_level_and_its_twin_is_the_same(monkeypatch):
    monkeypatch.setattr("six_degrees_flights.SPAN", 13.0)
    monkeypatch.setattr("six_degrees_flights.BEGINS", (6.0, 7.0))
    flown = fly(4, 6, load(), only=("no failure", "push"))
    bank, pitch, _ = euler(np.vstack([np.zeros((6, 2)), np.eye(4)[:, :2], np.zeros((4, 2))]))
    assert bank[0] == 0.0 and pitch[0] == 0.0
    quiet = np.array([kind == "no failure" for kind in flown.kind])
    same = np.abs(flown.values["height"] - flown.twin["height"]).max(axis=1)
    assert np.all(same[quiet] < 1e-6)
    assert np.all(same[~quiet] > 1.0)
    before = flown.time < 6.0
    assert np.allclose(flown.values["load"][:, before], flown.twin["load"][:, before])
