"""Outcomes, maps and the latest safe action agree with each other."""

from __future__ import annotations

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from neutralpoint.airplane.model import StopDevice
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.explanations import CAUSES, Action, trimmed_setting
from neutralpoint.response import (
    draw_pilots,
    latest_safe_action,
    outcome_map,
    saved,
    saved_over_height,
)

CAUSE = CAUSES["stabilizer-runaway"]
PARAMETERS = CAUSE.middle() | {"start": 1.0, "run": 100.0}
HEIGHT = 900.0
RUN = {"duration": 40.0}


@pytest.fixture(scope="module")
def setting(commuter):
    latch = StopDevice(
        name="latch", kind="latching_disconnect", reach_time=0.5, hands=0, release_restarts=False
    )
    drive = dataclasses.replace(commuter.trim_drive, stops=(latch,))
    return trimmed_setting(
        dataclasses.replace(commuter, trim_drive=drive),
        make_air(),
        Condition(speed=85.0, height=1200.0, path_angle=0.05),
        procedure=(Action(kind="press", device="latch"),),
    )


@pytest.fixture(scope="module")
def pilots(setting):
    return draw_pilots(setting, jax.random.key(1), 8)


@pytest.fixture(scope="module")
def outcome(setting, pilots):
    delay, rate = jnp.array([0.0, 2.0, 8.0]), jnp.array([0.3, 1.0])
    return outcome_map(
        setting, CAUSE, PARAMETERS, delay=delay, rate=rate, pilots=pilots, deepest=HEIGHT, **RUN
    )


def test_waiting_and_faster_motors_save_fewer(outcome):
    share = np.asarray(saved(outcome, HEIGHT)).mean(axis=-1)
    assert share.shape == (3, 2)
    assert share[0].min() == 1.0  # at once: everybody
    assert np.all(np.diff(share, axis=0) <= 0.0)
    assert share[-1, 1] < 1.0


def test_one_flight_answers_for_every_height(outcome):
    share = np.asarray(saved_over_height(outcome, jnp.array([1.0, 100.0, HEIGHT])))
    assert share.shape == (3, 2, 3)
    assert np.all(np.diff(share, axis=-1) >= 0.0)
    np.testing.assert_allclose(share[..., -1], np.asarray(saved(outcome, HEIGHT)).mean(axis=-1))


def test_latest_safe_action_is_where_the_outcome_changes(setting, pilots):
    latest = np.asarray(
        latest_safe_action(setting, CAUSE, PARAMETERS, pilots, height=HEIGHT, rounds=5, **RUN)
    )
    assert latest.shape == (8,)
    strength = np.asarray(pilots.pilot.strength)
    # Strength buys time: the stronger half has at least as long, by the median.
    weak = strength < np.median(strength)
    assert np.median(latest[~weak]) >= np.median(latest[weak])
    assert 0.0 < np.median(latest) < 30.0
