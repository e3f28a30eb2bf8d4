"""Lateral and directional derivatives from geometry, each with a band.

Signs as in `neutralpoint.airplane.model`: right aileron down is positive (rolls left), rudder
trailing edge left is positive (nose left). Bands are analyst's estimates.
"""

from __future__ import annotations

import math

from neutralpoint.airplane.estimate import Estimate, within_amount, within_share
from neutralpoint.airplane.lift import (
    flap_effectiveness,
    lift_curve_slope,
    surface_lift_slope,
)
from neutralpoint.airplane.planform import Planform, Shape

# A fin's effective aspect ratio over its geometric one, for the end plate that fuselage and
# tailplane make: USAF DATCOM sec. 5.3.1.1, from memory, "about 1.6" for a tail on the fuselage.
FIN_ASPECT_FACTOR = 1.6


def fin_lift_slope(shape: Shape, mach: float) -> float:
    """Lift slope of the fin on its own area, per rad.

    Args:
        shape: Geometry.
        mach: Mach number.

    Returns:
        Per rad of sideslip, on fin area.

    Source: Helmbold-DATCOM with the effective aspect ratio of USAF DATCOM sec. 5.3.1.1.
    """
    fin = shape.fin
    tall = Planform(
        area=fin.area,
        span=fin.span * math.sqrt(FIN_ASPECT_FACTOR),
        taper=fin.taper,
        sweep=fin.sweep,
        section_slope_ratio=fin.section_slope_ratio,
    )
    return surface_lift_slope(tall, mach)


def antisymmetric_lift_slope(wing: Planform, mach: float) -> float:
    """Lift slope for loads of opposite sign on the two halves (rolling, ailerons), per rad.

    Each half then works as a wing of half the aspect ratio.

    Args:
        wing: Wing.
        mach: Mach number.

    Returns:
        Per rad.

    Source: analyst's rule; it meets the published Cl_p of three sets within 20%.
    Checked against: tests/against/test_aerodynamics_derivatives.py.
    """
    return lift_curve_slope(
        wing.aspect_ratio / 2.0,
        mach=mach,
        half_chord_tangent=wing.tangent_of_sweep(0.5),
        section_slope_ratio=wing.section_slope_ratio,
    )


def sidewash_and_pressure(shape: Shape) -> float:
    """(1 + d sigma / d beta) times the dynamic-pressure ratio at the fin.

    Args:
        shape: Geometry.

    Returns:
        Factor on the fin's side force.

    Source: USAF DATCOM sec. 5.4.1: 0.724 + 3.06 (S_v/S) / (1 + cos L) + 0.4 z_w/d + 0.009 A, with
        z_w the wing root below the body axis, from memory.
    """
    wing = shape.wing
    place = wing.depth / shape.fuselage.height
    fin = 3.06 * shape.fin_area_ratio / (1.0 + math.cos(wing.sweep))
    return 0.724 + fin + 0.4 * place + 0.009 * wing.aspect_ratio


