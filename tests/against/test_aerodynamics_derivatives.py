"""Handbook estimates against published derivative sets, as far as their geometry is known.

Sets: a four-engine transport (Schmidt 1998, appendix B.4), a heavy transport (Etkin and Reid 1996;
NASA CR-2144), a single-engine light airplane (Nelson, appendix B), a business jet (Roskam 1995,
authorities/derivatives_business_jet.toml). Known are areas, spans and chords; quarter-chord sweep
and taper are from memory of public drawings. Where a tail's geometry is not given, ratios between
published derivatives that share the tail are compared instead. Tolerance: twice the standard
deviation the estimate states.
"""

import math

import pytest

from neutralpoint.airplane.lateral import antisymmetric_lift_slope, estimate_lateral
from neutralpoint.airplane.lift import surface_lift_slope
from neutralpoint.airplane.longitudinal import WING_SHARE_OF_DAMPING, estimate_longitudinal
from neutralpoint.airplane.planform import Fuselage, Planform, Shape
from neutralpoint.quantities import FOOT

FT2 = FOOT**2

# area ft2, span ft, sweep deg and taper (from memory), Mach, published CL_alpha of the airplane
WINGS = [
    ("transport, Schmidt B.4, approach", 2600, 142.3, 30.6, 0.23, 0.218, 4.81),
    ("transport, Schmidt B.4, holding", 2600, 142.3, 30.6, 0.23, 0.443, 4.876),
    ("light airplane, Nelson app. B", 184, 33.4, 2.0, 0.54, 0.158, 4.44),
]


@pytest.mark.parametrize("case", WINGS, ids=lambda case: case[0])
def test_wing_lift_slope_lies_below_that_of_the_airplane(case):
    # The tail adds S_t/S (1 - d epsilon) a_t, 5 to 20 % of the wing's slope on ordinary layouts.
    """Source: Schmidt (1998) app. B.4, Etkin and Reid (1996), Nelson app. B: lift slopes of the
    sets.
    """
    _, area, span, sweep, taper, mach, published = case
    wing = Planform(area=area * FT2, span=span * FOOT, taper=taper, sweep=math.radians(sweep))
    ratio = published / surface_lift_slope(wing, mach)
    assert 0.95 < ratio < 1.30


@pytest.mark.parametrize(
    ("area", "span", "sweep", "taper", "mach", "published"),
    [
        (184, 33.4, 2.0, 0.54, 0.158, -0.410),  # light airplane, Nelson app. B
        (5500, 195.68, 37.5, 0.28, 0.249, -0.45),  # heavy transport, NASA CR-2144
        (230, 34.0, 13.0, 0.5, 0.7, -0.450),  # business jet, Roskam pp. 522-524
    ],
)
def test_roll_damping(area, span, sweep, taper, mach, published):
    """Source: Schmidt (1998) app. B.4, Etkin and Reid (1996), Nelson app. B: Cl_p of the sets."""
    wing = Planform(area=area * FT2, span=span * FOOT, taper=taper, sweep=math.radians(sweep))
    slope = antisymmetric_lift_slope(wing, mach)
    found = -slope / 12 * (1 + 3 * taper) / (1 + taper)
    assert found == pytest.approx(published, rel=2 * 0.12)


@pytest.fixture
def published(authority):
    """Derivatives of the jet by group."""
    notes = ("name", "origin", "status")
    return {
        item["name"]: {key: value for key, value in item.items() if key not in notes}
        for item in authority("derivatives_business_jet")["items"]
    }


def test_tail_ratios_of_business_jet(published):
    """Source: Roskam, Airplane Flight Dynamics and Automatic Flight Controls (1995), pp.
    522-524.
    """
    found = published["longitudinal"]
    arm = -found["Cm_stabilizer"] / found["CL_stabilizer"]
    damping = 2 * WING_SHARE_OF_DAMPING * found["Cm_stabilizer"] * arm
    assert 2 * found["CL_stabilizer"] * arm == pytest.approx(found["CL_q"], rel=2 * 0.25)
    assert damping == pytest.approx(found["Cm_q"], rel=2 * 0.15)
    downwash = found["Cm_alphadot"] / (2 * found["Cm_stabilizer"] * arm)
    assert 0.2 < downwash < 0.7
    lag = 2 * found["CL_stabilizer"] * arm * downwash
    assert lag == pytest.approx(found["CL_alphadot"], rel=2 * 0.30)


BUSINESS_JET = Shape(
    wing=Planform(
        area=230 * FT2, span=34 * FOOT, taper=0.5, sweep=math.radians(13), chord_station=6.0
    ),
    # Tail 54 ft2, span 14.7 ft: from memory of public drawings; its arm is Cm_ih / CL_ih chords.
    tail=Planform(
        area=54 * FT2,
        span=14.7 * FOOT,
        taper=0.5,
        sweep=math.radians(25),
        chord_station=6.0 + 2.66 * 7 * FOOT,
        depth=-2.5,
    ),
    fin=Planform(
        area=38 * FT2,
        span=6.5 * FOOT,
        taper=0.5,
        sweep=math.radians(40),
        chord_station=10.6,
        depth=-1.6,
    ),
    fuselage=Fuselage(length=12.5, width=1.6, height=1.6),
    wing_incidence=math.radians(1),
    zero_lift_angle=math.radians(-1.5),
    section_moment=-0.02,
    dihedral=math.radians(2.5),
    elevator_chord_ratio=0.28,
    rudder_chord_ratio=0.25,
    aileron_chord_ratio=0.25,
    aileron_inner=0.6,
    aileron_outer=0.95,
)


def misses(estimates, published):
    """Names whose estimate lies more than two of its standard deviations off."""
    return {
        name: (estimates[name].value, value)
        for name, value in published.items()
        if abs(estimates[name].value - value) > 2 * estimates[name].sigma
    }


def test_longitudinal_estimates_of_business_jet(published):
    """Source: Roskam, Airplane Flight Dynamics and Automatic Flight Controls (1995), pp.
    522-524.
    """
    assert misses(estimate_longitudinal(BUSINESS_JET, 0.7), published["longitudinal"]) == {}


def test_lateral_estimates_of_business_jet(published):
    """Source: Roskam, Airplane Flight Dynamics and Automatic Flight Controls (1995), pp.
    522-524.
    """
    assert misses(estimate_lateral(BUSINESS_JET, 0.7, 0.41), published["lateral"]) == {}


@pytest.mark.parametrize(
    ("set_name", "damping", "lag", "aspect_ratio"),
    [
        ("transport, Schmidt B.4, approach", -11.7, -3.84, 7.79),
        ("transport, Schmidt B.4, holding", -12.05, -4.1, 7.79),
        ("light airplane, Nelson app. B", -9.96, -4.36, 6.06),
        ("heavy transport, NASA CR-2144, approach", -20.8, -3.2, 6.96),
    ],
)
def test_downwash_in_the_ratio_of_damping_derivatives(set_name, damping, lag, aspect_ratio):
    # Cm_alphadot / Cm_q = d epsilon / 1.1 when both come from the tail; lifting-line far downwash
    # 2 a / (pi A) bounds it from above.
    """Source: Cm_alphadot / Cm_q = d epsilon / d alpha: Etkin and Reid (1996), sec. 5.5, from
    memory.
    """
    downwash = WING_SHARE_OF_DAMPING * lag / damping
    assert 0.1 < downwash < 2 * 5.0 / (math.pi * aspect_ratio)
