"""The diagram of speed and load factor at one weight: maneuvers, gusts and the stall."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.motion.lift import compressible_slope_ratio
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import FOOT, GRAVITY, SEA_LEVEL_DENSITY

# Derived gusts at the cruise and the dive speed below 20,000 ft, and at 50,000 ft: 14 CFR
# 23.333(c)(1), amendment 23-34; the same stood in 25.341 until amendment 25-86.
GUST_CRUISE, GUST_DIVE = (50.0 * FOOT, 25.0 * FOOT), (25.0 * FOOT, 12.5 * FOOT)
GUST_HEIGHTS = (20_000.0 * FOOT, 50_000.0 * FOOT)
POINTS = 120  # speeds at which the lines are drawn


@dataclass(frozen=True)
class Design:
    """The airplane as the diagram needs it, at one weight and height.

    Attributes:
        mass: kg.
        wing_area: m2.
        mean_chord: m.
        aspect_ratio: Of the wing, for the growth of its lift slope with Mach number.
        lift_slope: Per radian at low Mach number.
        lift_highest: Largest lift coefficient, flaps up.
        lift_lowest: The same for negative lift, negative.
        load_highest: Positive limit load factor.
        load_lowest: Negative limit load factor.
        cruise_speed: Design cruise speed, m/s equivalent.
        dive_speed: Design dive speed, m/s equivalent.
        altitude: Of the gusts, m.
        density: Of the air there, kg/m3.
        sound: Speed of sound there, m/s.
    """

    mass: float
    wing_area: float
    mean_chord: float
    aspect_ratio: float
    lift_slope: float
    lift_highest: float
    lift_lowest: float
    load_highest: float
    load_lowest: float
    cruise_speed: float
    dive_speed: float
    altitude: float
    density: float
    sound: float


@dataclass(frozen=True)
class Diagram:
    """Lines over equivalent airspeed, each of shape (n,).

    Attributes:
        speed: m/s equivalent.
        stall: Load factor at the largest lift coefficient.
        stall_inverted: At the lowest one.
        upper: Maneuver envelope, positive.
        lower: Maneuver envelope, negative.
        gust_upper: Gust envelope, positive.
        gust_lower: Gust envelope, negative.
        maneuver_speed: Where the stall line meets the positive limit, m/s equivalent.
    """

    speed: Array
    stall: Array
    stall_inverted: Array
    upper: Array
    lower: Array
    gust_upper: Array
    gust_lower: Array
    maneuver_speed: float


def gust_load(design: Design, speed: Array, gust: Array) -> Array:
    """Change of the load factor that a derived gust makes.

    Args:
        design: Airplane and air.
        speed: m/s equivalent, shape (n,).
        gust: Derived equivalent gust, m/s, shape (n,).

    Returns:
        Load factor, shape (n,).

    Source: 14 CFR 23.341(c), amendment 23-42: n = 1 + Kg Ude V a / (498 W/S), Kg = 0.88 m / (5.3 +
    m), m = 2 (W/S) / (rho c a g); 1/498 is half the density at sea level in slugs, feet and knots.
    Checked against: tests/against/test_limits_passed.py, in the units of the rule.
    """
    loading = design.mass * GRAVITY / design.wing_area
    true = speed * np.sqrt(SEA_LEVEL_DENSITY / design.density)
    slope = design.lift_slope * compressible_slope_ratio(
        np.minimum(true / design.sound, 0.9), design.aspect_ratio
    )
    ratio = 2.0 * loading / (design.density * design.mean_chord * slope * GRAVITY)
    relief = 0.88 * ratio / (5.3 + ratio)
    return relief * SEA_LEVEL_DENSITY * gust * speed * slope / (2.0 * loading)


def _gust_at(design: Design, speed: Array) -> Array:
    """Derived gust by speed: that of the cruise speed up to it, then linearly to the dive speed."""
    cruise, dive = (
        float(np.interp(design.altitude, GUST_HEIGHTS, values))
        for values in (GUST_CRUISE, GUST_DIVE)
    )
    share = np.clip(
        (speed - design.cruise_speed) / (design.dive_speed - design.cruise_speed), 0.0, 1.0
    )
    return cruise + share * (dive - cruise)


def load_diagram(design: Design) -> Diagram:
    """The diagram at one weight.

    Args:
        design: Airplane and air; its dive speed is above its cruise speed.

    Returns:
        Its lines. Between cruise and dive speed the gust envelope is the straight line of the rule.

    Source: 14 CFR 23.333 (b) and (c), amendment 23-34, and 25.333(b): stall lines n = q S CL / W,
    constant limits, negative limit linear from the cruise speed to 0 at the dive speed.
    """
    speed = np.linspace(0.0, design.dive_speed, POINTS)
    weight = design.mass * GRAVITY
    pressure = 0.5 * SEA_LEVEL_DENSITY * speed**2 * design.wing_area / weight
    stall, inverted = pressure * design.lift_highest, pressure * design.lift_lowest
    fade = np.interp(speed, (design.cruise_speed, design.dive_speed), (design.load_lowest, 0.0))
    ends = np.array([design.cruise_speed, design.dive_speed])
    at_ends = gust_load(design, ends, _gust_at(design, ends))
    below = speed <= design.cruise_speed
    gust = np.where(
        below,
        gust_load(design, speed, _gust_at(design, speed)),
        np.interp(speed, ends, at_ends),
    )
    full = 0.5 * SEA_LEVEL_DENSITY * design.wing_area * design.lift_highest
    return Diagram(
        speed=speed,
        stall=stall,
        stall_inverted=inverted,
        upper=np.minimum(stall, design.load_highest),
        lower=np.maximum(inverted, fade),
        gust_upper=1.0 + gust,
        gust_lower=1.0 - gust,
        maneuver_speed=float(np.sqrt(design.load_highest * weight / full)),
    )
