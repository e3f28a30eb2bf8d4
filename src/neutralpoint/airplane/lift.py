"""Lift slope, compressibility, downwash and the power of a flap, from published handbook methods.

"From memory" marks a formula whose primary document was not open when it was written; the checks
named beside it recompute published numbers.
"""

from __future__ import annotations

import math

import numpy as np

from neutralpoint.airplane.planform import Planform
from neutralpoint.errors import NeutralPointError


def prandtl_glauert(mach: float) -> float:
    """The factor beta = sqrt(1 - M^2) that lift slopes are divided by in two dimensions.

    Args:
        mach: Free stream.

    Returns:
        beta, 0 to 1.

    Raises:
        NeutralPointError: Mach number at or above 1, or negative.

    Valid: Subcritical flow.
    Source: Glauert, Proc. Roy. Soc. A 118 (1928) 113, from memory.
    """
    if not 0.0 <= mach < 1.0:
        raise NeutralPointError(
            "quantity-range",
            f"Mach {mach:.3f} was given to a subsonic estimate.",
            where="mach",
            hint="Give a Mach number from 0 to below 1.",
        )
    return math.sqrt(1.0 - mach**2)


def lift_curve_slope(
    aspect_ratio: float,
    *,
    mach: float = 0.0,
    half_chord_tangent: float = 0.0,
    section_slope_ratio: float = 1.0,
) -> float:
    """Lift-curve slope of a finite wing, per rad.

    Args:
        aspect_ratio: A.
        mach: Free stream.
        half_chord_tangent: Tangent of the sweep of the half-chord line.
        section_slope_ratio: Section slope over 2 pi (kappa).

    Returns:
        Per rad.

    Valid: Subcritical, attached flow, any aspect ratio.
    Source: Helmbold, Luftwissen 9 (1942), as extended by Polhamus and given in USAF DATCOM
        sec. 4.1.3.2: 2 pi A / (2 + sqrt(4 + (A beta / kappa)^2 (1 + tan^2 L / beta^2))), from
        memory.
    Checked against: tests/against/test_aerodynamics_static.py (table 10.3).
    """
    beta = prandtl_glauert(mach)
    stretched = (aspect_ratio / section_slope_ratio) ** 2 * (beta**2 + half_chord_tangent**2)
    return 2.0 * math.pi * aspect_ratio / (2.0 + math.sqrt(4.0 + stretched))


def surface_lift_slope(surface: Planform, mach: float) -> float:
    """Lift-curve slope of a surface on its own area, per rad.

    Args:
        surface: The surface.
        mach: Mach number.

    Returns:
        Per rad, on its own area.

    Source: `lift_curve_slope`.
    """
    return lift_curve_slope(
        surface.aspect_ratio,
        mach=mach,
        half_chord_tangent=surface.tangent_of_sweep(0.5),
        section_slope_ratio=surface.section_slope_ratio,
    )


def body_lift_factor(width: float, span: float) -> float:
    """What the fuselage makes of the wing's lift slope.

    Args:
        width: Of the fuselage, m.
        span: Of the wing, m.

    Returns:
        Factor on the wing's slope.

    Valid: Width below half the span.
    Source: Roskam, Airplane Design VI, eq. 8.43, after USAF DATCOM sec. 4.3.1.2:
        1 + 0.025 (d/b) - 0.25 (d/b)^2, from memory.
    """
    ratio = width / span
    return 1.0 + 0.025 * ratio - 0.25 * ratio**2


def downwash_gradient(wing: Planform, tail: Planform, mach: float) -> float:
    """Change of downwash at the tail with angle of attack.

    Args:
        wing: Wing.
        tail: Horizontal tail.
        mach: Mach number.

    Returns:
        d epsilon / d alpha.

    Valid: Straight-tapered wings, low angle of attack, propellers at idle.
    Source: USAF DATCOM sec. 4.4.1, method 3: 4.44 (K_A K_t K_h sqrt(cos L))^1.19, scaled with
        Mach as the wing's lift slope, from memory.
    Checked against: tests/against/test_aerodynamics_derivatives.py (ratio of Cm_alphadot to Cm_q
        of the published sets).
    """
    aspect_ratio, span = wing.aspect_ratio, wing.span
    arm = tail.aerodynamic_station - wing.aerodynamic_station
    by_aspect = 1.0 / aspect_ratio - 1.0 / (1.0 + aspect_ratio**1.7)
    by_taper = (10.0 - 3.0 * wing.taper) / 7.0
    by_place = (1.0 - abs(wing.depth - tail.depth) / span) / (2.0 * arm / span) ** (1.0 / 3.0)
    slow = 4.44 * (by_aspect * by_taper * by_place * math.sqrt(math.cos(wing.sweep))) ** 1.19
    return slow * surface_lift_slope(wing, mach) / surface_lift_slope(wing, 0.0)


