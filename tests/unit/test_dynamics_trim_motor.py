"""The moment on a moving stabilizer, and what it leaves of the motor's rate."""

from __future__ import annotations

import dataclasses
import math

import jax.numpy as jnp
import pytest
from commuter import make_commuter

from neutralpoint.airplane.model import TrimDrive
from neutralpoint.dynamics.aerodynamics import meet
from neutralpoint.dynamics.state import make_inputs
from neutralpoint.dynamics.trim_motor import motor_share, stabilizer_moment

DRIVE = TrimDrive(
    kind="stabilizer", rate=0.008, loaded_rate=0.006, load_moment=1500.0, stall_moment=6000.0
)


@pytest.mark.parametrize(
    ("against", "share"),
    [(-9000.0, 1.0), (0.0, 1.0), (750.0, 0.875), (1500.0, 0.75), (3750.0, 0.375), (6000.0, 0.0),
     (9000.0, 0.0)],
)  # fmt: skip
def test_share_runs_through_the_documented_points(against, share):
    # Straight lines by hand: half-way to the load moment, at it, half-way on to the stall.
    assert float(motor_share(DRIVE, against)) == pytest.approx(share, abs=1e-12)


def test_a_drive_without_loads_keeps_its_rate():
    free = dataclasses.replace(DRIVE, loaded_rate=DRIVE.rate, stall_moment=math.inf)
    assert float(motor_share(free, 1e9)) == 1.0
    bare = TrimDrive(kind="stabilizer", rate=0.008)
    assert float(motor_share(bare, 1e9)) == 1.0


def test_a_drive_without_a_motor_is_asked_without_harm():
    wheel = TrimDrive(kind="tab", manual_rate=0.07)
    assert float(motor_share(wheel, 100.0)) == 1.0


def _moment(elevator: float, stabilizer: float, speed: float = 100.0) -> float:
    airplane = make_commuter()
    lon = airplane.longitudinal
    control = dataclasses.replace(
        airplane.pitch_control, downwash_0=0.0, downwash_alpha=0.0, downwash_flap=0.0
    )
    drive = dataclasses.replace(airplane.trim_drive, pivot_arm=0.25, elevator_pivot_arm=0.5)
    airplane = dataclasses.replace(airplane, pitch_control=control, trim_drive=drive)
    flow = meet((speed, 0.0, 0.0), (0.0, 0.0, 0.0), 1.0, 340.0)
    inputs = make_inputs(airplane, stabilizer=jnp.asarray(stabilizer))
    found = float(stabilizer_moment(airplane, flow, inputs, elevator, 0.0))
    lift = 0.5 * speed**2 * float(airplane.geometry.wing_area)  # per unit coefficient, by hand
    by_hand = -lift * (
        float(lon.CL_stabilizer) * stabilizer * 0.25 + float(lon.CL_elevator) * elevator * 0.5
    )
    assert found == pytest.approx(by_hand, rel=1e-9)
    return found


def test_own_incidence_pushes_back_and_held_elevator_pushes_on():
    # Fact of the trade, common practice, no source: a column held back loads the stabilizer nose
    # down, so that a motor asked to bring it back can stall until the pull is eased.
    assert _moment(elevator=0.0, stabilizer=0.05) < 0.0  # leading edge up is pushed down
    assert (
        _moment(elevator=-0.2, stabilizer=0.0) > 0.0
    )  # trailing edge up: pushed further nose down
    slow, fast = _moment(-0.2, 0.0, 60.0), _moment(-0.2, 0.0, 120.0)
    assert fast / slow == pytest.approx(4.0, rel=1e-6)  # with dynamic pressure