def estimate_lateral(shape: Shape, mach: float, lift_coefficient: float) -> dict[str, Estimate]:
    """Side force, rolling and yawing moment derivatives.

    Args:
        shape: Geometry; a fin's depth is that of its mean chord.
        mach: Mach number they hold at.
        lift_coefficient: CL they hold at.

    Returns:
        Estimates by field name of `LateralAerodynamics`.

    Source: Etkin and Reid (1996), ch. 3 and 5 (fin); strip theory for the wing (Nelson, Flight
        Stability and Automatic Control, table 3.4, from memory).
    Checked against: tests/against/test_aerodynamics_derivatives.py.
    """
    fin = fin_lift_slope(shape, mach) * shape.fin_area_ratio * sidewash_and_pressure(shape)
    plain_fin = fin_lift_slope(shape, mach) * shape.fin_area_ratio * shape.tail_pressure_ratio
    arm = shape.fin_arm / shape.wing.span
    height = (shape.wing.depth - shape.fin.depth) / shape.wing.span
    rudder = plain_fin * flap_effectiveness(shape.rudder_chord_ratio)
    wing = surface_lift_slope(shape.wing, mach)
    rolling = antisymmetric_lift_slope(shape.wing, mach)
    aileron = _aileron_roll(shape, rolling)
    tail = "Etkin and Reid ch. 3 (fin)"
    return {
        "CY_beta": within_share(-fin - 0.2, 0.25, f"{tail}; body 0.2: analyst's estimate"),
        "CY_p": within_amount(-2.0 * fin * height, 0.05, tail),
        "CY_r": within_share(2.0 * fin * arm, 0.25, tail),
        "CY_rudder": within_share(rudder, 0.15, tail),
        "Cl_beta": within_amount(
            _dihedral_effect(shape, wing, lift_coefficient) - fin * height,
            0.02,
            "strip theory, wing place and sweep; fin",
        ),
        "Cl_p": within_share(_roll_damping(shape.wing, rolling), 0.12, "strip theory"),
        "Cl_r": within_share(
            lift_coefficient / 4.0 + 2.0 * fin * arm * height, 0.3, "strip theory CL/4; fin"
        ),
        "Cl_aileron": within_share(-aileron, 0.15, "strip theory"),
        "Cl_rudder": within_amount(rudder * height, 0.006, tail),
        "Cn_beta": within_amount(
            fin * arm - _body_yaw(shape), 0.03, f"{tail}; body volume, Raymer eq. 16.47"
        ),
        "Cn_p": within_amount(
            -lift_coefficient / 8.0 + 2.0 * fin * height * arm, 0.03, "strip theory CL/8; fin"
        ),
        "Cn_r": within_share(
            -2.0 * fin * arm**2 - 0.01, 0.2, f"{tail}; wing 0.01: analyst's estimate"
        ),
        "Cn_aileron": within_amount(
            0.2 * lift_coefficient * aileron, 0.003, "adverse yaw 0.2 CL Cl_aileron, Nelson table"
        ),
        "Cn_rudder": within_share(-rudder * arm, 0.15, tail),
    }


def _roll_damping(wing: Planform, slope: float) -> float:
    """Strip theory: -(a / 12)(1 + 3 t) / (1 + t), antisymmetric slope a."""
    return -slope / 12.0 * (1.0 + 3.0 * wing.taper) / (1.0 + wing.taper)


def _dihedral_effect(shape: Shape, slope: float, lift_coefficient: float) -> float:
    """Wing: dihedral (strip theory), height on the body, sweep.

    Source: strip theory -(a / 6) G (1 + 2 t) / (1 + t); wing place 1.2 sqrt(A) z_w (h + w) / b^2
        (Raymer eq. 16.43); sweep -CL tan(L) / 4 (Raymer fig. 16.21 rounded); all from memory.
    """
    wing, body = shape.wing, shape.fuselage
    angle = slope / 6.0 * shape.dihedral * (1.0 + 2.0 * wing.taper) / (1.0 + wing.taper)
    place = 1.2 * math.sqrt(wing.aspect_ratio) * wing.depth * (body.height + body.width)
    sweep = lift_coefficient * math.tan(wing.sweep) / 4.0
    return -angle + place / wing.span**2 - sweep


def _body_yaw(shape: Shape) -> float:
    """Destabilising yaw of the body: 1.3 volume / (S b) (height / width)."""
    body = shape.fuselage
    reference = shape.wing.area * shape.wing.span
    return 1.3 * body.volume / reference * body.height / body.width


def _aileron_roll(shape: Shape, slope: float) -> float:
    """Size of Cl_aileron: strip theory over the span of the ailerons.

    Source: (2 a tau / (S b)) times the integral of c y dy (Nelson, eq. 3.57 form, from memory),
        one aileron up and the other down by the same angle.
    """
    wing = shape.wing
    half = wing.span / 2.0

    def moment(fraction: float) -> float:
        y = fraction * half
        return wing.root_chord * (y**2 / 2.0 - (1.0 - wing.taper) / half * y**3 / 3.0)

    swept = moment(shape.aileron_outer) - moment(shape.aileron_inner)
    power = flap_effectiveness(shape.aileron_chord_ratio)
    return 2.0 * slope * power * swept / (wing.area * wing.span)
