"""Estimates and their uncertainty: limits, trends and draws."""

import dataclasses
import math

import numpy as np
import pytest

from neutralpoint.airplane.inertia import estimate_inertia
from neutralpoint.airplane.lateral import estimate_lateral
from neutralpoint.airplane.lift import (
    body_lift_factor,
    flap_effectiveness,
    lift_curve_slope,
    section_hinge_slopes,
    surface_hinge_slopes,
)
from neutralpoint.airplane.longitudinal import (
    estimate_longitudinal,
    induced_drag_factor,
    oswald_factor,
)
from neutralpoint.airplane.model import Multipliers
from neutralpoint.airplane.planform import Fuselage, Planform, Shape
from neutralpoint.airplane.uncertainty import NAMES, Uncertainty, correlation_matrix
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import FOOT, POUND, SLUG_FOOT_SQUARED

SHAPE = Shape(
    wing=Planform(area=16.0, span=10.9, taper=0.7, chord_station=1.7, depth=-0.6),
    tail=Planform(area=3.4, span=3.5, taper=0.7, chord_station=6.2, depth=-0.2),
    fin=Planform(area=1.7, span=1.6, taper=0.5, sweep=0.5, chord_station=6.1, depth=-0.9),
    fuselage=Fuselage(length=7.5, width=1.1, height=1.4),
    wing_incidence=0.02,
    zero_lift_angle=-0.04,
    section_moment=-0.05,
    dihedral=0.03,
    elevator_chord_ratio=0.4,
    rudder_chord_ratio=0.4,
    aileron_chord_ratio=0.2,
    aileron_inner=0.5,
    aileron_outer=0.95,
)


def test_mean_chord_of_a_trapezoid_by_integration():
    wing = SHAPE.wing
    y = np.linspace(0.0, wing.span / 2, 20_001)
    chord = wing.root_chord * (1 - (1 - wing.taper) * y / (wing.span / 2))
    assert 2 * np.trapezoid(chord, y) == pytest.approx(wing.area, rel=1e-8)
    mean = 2 * np.trapezoid(chord**2, y) / wing.area
    assert wing.mean_chord == pytest.approx(mean, rel=1e-8)


def test_flap_of_the_whole_chord_is_a_plate():
    # A plate hinged at its nose: CL / 4 = pi / 2 per rad, for incidence and flap alike.
    plate, flap = section_hinge_slopes(1.0 - 1e-9)
    assert plate == pytest.approx(-math.pi / 2, rel=1e-4)
    assert flap == pytest.approx(-math.pi / 2, rel=1e-4)
    assert flap_effectiveness(1.0) == pytest.approx(0.85)


def test_hinge_slopes_by_integrating_the_loading():
    # Thin-airfoil loading 4 (1 + cos t) / sin t of a plate, integrated about the hinge by hand.
    ratio = 0.3
    hinge = math.acos(2 * ratio - 1)
    t = np.linspace(hinge, math.pi, 200_001)
    moment = np.trapezoid((1 + np.cos(t)) * (math.cos(hinge) - np.cos(t)), t)
    assert section_hinge_slopes(ratio)[0] == pytest.approx(-moment / ratio**2, rel=1e-6)


def test_hinge_slopes_shrink_with_balance_and_aspect_ratio():
    plain = surface_hinge_slopes(SHAPE.tail, 0.4, balance=1.0)
    balanced = surface_hinge_slopes(SHAPE.tail, 0.4, balance=0.5)
    assert np.array(balanced) == pytest.approx(0.5 * np.array(plain))
    assert section_hinge_slopes(0.4)[0] < plain[0] < 0.0
    assert section_hinge_slopes(0.4)[1] < plain[1] < plain[0]


