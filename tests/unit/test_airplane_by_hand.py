"""Formulas of the airplane against numbers worked out by hand or by integration over the surface.

Sources are those of the formulas; what is checked here is that they are written down right.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

import neutralpoint.airplane
from neutralpoint.airplane import model
from neutralpoint.airplane.envelope import Envelope, effect_of_move
from neutralpoint.airplane.estimate import Estimate, within_amount, within_share
from neutralpoint.airplane.inertia import estimate_inertia
from neutralpoint.airplane.lateral import (
    antisymmetric_lift_slope,
    estimate_lateral,
    fin_lift_slope,
    sidewash_and_pressure,
)
from neutralpoint.airplane.lift import (
    body_lift_factor,
    downwash_gradient,
    flap_effectiveness,
    lift_curve_slope,
    section_hinge_slopes,
    surface_hinge_slopes,
    surface_lift_slope,
)
from neutralpoint.airplane.loading import Loading, LoadItem, mass_properties
from neutralpoint.airplane.longitudinal import (
    body_moment_slope,
    estimate_longitudinal,
    lift_of,
    oswald_factor,
)
from neutralpoint.airplane.model import MassProperties, Multipliers, apply_multipliers
from neutralpoint.airplane.planform import Fuselage, Planform, Shape
from neutralpoint.airplane.stability import neutral_point, neutral_point_free, static_margin

# Aspect ratios 8, 4 and 1.5625; mean chords of 1 m, so that the quarter chords lie at 2.25 m,
# 6.25 m and 7.25 m: arms of 4 m and 5 m, half of the span of 10 m.
WING = Planform(area=12.5, span=10.0, taper=0.4, chord_station=2.0, depth=-0.5, known_mean_chord=1)
TAIL = Planform(area=4.0, span=4.0, taper=1.0, chord_station=6.0, depth=-1.5, known_mean_chord=1)
FIN = Planform(area=1.0, span=1.25, taper=1.0, chord_station=7.0, depth=-1.5, known_mean_chord=1)
BODY = Fuselage(length=9.0, width=1.5, height=2.0, nose_station=-0.45)
SHAPE = Shape(
    wing=WING, tail=TAIL, fin=FIN, fuselage=BODY, wing_incidence=0.03, zero_lift_angle=-0.05,
    section_moment=-0.04, dihedral=0.1, elevator_chord_ratio=0.4, rudder_chord_ratio=0.3,
    aileron_chord_ratio=0.25, aileron_inner=0.6, aileron_outer=0.9, tail_pressure_ratio=0.9,
)  # fmt: skip
Y = np.linspace(0.0, 5.0, 100_001)  # along the half span
CHORD = 12.5 / (5.0 * 1.4) * (1.0 - 0.6 * Y / 5.0)


def integral(values, inside=slice(None)) -> float:
    return float(np.trapezoid(values[inside], Y[inside]))


def test_a_trapezoid():
    assert WING.aspect_ratio == 8.0 and WING.root_chord == pytest.approx(CHORD[0])
    plain = dataclasses.replace(WING, known_mean_chord=0.0)
    assert plain.mean_chord == pytest.approx(2.0 * integral(CHORD**2) / 12.5)
    assert WING.aerodynamic_station == 2.25
    assert dataclasses.replace(WING, known_mean_chord=2.0).aerodynamic_station == 2.5
    # Quarter chords in line: the line at a fraction n of the chord runs by (n - 1/4)(ct - cr).
    for fraction in (0.0, 0.5, 1.0):
        run = (fraction - 0.25) * (CHORD[-1] - CHORD[0]) / 5.0
        assert WING.tangent_of_sweep(fraction) == pytest.approx(run)
    swept = dataclasses.replace(WING, sweep=math.pi / 4.0)
    assert swept.tangent_of_sweep(0.25) == pytest.approx(1.0)


def test_volumes_and_arms():
    assert BODY.volume == pytest.approx(0.7 * math.pi * 0.75 * 1.0 * 9.0)  # half axes
    assert SHAPE.tail_arm == 4.0 and SHAPE.fin_arm == 5.0
    assert SHAPE.tail_area_ratio == 0.32 and SHAPE.fin_area_ratio == 0.08
    assert SHAPE.tail_volume == pytest.approx(0.32 * 4.0)


def test_lift_of_a_surface_takes_its_own_sweep_and_mach():
    # 2 pi 8 / (2 + sqrt(4 + (8 / .95)^2 (.64 + tan^2))), half chord: tan = -(1/2)(1/4)(.6 / 1.4).
    found = surface_lift_slope(WING, 0.6)
    tangent = 0.5 * 0.25 * 0.6 / 1.4
    under = 4.0 + (8.0 / 0.95) ** 2 * (0.64 + tangent**2)
    assert found == pytest.approx(16.0 * math.pi / (2.0 + math.sqrt(under)))


def test_downwash_by_hand():
    # K_A = 1/8 - 1/(1 + 8^1.7) = .09667, K_t = 8.8/7, K_h = .9 / .8^(1/3) = .96950.
    assert downwash_gradient(WING, TAIL, 0.0) == pytest.approx(0.348442, abs=1e-6)
    swept = dataclasses.replace(WING, sweep=math.pi / 3.0)
    assert downwash_gradient(swept, TAIL, 0.0) == pytest.approx(0.230684, abs=1e-6)
    grown = surface_lift_slope(WING, 0.6) / surface_lift_slope(WING, 0.0)
    assert grown > 1.1
    assert downwash_gradient(WING, TAIL, 0.6) == pytest.approx(0.348442 * grown, abs=1e-6)
    # 1 + .025 .15 - .25 .0225
    assert body_lift_factor(1.5, 10.0) == pytest.approx(0.998125)


def test_hinge_slope_to_the_flap_by_integrating_its_loading():
    """Glauert: 4 (A0 (1 + cos t) / sin t + sum An sin n t), A0 = 1 - h / pi, An = 2 sin n h / n pi.

    The camber line of a flap of one radian; moment about the hinge h on the flap chord squared.
    """
    ratio = 0.3
    hinge = math.acos(2.0 * ratio - 1.0)
    t = np.linspace(hinge, math.pi, 20_001)
    load = (1.0 - hinge / math.pi) * (1.0 + np.cos(t))
    for n in range(1, 400):
        load += 2.0 * math.sin(n * hinge) / (n * math.pi) * np.sin(n * t) * np.sin(t)
    moment = np.trapezoid(load * (math.cos(hinge) - np.cos(t)), t)
    assert section_hinge_slopes(ratio)[1] == pytest.approx(-moment / ratio**2, rel=1e-4)


def test_flap_effectiveness_at_half_chord():
    # theta = pi / 2: 1 - (pi / 2 - 1) / pi = 1 / 2 + 1 / pi.
    assert flap_effectiveness(0.5) == pytest.approx(0.85 * (0.5 + 1.0 / math.pi))


def test_hinge_slopes_of_a_finite_surface():
    plate, flap = section_hinge_slopes(0.4)
    tau = flap_effectiveness(0.4)
    # A = 4: without sweep 4 / 6 and 2 / 6; at 60 degrees 4 (1/2) / 5 and 1 / 5, and cos^2 = 1/4.
    level = surface_hinge_slopes(TAIL, 0.4, balance=1.0)
    assert level[0] == pytest.approx(0.4 * plate)
    assert level[1] == pytest.approx(0.75 * flap - 0.2 * tau * plate)
    swept = dataclasses.replace(TAIL, sweep=math.pi / 3.0)
    found = surface_hinge_slopes(swept, 0.4, balance=0.5)
    assert found[0] == pytest.approx(0.5 * 0.24 * plate)
    assert found[1] == pytest.approx(0.5 * 0.25 * (0.75 * flap - 0.12 * tau * plate))


def test_span_efficiency_with_sweep():
    # Raymer eq. 12.49 at A = 8: 4.61 (.81494) cos(35)^.15 - 3.1; half-way at 15 degrees.
    assert oswald_factor(8.0, math.radians(35.0)).value == pytest.approx(0.54612, abs=1e-5)
    half = oswald_factor(8.0, math.radians(15.0))
    assert half.value == pytest.approx(0.72399, abs=1e-5)
    assert half.sigma == pytest.approx(0.08 * 0.72399, abs=1e-5)


def test_bands_of_estimates():
    assert within_share(-4.0, 0.25, "rule").sigma == 1.0
    assert within_amount(-4.0, 0.3, "rule").sigma == 0.3
    assert Estimate(-4.0, 1.0, "").relative == 0.25 and Estimate(0.0, 1.0, "").relative == 0.0


def test_inertia_of_radii_by_hand():
    found = estimate_inertia("twin_turboprop", mass=3000.0, span=16.0, length=12.0)
    # Radii 0.22 x 8 m, 0.34 x 6 m and 0.38 x 7 m.
    assert found["roll_inertia"].value == pytest.approx(3000.0 * 1.76**2)
    assert found["pitch_inertia"].value == pytest.approx(3000.0 * 2.04**2)
    assert found["yaw_inertia"].value == pytest.approx(3000.0 * 2.66**2)


def test_lift_slopes_of_the_whole():
    lift = lift_of(SHAPE, 0.0)
    tail = lift_curve_slope(4.0, section_slope_ratio=0.95)
    assert lift.tail == pytest.approx(tail)
    assert lift.tail_share == pytest.approx(tail * 0.9 * 0.32)
    assert lift.wing_body == pytest.approx(surface_lift_slope(WING, 0.0) * 0.998125)
    assert lift.total == pytest.approx(lift.wing_body + tail * 0.288 * (1.0 - 0.348442), rel=1e-6)


def test_moment_of_the_body():
    # Quarter chord 2.7 m behind a nose of 9 m: 0.3, factor .344; w^2 l / (S c) = 20.25 / 12.5.
    assert body_moment_slope(SHAPE) == pytest.approx(0.344 * 20.25 / 12.5)
    # Half-way between the entries .344 and .487.
    back = dataclasses.replace(SHAPE, fuselage=dataclasses.replace(BODY, nose_station=-0.9))
    assert body_moment_slope(back) == pytest.approx(0.4155 * 20.25 / 12.5)


def test_longitudinal_derivatives_by_hand():
    """The sums of Etkin and Reid (1996), ch. 2 and 5, with arm 4 chords and downwash .348442."""
    found = {name: each.value for name, each in estimate_longitudinal(SHAPE, 0.0).items()}
    lift, tau, e = lift_of(SHAPE, 0.0), flap_effectiveness(0.4), 0.348442
    tail, bodied = lift.tail_share, body_moment_slope(SHAPE)
    expected = {
        "CL_0": lift.wing_body * 0.08 - tail * e * 0.08,
        "CL_alpha": lift.total,
        "CL_q": 8.0 * tail,
        "CL_alphadot": 8.0 * tail * e,
        "CL_elevator": tail * tau,
        "CL_stabilizer": tail,
        "Cm_0": -0.04 + 4.0 * tail * e * 0.08,
        "Cm_alpha": bodied - 4.0 * tail * (1.0 - e),
        "Cm_q": -2.2 * 16.0 * tail,
        "Cm_alphadot": -2.0 * 16.0 * tail * e,
        "Cm_elevator": -4.0 * tail * tau,
        "Cm_stabilizer": -4.0 * tail,
    }
    assert found == pytest.approx(expected, rel=1e-5)


def test_lateral_derivatives_by_hand():
    """Strip theory by integration over the half span; the fin by its arm of half a span.

    Source: strip theory, Nelson, Flight Stability and Automatic Control, table 3.4, from memory;
    fin, Etkin and Reid (1996), ch. 3.
    """
    CL = 0.5
    found = {name: each.value for name, each in estimate_lateral(SHAPE, 0.0, CL).items()}
    # The end plate makes the fin 1.6 times as slender; place .4 (-.5 / 2) and .009 A.
    slope = lift_curve_slope(1.6 * 1.5625, section_slope_ratio=0.95)
    assert fin_lift_slope(SHAPE, 0.0) == pytest.approx(slope)
    wash = 0.724 + 3.06 * 0.08 / 2.0 - 0.1 + 0.072
    assert sidewash_and_pressure(SHAPE) == pytest.approx(wash)
    fin, rudder = slope * 0.08 * wash, slope * 0.08 * 0.9 * flap_effectiveness(0.3)
    arm, up = 0.5, 0.1
    a = surface_lift_slope(WING, 0.0)
    half = antisymmetric_lift_slope(WING, 0.0)
    tangent = -0.5 * 0.25 * 0.6 / 1.4
    assert half == pytest.approx(
        lift_curve_slope(4.0, half_chord_tangent=tangent, section_slope_ratio=0.95)
    )
    over = (Y >= 3.0) & (Y <= 4.5)
    aileron = 2.0 * half * flap_effectiveness(0.25) * integral(CHORD * Y, over) / 125.0
    dihedral = 2.0 * a * 0.1 * integral(CHORD * Y) / 125.0
    place = 1.2 * math.sqrt(8.0) * -0.5 * 3.5 / 100.0
    body = 1.3 * BODY.volume / 125.0 * 2.0 / 1.5
    expected = {
        "CY_beta": -fin - 0.2,
        "CY_p": -2.0 * fin * up,
        "CY_r": 2.0 * fin * arm,
        "CY_rudder": rudder,
        "Cl_beta": -dihedral + place - fin * up,
        "Cl_p": -4.0 * half * integral(CHORD * Y**2) / 1250.0,
        "Cl_r": CL / 4.0 + 2.0 * fin * arm * up,
        "Cl_aileron": -aileron,
        "Cl_rudder": rudder * up,
        "Cn_beta": fin * arm - body,
        "Cn_p": -CL / 8.0 + 2.0 * fin * up * arm,
        "Cn_r": -2.0 * fin * arm**2 - 0.01,
        "Cn_aileron": 0.2 * CL * aileron,
        "Cn_rudder": -rudder * arm,
    }
    assert found == pytest.approx(expected, rel=1e-4)
    swept = dataclasses.replace(SHAPE, wing=dataclasses.replace(WING, sweep=math.pi / 4.0))
    steep, flat = (estimate_lateral(swept, 0.0, c)["Cl_beta"].value for c in (0.8, 0.0))
    assert steep - flat == pytest.approx(-0.8 / 4.0)


def test_a_mass_to_one_side_adds_to_roll_and_yaw():
    empty = MassProperties(mass=90.0, roll_inertia=5.0, pitch_inertia=6.0, yaw_inertia=7.0)
    found = mass_properties(Loading(empty, (LoadItem("bag", 10.0, (0.0, 2.0, 0.0)),)))
    assert (found.roll_inertia, found.pitch_inertia, found.yaw_inertia) == (45.0, 6.0, 47.0)
    assert found.mass == 100.0 and found.cg_station == 0.0 and found.cross_inertia == 0.0


def test_margins_of_an_envelope_by_hand():
    # The front edge runs from 1.9 m at 1,100 kg to 2.0 m at 1,300 kg.
    box = Envelope("any", ((1.9, 900.0), (1.9, 1100.0), (2.0, 1300.0), (2.3, 1300.0), (2.3, 900.0)))
    at = MassProperties(
        mass=1200.0, cg_station=2.1, roll_inertia=1.0, pitch_inertia=1.0, yaw_inertia=1.0
    )
    found = box.margins(at)
    assert (found.forward, found.aft, found.mass) == pytest.approx((0.15, 0.2, 100.0))
    heavy = box.margins(dataclasses.replace(at, mass=1400.0))
    assert (heavy.forward, heavy.aft, heavy.mass) == pytest.approx((0.1, 0.2, -100.0))
    assert box.mass_limits() == (900.0, 1300.0)
    empty = dataclasses.replace(at, mass=900.0, cg_station=2.0)
    loading = Loading(empty, (LoadItem("crate", 100.0, (2.0, 0.0, 0.0)),))
    effect = effect_of_move(
        loading, "crate", (3.0, 0.0, 0.0), neutral_point=2.6, chord=1.5, envelopes=(box,)
    )
    assert effect.shift == pytest.approx(0.1)
    assert effect.static_margin_before == pytest.approx(0.4)
    assert effect.static_margin_after == pytest.approx(0.5 / 1.5)
    assert effect.margins["any"].aft == pytest.approx(0.2)


def test_neutral_points_by_hand(commuter):
    # Cm_alpha / CL_alpha = -1.1 / 5.6 of a chord of 1.75 m behind 5.9 m.
    assert neutral_point(commuter) == pytest.approx(5.9 + 1.1 / 5.6 * 1.75)
    assert static_margin(commuter) == pytest.approx(1.1 / 5.6)
    # The elevator floats by -(.1 / .35) (1 - .35) per radian of incidence.
    floats = -0.1 / 0.35 * 0.65
    moment, lift = -1.1 - 1.7 * floats, 5.6 + 0.42 * floats
    assert neutral_point_free(commuter) == pytest.approx(5.9 - moment / lift * 1.75)


def test_each_multiplier_changes_what_it_says(commuter):
    tabbed = dataclasses.replace(
        commuter,
        longitudinal=dataclasses.replace(
            commuter.longitudinal, CL_tab=0.1, Cm_tab=-0.2, tuck=-0.01, fade=0.5
        ),
        pitch_control=dataclasses.replace(commuter.pitch_control, Ch_tab=-0.3),
    )
    drawn = Multipliers(
        lift_slope=1.1, neutral_point=0.05, pitch_damping=1.2, moment_offset=0.01,
        elevator_power=1.3, stabilizer_power=1.4, tab_power=1.5, drag=1.6, induced_drag=1.7,
        thrust=1.8, hinge_alpha=1.9, hinge_elevator=2.0, column_gearing=2.1, roll_yaw=2.2,
        stall_angle=2.3, mass=2.4, pitch_inertia=2.5, cg_station=0.06, thrust_arm=0.4, tuck=-0.02,
        fade=2.6,
    )  # fmt: skip
    found = apply_multipliers(tabbed, drawn)
    for part, factors in {
        "longitudinal": {
            "CL_0": 1.0, "CL_q": 1.0, "CL_alpha": 1.1, "Cm_q": 1.2, "Cm_alphadot": 1.2,
            "CL_elevator": 1.3, "Cm_elevator": 1.3, "CL_stabilizer": 1.4, "Cm_stabilizer": 1.4,
            "CL_tab": 1.5, "Cm_tab": 1.5, "CD_0": 1.6, "CD_lift": 1.7, "stall_angle": 2.3,
            "negative_stall_angle": 2.3, "fade": 2.6,
        },
        "pitch_control": {"Ch_alpha": 1.9, "Ch_elevator": 2.0, "Ch_tab": 1.5, "gearing": 2.1},
        "lateral": {
            "CY_beta": 1.0, "CY_r": 1.0, "Cl_beta": 2.2, "Cl_p": 2.2, "Cl_r": 2.2, "Cn_beta": 2.2,
            "Cl_aileron": 2.2, "Cl_rudder": 2.2, "Cn_p": 2.2, "Cn_r": 2.2, "Cn_rudder": 2.2,
        },
        "mass": {
            "mass": 2.4, "roll_inertia": 2.4, "pitch_inertia": 6.0, "yaw_inertia": 2.4,
            "cross_inertia": 2.4,
        },
    }.items():  # fmt: skip
        for name, factor in factors.items():
            plain = getattr(getattr(tabbed, part), name)
            assert getattr(getattr(found, part), name) == pytest.approx(factor * plain), name
    lon = found.longitudinal
    assert lon.Cm_0 == pytest.approx(0.05) and lon.tuck == pytest.approx(-0.03)
    assert lon.Cm_alpha == pytest.approx(-1.1 * 1.1 - 5.6 * 1.1 * 0.05)
    assert found.mass.cg_station == pytest.approx(5.96)
    assert found.engines[1].rating == pytest.approx(1.8 * 620e3)
    assert found.engines[1].depth == pytest.approx(-0.3 + 0.4 * 1.75)


def test_bands_of_the_derivatives_are_those_that_are_stated():
    """Shares of the value, or amounts; what the methods missed by on the published sets."""
    along = estimate_longitudinal(SHAPE, 0.0)
    shares = {
        "CL_alpha": 0.05, "CL_q": 0.25, "CL_alphadot": 0.3, "CL_elevator": 0.12,
        "CL_stabilizer": 0.08, "Cm_q": 0.15, "Cm_alphadot": 0.25, "Cm_elevator": 0.12,
        "Cm_stabilizer": 0.08,
    }  # fmt: skip
    assert {name: along[name].relative for name in shares} == pytest.approx(shares)
    amounts = {"CL_0": 0.05, "Cm_0": 0.02, "Cm_alpha": 0.04 * along["CL_alpha"].value}
    assert {name: along[name].sigma for name in amounts} == pytest.approx(amounts)
    aside = estimate_lateral(SHAPE, 0.0, 0.5)
    shares = {
        "CY_beta": 0.25, "CY_r": 0.25, "CY_rudder": 0.15, "Cl_p": 0.12, "Cl_r": 0.3,
        "Cl_aileron": 0.15, "Cn_r": 0.2, "Cn_rudder": 0.15,
    }  # fmt: skip
    assert {name: aside[name].relative for name in shares} == pytest.approx(shares)
    amounts = {
        "CY_p": 0.05, "Cl_beta": 0.02, "Cl_rudder": 0.006, "Cn_beta": 0.03, "Cn_p": 0.03,
        "Cn_aileron": 0.003,
    }  # fmt: skip
    assert {name: aside[name].sigma for name in amounts} == pytest.approx(amounts)
    inertia = estimate_inertia("business_jet", mass=5e3, span=14.0, length=14.0)
    assert [each.relative for each in inertia.values()] == pytest.approx([0.25, 0.15, 0.15])


def test_what_is_not_described_has_no_effect():
    """Every number that is left out is nothing, but for those whose meaning is another."""
    forever = math.inf
    others = {
        model.Geometry: {"tail_arm": 1.0},
        model.MassProperties: {},
        model.LongitudinalAerodynamics: {
            "critical_mach": 2.0, "stall_angle": 0.3, "negative_stall_angle": -0.3,
            "stall_width": 0.02, "fast_pressure": forever, "fast_mach": forever, "CL_plate": 0.9,
            "CD_plate": 1.25,
        },
        model.LateralAerodynamics: {},
        model.Engine: {
            "flat_rating": 1.0, "altitude_exponent": 0.7, "propeller_efficiency": 0.85,
            "disc_area": 1.0, "windmill_power": 0.1, "lag": 1.0,
        },
        model.PitchControl: {
            "reversible": True, "gearing": 1.0, "elevator_area": 1.0, "elevator_chord": 1.0,
            "Ch_elevator": -0.5, "elevator_min": -0.5, "elevator_max": 0.5,
            "tail_pressure_ratio": 1.0,
        },
        model.TrimDrive: {"load_moment": 1.0, "stall_moment": forever, "stops": ()},
        model.Limits: {
            "never_exceed_speed": forever, "never_exceed_mach": forever, "load_factor_max": 3.8,
            "load_factor_min": -1.52,
        },
    }  # fmt: skip
    for part, meant in others.items():
        fields = dataclasses.fields(part)
        left_out = {f.name: f.default for f in fields if f.default is not dataclasses.MISSING}
        assert left_out == dict.fromkeys(left_out, 0.0) | meant, part.__name__


def test_values_are_not_changed_once_they_are_made(changeable):
    assert changeable(neutralpoint.airplane) == []
