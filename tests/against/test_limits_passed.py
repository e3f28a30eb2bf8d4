"""Limits passed against closed forms, and the diagram in the units of the rule."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from neutralpoint.limits import (
    Design,
    Margin,
    load_diagram,
    passed_any,
    passed_together,
    passing,
    specific_excess,
    trusted_until,
)
from neutralpoint.limits.diagram import gust_load
from neutralpoint.quantities import FOOT, GRAVITY, KNOT, POUND_FORCE
from neutralpoint.vocabulary.limit import LimitName

STEP = 0.1
TIME = np.arange(0.0, 40.0, STEP)
PATHS = 4000
# Three standard deviations of a share of so many paths.
SAMPLING = 3.0 * 0.5 / np.sqrt(PATHS)


@pytest.mark.parametrize("seed", [20261128, 7])
def test_a_hump_of_random_height_passes_as_the_normal_law_says(seed):
    """Path h (1 - (t - 20)^2 / 400), h normal: chance, begin and duration are known.

    Source: closed form, the normal distribution.
    """
    height = np.random.default_rng(seed).normal(2.8, 0.5, (PATHS, 1))
    paths = height * (1.0 - (TIME - 20.0) ** 2 / 400.0)
    found = passing(Margin(LimitName.LOAD, 3.0, paths), TIME, STEP)
    assert found.probability == pytest.approx(norm.sf(3.0, 2.8, 0.5), abs=SAMPLING)
    # Of the paths that pass, the median one has this height.
    middle = norm.isf(0.5 * norm.sf(3.0, 2.8, 0.5), 2.8, 0.5)
    half = 20.0 * np.sqrt(1.0 - 3.0 / middle)
    assert found.first[1] == pytest.approx(20.0 - half, abs=0.5)
    assert found.duration[1] == pytest.approx(2.0 * half, abs=1.0)
    by = np.interp(15.0, TIME, found.by)
    assert by == pytest.approx(norm.sf(3.0 / (1.0 - 25.0 / 400.0), 2.8, 0.5), abs=SAMPLING)
    assert np.all(np.diff(found.by) >= 0.0)


def test_joint_chances_are_those_of_the_paths():
    """Half of the paths pass both limits, a quarter one alone; the others none.

    Source: counted by hand.
    """
    fast = np.zeros((400, TIME.size))
    steep = np.zeros((400, TIME.size))
    fast[:200, 100:] = 2.0
    steep[:100, 50:] = 2.0
    steep[200:300, :10] = 2.0
    margins = [Margin(LimitName.SPEED, 1.0, fast), Margin(LimitName.LOAD, 1.0, steep)]
    assert passed_any(margins) == 0.75
    assert passed_together(margins) == [(LimitName.SPEED, LimitName.LOAD, 0.25)]
    assert trusted_until(margins[1:], TIME) == 0.0
    assert trusted_until(margins[:1], TIME) == TIME[100]
    assert trusted_until([Margin(LimitName.LOAD, 3.0, steep)], TIME) is None
    below = passing(Margin(LimitName.LOAD_NEGATIVE, -1.0, -steep, above=False), TIME, STEP)
    assert below.probability == 0.5 and below.extreme[0] == -2.0


def _design(**changed: float) -> Design:
    values = {
        "mass": 2000.0, "wing_area": 17.0, "mean_chord": 1.5, "aspect_ratio": 7.0,
        "lift_slope": 5.0, "lift_highest": 1.5, "lift_lowest": -1.0, "load_highest": 3.8,
        "load_lowest": -1.52, "cruise_speed": 80.0, "dive_speed": 110.0, "altitude": 0.0,
        "density": 1.225, "sound": 1e9,
    }  # fmt: skip
    return Design(**(values | changed))


def test_gusts_are_those_of_the_rule_in_its_own_units():
    """n = 1 + Kg Ude V a / (498 W/S), Ude in ft/s, V in kt, W/S in lb/ft2: 14 CFR 23.341(c).

    Source: 14 CFR 23.341(c), edition of 1 January 2014.
    """
    design = _design()
    loading = design.mass * GRAVITY / POUND_FORCE / (design.wing_area / FOOT**2)
    density, chord = 1.225 / 515.3788, design.mean_chord / FOOT  # slug/ft3, ft
    ratio = 2.0 * loading / (density * chord * design.lift_slope * 32.174)
    relief = 0.88 * ratio / (5.3 + ratio)
    rule = relief * 50.0 * (design.cruise_speed / KNOT) * design.lift_slope / (498.0 * loading)
    ours = gust_load(design, np.array([design.cruise_speed]), np.array([50.0 * FOOT]))[0]
    assert ours == pytest.approx(rule, rel=2e-3)  # 498 is rounded from 498.4


def test_the_diagram_has_the_corners_of_the_rule():
    """Source: 14 CFR 23.333 and 23.335, edition of 1 January 2014, from memory."""
    found = load_diagram(_design())
    # 23.335(c): VA = Vs sqrt(n).
    stall_speed = np.sqrt(2.0 * 2000.0 * GRAVITY / (1.225 * 17.0 * 1.5))
    assert found.maneuver_speed == pytest.approx(stall_speed * np.sqrt(3.8), rel=1e-4)
    assert found.lower[-1] == 0.0 and found.upper[-1] == 3.8
    at_cruise = np.interp(80.0, found.speed, found.lower)
    assert at_cruise == pytest.approx(-1.52, abs=0.02)
    # 50 ft/s at VC and 25 at VD: the change is as the speeds, halved.
    ratio = (found.gust_upper[-1] - 1.0) / (np.interp(80.0, found.speed, found.gust_upper) - 1.0)
    assert ratio == pytest.approx(0.5 * 110.0 / 80.0, rel=1e-2)
    high = load_diagram(_design(altitude=50_000.0 * FOOT))
    assert high.gust_upper[-1] - 1.0 == pytest.approx(0.5 * (found.gust_upper[-1] - 1.0), rel=1e-6)


def test_excess_power_is_the_rate_of_energy_height():
    """A climb at constant acceleration, its energy height differentiated.

    Source: definition of specific excess power, Rutowski, J. Aeronautical Sciences 21 (1954)
        187-195, from memory.
    """
    time = np.linspace(0.0, 10.0, 1001)
    speed, climb = 60.0 + 1.2 * time, 0.05
    height = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * 0.01)]) * climb
    energy = height + speed**2 / (2.0 * GRAVITY)
    along = np.array([climb + 1.2 / GRAVITY * np.ones_like(time)])
    weight, drag = 20_000.0, 1500.0
    thrust = along * weight + drag
    found = specific_excess(
        along, speed[None], thrust=thrust, full=thrust + 1000.0, idle=thrust * 0.0,
        weight=np.array([[weight]]),
    )  # fmt: skip
    assert np.allclose(found.flown[0], np.gradient(energy, time), rtol=1e-3)
    assert np.allclose(found.full - found.flown, speed * 1000.0 / weight)
    assert np.allclose(found.idle[0], -speed * drag / weight)
