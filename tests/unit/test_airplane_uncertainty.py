"""What no document states: effect of power on trim, and flight beyond the limits."""

from __future__ import annotations

import dataclasses

import jax
import numpy as np
import pytest

from neutralpoint.airplane.model import Multipliers, apply_multipliers
from neutralpoint.airplane.uncertainty import POWER_ARM, UNDOCUMENTED, Uncertainty
from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.dynamics.aerodynamics import lift_and_moment, meet
from neutralpoint.dynamics.propulsion import all_thrust
from neutralpoint.dynamics.state import make_inputs
from neutralpoint.quantities import SEA_LEVEL_DENSITY

STATED = Uncertainty({"lift_slope": 0.05, "stabilizer_power": 0.1})


@pytest.fixture(scope="module")
def airplane():
    return load_airplane("ostrel-7").airplane


def flow_at(speed):
    along, down = speed * np.cos(0.05), speed * np.sin(0.05)
    return meet((along, 0.0, down), (0.0, 0.0, 0.0), SEA_LEVEL_DENSITY, 340.3)


def test_what_is_stated_is_drawn_as_before():
    """Flown airplanes have more that is uncertain; the rest of the draw does not move."""
    stated = STATED.draw(np.random.default_rng(4), 500)
    flown = STATED.flown().draw(np.random.default_rng(4), 500)
    for name in ("lift_slope", "stabilizer_power"):
        np.testing.assert_array_equal(getattr(stated, name), getattr(flown, name))
    for name, neutral in (("thrust_arm", 0.0), ("tuck", 0.0), ("fade", 1.0)):
        assert np.all(getattr(stated, name) == neutral)
        assert np.std(getattr(flown, name)) > 0.0
    assert np.std(flown.thrust_arm) == pytest.approx(POWER_ARM, rel=0.1)
    told = Uncertainty({"tuck": 0.01}).flown()
    assert told.sigma == UNDOCUMENTED | {"tuck": 0.01}


def test_power_acts_on_the_moment_by_its_arm(airplane):
    """Statics: moment of the thrust about the center of gravity changes by arm times thrust."""
    moved = apply_multipliers(airplane, Multipliers(thrust_arm=0.3))
    inputs = make_inputs(airplane, lever=1.0)
    before, after = (all_thrust(a, flow_at(90.0), (1.0, 1.0), inputs) for a in (airplane, moved))
    chord = float(airplane.geometry.mean_chord)
    assert float(after[1][1] - before[1][1]) == pytest.approx(0.3 * chord * float(before[2]))
    assert float(after[0][0]) == pytest.approx(float(before[0][0]))


def moment_at(airplane, share):
    """Moment base and elevator effect at a share of the never-exceed speed."""
    speed = share * float(airplane.limits.never_exceed_speed)
    free = dataclasses.replace(
        airplane,
        longitudinal=dataclasses.replace(
            airplane.longitudinal, compressibility_aspect_ratio=0.0, fast_mach=float("inf")
        ),
    )
    moment = lift_and_moment(free, flow_at(speed), make_inputs(free))[1]
    return float(moment.base), float(moment.elevator)


def test_beyond_the_limit_moment_and_elevator_change_and_within_nothing_does(airplane):
    tucked = apply_multipliers(airplane, Multipliers(tuck=-0.05))
    for share in (0.5, 0.99):
        assert moment_at(tucked, share) == pytest.approx(moment_at(airplane, share))
    beyond = 1.25**2 - 1.0
    base, elevator = moment_at(airplane, 1.25)
    assert moment_at(tucked, 1.25)[0] - base == pytest.approx(-0.05 * beyond, rel=1e-3)
    fade = float(airplane.longitudinal.fade)
    slow = moment_at(airplane, 0.9)[1]
    assert elevator / slow == pytest.approx(1.0 / (1.0 + fade * beyond), rel=1e-3)


def test_an_airplane_without_limits_knows_no_beyond(commuter):
    free = lift_and_moment(commuter, flow_at(200.0), make_inputs(commuter))[1]
    assert np.isfinite(jax.tree.leaves(free)).all()