def _hinge_angle(chord_ratio: float) -> float:
    """Glauert angle of the hinge of a flap of chord ratio E: cos theta = 2 E - 1."""
    return math.acos(2.0 * chord_ratio - 1.0)


def flap_effectiveness(chord_ratio: float) -> float:
    """Angle of attack worth of one radian of plain flap (tau), in viscous flow.

    Args:
        chord_ratio: Flap chord aft of the hinge over the whole chord.

    Returns:
        d alpha / d flap.

    Valid: Deflections to about 15 degrees, sealed gap.
    Source: thin-airfoil theory (Glauert, R&M 1095, 1927), 1 - (theta - sin theta) / pi, times
        0.85 for viscosity; the factor is analyst's, from memory of the ratio of measured to
        theoretical effectiveness in USAF DATCOM fig. 6.1.1.1-40 at chord ratios 0.2 to 0.5.
    """
    angle = _hinge_angle(chord_ratio)
    return 0.85 * (1.0 - (angle - math.sin(angle)) / math.pi)


def section_hinge_slopes(chord_ratio: float) -> tuple[float, float]:
    """Hinge-moment slopes of a plain flap without balance: per rad of incidence and of flap.

    On flap chord squared; negative because lift on the flap pushes its trailing edge up.

    Args:
        chord_ratio: Flap chord aft of the hinge over the whole chord.

    Returns:
        Per rad of incidence, per rad of flap.

    Valid: Two dimensions, no viscosity: real slopes are smaller.
    Source: thin-airfoil theory (Glauert, R&M 1095, 1927): the loading
        4 (A_0 (1 + cos t) / sin t + sum A_n sin n t) integrated about the hinge.
    Checked against: tests/unit/test_airplane_estimates.py (flap of the whole chord: pi / 2).
    """
    hinge = _hinge_angle(chord_ratio)
    cosine, sine, aft = math.cos(hinge), math.sin(hinge), math.pi - hinge
    plate = aft * (cosine - 0.5) + sine - 0.5 * sine * cosine
    order = np.arange(1, 2001)
    weight = _sine_moments(order, hinge)
    bend = float(np.sum(2.0 * np.sin(order * hinge) / (order * math.pi) * weight))
    flap = aft / math.pi * plate + bend
    return -plate / chord_ratio**2, -flap / chord_ratio**2


def _sine_moments(order: np.ndarray, hinge: float) -> np.ndarray:
    """Integrals of sin(n t) (cos hinge - cos t) sin t from the hinge to pi, one per order n."""

    def cosines(k: np.ndarray) -> np.ndarray:
        """Integral of cos(k t) from the hinge to pi."""
        safe = np.where(k == 0, 1, k)
        return np.where(k == 0, math.pi - hinge, -np.sin(safe * hinge) / safe)

    direct = 0.5 * (cosines(order - 1) - cosines(order + 1))
    turned = 0.25 * (cosines(order - 2) - cosines(order + 2))
    return math.cos(hinge) * direct - turned


def surface_hinge_slopes(
    surface: Planform, chord_ratio: float, *, balance: float
) -> tuple[float, float]:
    """Hinge-moment slopes Ch_alpha and Ch_elevator of a control on a finite surface, per rad.

    Args:
        surface: The tail.
        chord_ratio: Control chord aft of the hinge over surface chord.
        balance: What aerodynamic balance (nose overhang, horn) leaves of the slopes: 1 = plain,
            about 0.5 with a nose overhang of a third of the control chord.

    Returns:
        Ch_alpha, Ch_elevator, per rad.

    Valid: Small deflections; leaves a band of about 30%.
    Source: USAF DATCOM sec. 6.1.6.1 and 6.1.6.2, lifting-line reduction by A cos L / (A + 2 cos L),
        from memory; viscous factors 0.6 (incidence) and 0.75 (flap) are analyst's, from the
        usual ratio of measured to theoretical slopes.
    """
    plate, flap = section_hinge_slopes(chord_ratio)
    plate, flap = 0.6 * plate, 0.75 * flap
    cosine, aspect_ratio = math.cos(surface.sweep), surface.aspect_ratio
    finite = aspect_ratio + 2.0 * cosine
    by_incidence = aspect_ratio * cosine / finite * plate
    relief = flap_effectiveness(chord_ratio) * plate * 2.0 * cosine / finite
    return balance * by_incidence, balance * cosine**2 * (flap - relief)
