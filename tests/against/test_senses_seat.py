"""The ride of the seat against SciPy's rotations and maneuvers known in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from neutralpoint.quantities import DEGREE, GRAVITY
from neutralpoint.senses.seat import incidence_of, rates_of, ride_of, turned_to_body

NOWHERE = np.zeros((1, 3))


def _ride(time, *, seat=NOWHERE, **given):
    zero = np.zeros_like(time)[None]
    named = dict.fromkeys(("heading", "path_angle", "bank", "incidence", "along"), zero)
    named |= {"across": zero + 1.0} | {name: value[None] for name, value in given.items()}
    return ride_of(**named, seat=seat, step=float(time[1] - time[0]))


def test_axes_and_incidence_are_those_of_scipy():
    """Source: scipy.spatial.transform, intrinsic ZYX and Y."""
    rng = np.random.default_rng(20261129)
    angles = rng.uniform(-1.2, 1.2, (40, 3)) * (2.0, 1.0, 1.2)
    incidence = rng.uniform(-0.2, 0.3, 40)
    own = turned_to_body(*angles.T, incidence)
    there = Rotation.from_euler("ZYX", angles) * Rotation.from_euler("y", incidence[:, None])
    assert np.allclose(own, there.as_matrix(), atol=1e-12)
    pitch = there.as_euler("ZYX")[:, 1]
    back = incidence_of(pitch, angles[:, 1], angles[:, 2])
    # Where a steep path is banked far, two incidences have one pitch.
    upright = (np.abs(angles[:, 2]) < 0.8) & (np.abs(angles[:, 1]) < 0.7)
    assert upright.sum() > 10 and np.allclose(back[upright], incidence[upright], atol=1e-9)


def test_rates_are_those_of_scipy():
    """Source: scipy.spatial.transform, a rotation vector that grows evenly."""
    step = 0.05
    time = np.arange(0.0, 4.0, step)
    spin = np.array([0.3, -0.2, 0.4])
    turned = Rotation.from_rotvec(time[:, None] * spin)  # a steady turn about a fixed axis
    rates = rates_of(turned.as_matrix()[None], step)[0]
    # Central differences of a turn of 0.54 rad/s err by (w h)^2 / 6.
    assert np.allclose(rates[1:-1], spin, rtol=1e-3)


def test_a_level_turn_presses_straight_down_with_the_load_of_its_bank():
    """Source: identities n = 1 / cos(bank) and turn rate g tan(bank) / V."""
    time = np.arange(0.0, 60.0, 0.25)
    bank, speed = 30.0 * DEGREE, 100.0
    rate = GRAVITY * np.tan(bank) / speed
    ride = _ride(
        time, heading=rate * time, bank=np.full_like(time, bank),
        across=np.full_like(time, 1.0 / np.cos(bank)),
    )  # fmt: skip
    assert np.allclose(ride.load, 1.0 / np.cos(bank)) and np.allclose(ride.tilt, 0.0)
    assert np.allclose(ride.bank, bank)
    assert np.allclose(ride.turn[:, 1:-1], rate, rtol=1e-4)


def test_an_acceleration_tilts_the_force_by_its_share_of_gravity():
    """Source: geometry of the gravito-inertial force, atan(a / g)."""
    time = np.arange(0.0, 5.0, 0.25)
    ride = _ride(time, along=np.full_like(time, 0.25))
    assert np.allclose(ride.tilt, np.arctan(0.25))
    assert np.allclose(ride.load, np.hypot(1.0, 0.25))
    assert np.allclose(ride.pitch, 0.0)


def test_a_climb_at_a_steady_speed_feels_as_steep_as_it_is():
    """Source: equilibrium of a steady climb, n_x = sin(gamma), n_z = cos(gamma)."""
    time = np.arange(0.0, 5.0, 0.25)
    climb = 10.0 * DEGREE
    ride = _ride(
        time, path_angle=np.full_like(time, climb), along=np.full_like(time, np.sin(climb)),
        across=np.full_like(time, np.cos(climb)),
    )  # fmt: skip
    assert np.allclose(ride.tilt, climb) and np.allclose(ride.pitch, climb)


def test_a_seat_ahead_is_thrown_by_a_pitching_airplane():
    """A pitch of A sin(w t) about the center of gravity throws a seat L ahead by A w^2 L.

    Source: second derivative of the place of a point of a rigid body, in closed form.
    """
    step = 0.01
    time = np.arange(0.0, 6.0, step)
    amplitude, frequency, ahead = 0.02, 2.0, 3.0
    pitch = amplitude * np.sin(frequency * time)
    ride = _ride(time, incidence=pitch, seat=np.array([[ahead, 0.0, 0.0]]))
    still = _ride(time, incidence=pitch)
    extra = (ride.felt - still.felt)[0, 2:-2]
    wanted = -amplitude * frequency**2 * ahead * np.sin(frequency * time[2:-2])
    assert np.abs(extra[:, 2] - wanted).max() < 0.01 * amplitude * frequency**2 * ahead
    spin = (amplitude * frequency) ** 2 * ahead * np.cos(frequency * time[2:-2]) ** 2
    assert extra[:, 0] == pytest.approx(spin, abs=2e-3 * spin.max())
