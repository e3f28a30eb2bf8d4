"""Longitudinal derivatives from geometry, each with a band.

All at the quarter-chord point of the wing's mean chord, in the notation of
`LongitudinalAerodynamics`. Bands are analyst's: what the same methods missed by on the published
sets in tests/against/test_aerodynamics_derivatives.py, rounded up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.airplane.estimate import Estimate, within_amount, within_share
from neutralpoint.airplane.lift import (
    body_lift_factor,
    downwash_gradient,
    flap_effectiveness,
    surface_lift_slope,
)
from neutralpoint.airplane.planform import Shape
from neutralpoint.airplane.stability import moment_at_zero_angle, moment_slope

# Share of the pitch damping that wing and body add to the tail's: Etkin and Reid (1996), sec. 5.4,
# "about 10 percent".
WING_SHARE_OF_DAMPING = 1.10

# NACA TR 711 (Gilruth and White, 1941), from memory: pitching-moment factor of a fuselage, per
# rad, against the place of the wing's root quarter chord as a fraction of body length.
_BODY_PLACE = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7)
_BODY_FACTOR = (0.115, 0.172, 0.344, 0.487, 0.688, 0.888, 1.146)


@dataclass(frozen=True)
class Lift:
    """Lift slopes that several derivatives share.

    Args:
        wing_body: Per rad, on wing area.
        tail: Per rad, on tail area.
        downwash: d epsilon / d alpha.
        tail_share: Tail lift slope on wing area, with the tail's dynamic pressure, per rad.
    """

    wing_body: float
    tail: float
    downwash: float
    tail_share: float

    @property
    def total(self) -> float:
        """Lift slope of the airplane, per rad.

        Source: Etkin and Reid (1996), eq. 2.2,17.
        """
        return self.wing_body + self.tail_share * (1.0 - self.downwash)


def lift_of(shape: Shape, mach: float) -> Lift:
    """Lift slopes of wing with body, tail, and downwash.

    Args:
        shape: Geometry.
        mach: Mach number the derivatives are wanted at.

    Returns:
        Slopes and downwash.

    Source: `surface_lift_slope`, `body_lift_factor` and `downwash_gradient`.
    """
    wing = surface_lift_slope(shape.wing, mach)
    tail = surface_lift_slope(shape.tail, mach)
    return Lift(
        wing * body_lift_factor(shape.fuselage.width, shape.wing.span),
        tail,
        downwash_gradient(shape.wing, shape.tail, mach),
        tail * shape.tail_pressure_ratio * shape.tail_area_ratio,
    )


def body_moment_slope(shape: Shape) -> float:
    """Pitching-moment slope of the fuselage, per rad: positive, it destabilises.

    Args:
        shape: Geometry.

    Returns:
        Per rad, on wing area and mean chord.

    Valid: Ordinary fuselages; nacelles not counted.
    Source: NACA TR 711, Cm_alpha = K w^2 l / (S c), from memory.
    """
    body = shape.fuselage
    place = (shape.wing.aerodynamic_station - body.nose_station) / body.length
    factor = float(np.interp(place, _BODY_PLACE, _BODY_FACTOR))
    return factor * body.width**2 * body.length / (shape.wing.area * shape.wing.mean_chord)


def estimate_longitudinal(shape: Shape, mach: float) -> dict[str, Estimate]:
    """Lift and moment derivatives of the whole airplane.

    Args:
        shape: Geometry.
        mach: Mach number they hold at.

    Returns:
        Estimates by field name of `LongitudinalAerodynamics`.

    Source: Etkin and Reid (1996), ch. 2 (tail contribution) and ch. 5 (rates).
    Checked against: tests/against/test_aerodynamics_derivatives.py.
    """
    lift = lift_of(shape, mach)
    arm = shape.tail_arm / shape.wing.mean_chord
    tail_moment = lift.tail_share * arm
    elevator = flap_effectiveness(shape.elevator_chord_ratio)
    tail_slope = lift.tail * shape.tail_pressure_ratio
    downwash_0 = zero_alpha_downwash(shape, lift)
    wing_angle = shape.wing_incidence - shape.zero_lift_angle
    return {
        "CL_0": within_amount(
            lift.wing_body * wing_angle - lift.tail_share * downwash_0, 0.05, "wing setting"
        ),
        "CL_alpha": within_share(lift.total, 0.05, "Helmbold-DATCOM, wing, body and tail"),
        "CL_q": within_share(2.0 * tail_moment, 0.25, "Etkin and Reid eq. 5.4,2 (tail)"),
        "CL_alphadot": within_share(
            2.0 * tail_moment * lift.downwash, 0.30, "Etkin and Reid eq. 5.5,3 (downwash lag)"
        ),
        "CL_elevator": within_share(lift.tail_share * elevator, 0.12, "thin airfoil, 0.85"),
        "CL_stabilizer": within_share(lift.tail_share, 0.08, "Helmbold-DATCOM, tail"),
        "Cm_0": within_amount(
            float(
                moment_at_zero_angle(
                    shape.section_moment, shape.tail_volume, tail_slope, downwash_0
                )
            ),
            0.02,
            "section moment, tail downwash",
        ),
        "Cm_alpha": within_amount(
            float(
                moment_slope(
                    lift.wing_body,
                    body_moment_slope(shape) / lift.wing_body,
                    shape.tail_volume,
                    tail_slope,
                    lift.downwash,
                )
            ),
            0.04 * lift.total,
            "tail volume and NACA TR 711 (sigma 4% of the chord in the neutral point)",
        ),
        "Cm_q": within_share(
            -2.0 * WING_SHARE_OF_DAMPING * tail_moment * arm, 0.15, "Etkin and Reid eq. 5.4,5"
        ),
        "Cm_alphadot": within_share(
            -2.0 * tail_moment * arm * lift.downwash, 0.25, "Etkin and Reid eq. 5.5,6"
        ),
        "Cm_elevator": within_share(-tail_moment * elevator, 0.12, "thin airfoil, 0.85"),
        "Cm_stabilizer": within_share(-tail_moment, 0.08, "Helmbold-DATCOM, tail"),
    }


def zero_alpha_downwash(shape: Shape, lift: Lift) -> float:
    """Downwash at the tail when the datum line meets the air at zero angle, rad.

    Args:
        shape: Geometry.
        lift: Of `lift_of`.

    Returns:
        rad.

    Source: linear downwash in the angle from the wing's zero-lift line.
    """
    return lift.downwash * (shape.wing_incidence - shape.zero_lift_angle)


def induced_drag_factor(aspect_ratio: float, oswald: float) -> float:
    """CD_lift of CD = CD_0 + CD_lift CL^2.

    Args:
        aspect_ratio: Of the wing.
        oswald: Span efficiency of the whole airplane.

    Returns:
        CD_lift.

    Source: 1 / (pi A e), lifting-line theory with Oswald's factor (NACA TR 408, 1932).
    """
    return 1.0 / (np.pi * aspect_ratio * oswald)


def oswald_factor(aspect_ratio: float, quarter_chord_sweep: float) -> Estimate:
    """Oswald's span efficiency of the airplane.

    Args:
        aspect_ratio: Of the wing.
        quarter_chord_sweep: rad.

    Returns:
        The factor with its band.

    Valid: Aspect ratios 4 to 13; swept form from 30 degrees, linear between.
    Source: Raymer, Aircraft Design, eq. 12.48 and 12.49 (straight: 1.78 (1 - 0.045 A^0.68) - 0.64;
        swept: 4.61 (1 - 0.045 A^0.68) cos(L)^0.15 - 3.1), from memory.
    """
    base = 1.0 - 0.045 * aspect_ratio**0.68
    straight = 1.78 * base - 0.64
    swept = 4.61 * base * np.cos(quarter_chord_sweep) ** 0.15 - 3.1
    share = float(np.clip(quarter_chord_sweep / np.radians(30.0), 0.0, 1.0))
    return within_share((1.0 - share) * straight + share * swept, 0.08, "Raymer eq. 12.48, 12.49")
