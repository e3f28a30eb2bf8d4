"""Friction of the column, the trim motor under load, and buffet, as flown causes have them."""

from __future__ import annotations

import dataclasses

import jax
import numpy as np
import pytest

from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.column import through_friction
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.explanations import CAUSES, fly, trimmed_setting
from neutralpoint.explanations.any_cause import ANY_CAUSE, as_any
from neutralpoint.explanations.change import buffet
from neutralpoint.explanations.flight import OVERCOME
from neutralpoint.quantities import SEA_LEVEL_DENSITY

FLY = jax.jit(fly, static_argnames=("cause", "duration", "step", "record_every"))


def test_a_force_within_friction_moves_nothing_and_letting_go_leaves_some_behind():
    part = 0.0
    for applied, passed in ((8.0, 0.0), (30.0, 20.0), (15.0, 20.0), (0.0, 10.0), (-30.0, -20.0)):
        part = float(through_friction(part, applied, 10.0))
        assert part == passed
    assert float(through_friction(5.0, 12.0, 0.0)) == 12.0


def test_buffet_begins_at_the_limit(commuter):
    fast = dataclasses.replace(
        commuter, limits=dataclasses.replace(commuter.limits, never_exceed_speed=100.0)
    )
    assert float(buffet(fast, SEA_LEVEL_DENSITY, 99.0)) == 0.0
    assert float(buffet(fast, SEA_LEVEL_DENSITY, 100.0 * np.sqrt(2.0))) == pytest.approx(3.0)
    assert float(buffet(commuter, SEA_LEVEL_DENSITY, 200.0)) == 0.0  # no limit is known


@pytest.fixture(scope="module")
def loaded(commuter):
    """The commuter with a motor that the air loads, its column with friction."""
    drive = dataclasses.replace(
        commuter.trim_drive,
        loaded_rate=0.7 * commuter.trim_drive.rate,
        load_moment=1500.0,
        stall_moment=6000.0,
        pivot_arm=0.25,
        elevator_pivot_arm=0.56,
    )
    return dataclasses.replace(commuter, trim_drive=drive)


def flown(airplane, friction):
    control = dataclasses.replace(airplane.pitch_control, friction=friction)
    airplane = dataclasses.replace(airplane, pitch_control=control)
    condition = Condition(speed=80.0, height=600.0, path_angle=0.05)
    setting = trimmed_setting(airplane, make_air(), condition)
    cause = CAUSES["stabilizer-runaway"]
    parameters = cause.middle() | {"start": 5.0, "rate_share": 1.0, "run": 60.0, "direction": 1.0}
    return FLY(setting, ANY_CAUSE, as_any(cause, parameters), duration=15.0, record_every=5)


@pytest.mark.slow  # compiles a flight of any cause, ten seconds
def test_the_air_slows_the_motor_of_a_flown_runaway(loaded):
    """A pull moves the elevator up, whose lift pushes the stabilizer on; its own incidence back."""
    flight = flown(loaded, 0.0)
    time, trim = np.asarray(flight.time), np.asarray(flight.trim)
    drive = loaded.trim_drive
    rate = np.diff(trim) / np.diff(time)
    running = (time[1:] > 5.5) & (trim[1:] < drive.travel_max - 0.01)
    against = -np.asarray(flight.readings.stabilizer_moment)[:-1]
    kept = np.clip(1.0 - 0.3 * np.maximum(against, 0.0) / 1500.0, 0.0, 1.0)
    np.testing.assert_allclose(rate[running], (kept * drive.rate)[running], rtol=0.02)


@pytest.mark.slow  # compiles a flight for one statement, ten seconds
def test_friction_holds_back_a_part_of_the_pull(loaded):
    """Force on the column and force at the elevator differ by friction at most, and do."""
    flight = flown(loaded, 20.0)
    held = np.asarray(flight.applied_force) - np.asarray(flight.readings.column_force)
    assert np.abs(held).max() == pytest.approx(20.0 * (1.0 - OVERCOME))  # a hand overcomes the rest
    assert np.abs(np.asarray(flight.applied_force)).max() > 60.0
