"""Moments of inertia from radii of gyration of like airplanes."""

from __future__ import annotations

from typing import Literal

from neutralpoint.airplane.estimate import Estimate, within_share

AirplaneClass = Literal["single_piston", "twin_piston", "twin_turboprop", "business_jet"]

# Raymer, Aircraft Design: A Conceptual Approach, table 16.1, from memory: radii of gyration over
# half span (roll), half length (pitch) and half of (span + length) / 2 (yaw).
RADII: dict[AirplaneClass, tuple[float, float, float]] = {
    "single_piston": (0.25, 0.38, 0.39),
    "twin_piston": (0.34, 0.29, 0.44),
    "twin_turboprop": (0.22, 0.34, 0.38),
    "business_jet": (0.30, 0.30, 0.43),
}


def estimate_inertia(
    kind: AirplaneClass, *, mass: float, span: float, length: float
) -> dict[str, Estimate]:
    """Moments of inertia of an airplane of a class, by field name of `MassProperties`.

    Args:
        kind: Class of airplane.
        mass: kg.
        span: m.
        length: Of the fuselage, m.

    Returns:
        Roll, pitch and yaw inertia, kg m2.

    Source: Raymer eq. 16.52 to 16.54 with table 16.1, from memory; band: analyst's estimate.
    Checked against: tests/unit/test_airplane_estimates.py (light airplane, Nelson app. B). Tip
    tanks are outside it.
    """
    roll, pitch, yaw = RADII[kind]
    method = f"radii of gyration of class {kind}, Raymer table 16.1"
    return {
        "roll_inertia": within_share(mass * (roll * span / 2.0) ** 2, 0.25, method),
        "pitch_inertia": within_share(mass * (pitch * length / 2.0) ** 2, 0.15, method),
        "yaw_inertia": within_share(mass * (yaw * (span + length) / 4.0) ** 2, 0.15, method),
    }