def test_signs_of_an_ordinary_airplane():
    found = estimate_longitudinal(SHAPE, 0.15) | estimate_lateral(SHAPE, 0.15, 0.4)
    negative = "Cm_alpha Cm_q Cm_alphadot Cm_elevator Cm_stabilizer CY_beta Cl_beta Cl_p Cn_r"
    positive = "CL_alpha CL_q CL_elevator CL_stabilizer CY_r Cl_r Cn_beta CY_rudder Cl_rudder"
    for name in f"{negative} Cl_aileron Cn_rudder".split():
        assert found[name].value < 0.0, name
    for name in positive.split():
        assert found[name].value > 0.0, name
    assert all(estimate.sigma > 0.0 and estimate.source for estimate in found.values())


def test_a_larger_tail_moves_the_neutral_point_aft():
    larger = dataclasses.replace(SHAPE, tail=dataclasses.replace(SHAPE.tail, area=4.0, span=3.8))
    small, large = (estimate_longitudinal(shape, 0.15) for shape in (SHAPE, larger))
    assert large["Cm_alpha"].value < small["Cm_alpha"].value
    assert large["Cm_q"].value < small["Cm_q"].value


def test_drag_factors():
    assert induced_drag_factor(8.0, 1.0) == pytest.approx(1 / (8 * math.pi))
    # Raymer eq. 12.48 at A = 8: 1.78 (1 - 0.045 8^0.68) - 0.64 = 0.811.
    assert oswald_factor(8.0, 0.0).value == pytest.approx(0.811, abs=5e-4)
    assert oswald_factor(8.0, math.radians(35)).value < oswald_factor(8.0, 0.0).value
    assert body_lift_factor(0.0, 10.0) == 1.0


def test_inertia_of_a_published_light_airplane():
    # Nelson, Flight Stability and Automatic Control, app. B: 2,750 lb, span 33.4 ft, inertias
    # 1048, 3000, 3530 slug ft2; length 27.5 ft from memory. Within the stated band (2 sigma).
    found = estimate_inertia(
        "single_piston", mass=2750 * POUND, span=33.4 * FOOT, length=27.5 * FOOT
    )
    for estimate, published in zip(found.values(), (1048.0, 3000.0, 3530.0), strict=True):
        assert abs(estimate.value - published * SLUG_FOOT_SQUARED) < 2 * estimate.sigma


@pytest.mark.parametrize("mach", [1.0, 1.3, -0.1])
def test_supersonic_speed_is_refused(mach):
    with pytest.raises(NeutralPointError) as caught:
        lift_curve_slope(6.0, mach=mach)
    assert caught.value.code == "quantity-range"


def test_draws_have_the_stated_spread_and_correlation():
    stated = {"lift_slope": 0.05, "neutral_point": 0.03, "elevator_power": 0.2}
    stated |= {"stabilizer_power": 0.1, "cg_station": 0.01}
    draws = Uncertainty(stated).draw(np.random.default_rng(1), 200_000)
    for name, sigma in stated.items():
        values = np.asarray(getattr(draws, name))
        spread = values.std() / (1.0 if name in ("neutral_point", "cg_station") else values.mean())
        assert spread == pytest.approx(sigma, rel=0.02)
    assert np.all(np.asarray(draws.elevator_power) > 0.0)
    assert np.all(np.asarray(draws.drag) == 1.0)
    logs = np.log([draws.elevator_power, draws.stabilizer_power])
    assert np.corrcoef(logs)[0, 1] == pytest.approx(0.6, abs=0.01)


def test_same_seed_same_draw():
    uncertain = Uncertainty({"drag": 0.1})
    first, second = (uncertain.draw(np.random.default_rng(7), 5).drag for _ in range(2))
    assert np.array_equal(first, second)


def test_correlations_are_possible():
    assert np.linalg.eigvalsh(correlation_matrix())[0] > 0.05
    assert set(NAMES) == {field.name for field in dataclasses.fields(Multipliers)}


@pytest.mark.parametrize(("name", "value"), [("wing", 0.1), ("drag", -0.1), ("drag", math.nan)])
def test_bad_uncertainty_is_refused(name, value):
    with pytest.raises(NeutralPointError) as caught:
        Uncertainty({name: value})
    assert name in caught.value.where
