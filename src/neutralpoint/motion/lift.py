"""The little of the airplane that turns a load factor into an angle of attack."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import DEGREE, GRAVITY

# Where nobody says how the flaps stood: the share of paths with some, the lift of level flight over
# the largest without flaps between which they come out, and how far full ones lower the angle of
# zero lift. 0.3 and 0.45 are 1.8 and 1.5 times the stall speed without flaps. Analyst's; the shift
# is that of slotted flaps over some 60% of the span, Abbott and Doenhoff, from memory.
FLAPPED = 0.25
FLAPS_FROM, FLAPS_FULL = 0.3, 0.45
FLAP_SHIFT = 8.0 * DEGREE


@dataclass(frozen=True)
class LiftData:
    """Mass and lift line, each with its standard deviation. Angles refer to the pitch datum.

    Attributes:
        mass: Mass at the start of the track, kg.
        wing_area: Reference area, m^2.
        lift_slope: Lift coefficient per radian at low Mach number.
        zero_lift_angle: Angle of attack at zero lift, rad.
        maximum_lift: Largest lift coefficient.
        mass_flow: Fuel burnt, kg/s.
        aspect_ratio: For the growth of the lift slope with Mach number; None leaves it constant.
        mass_sigma: kg.
        lift_slope_sigma: Per radian.
        zero_lift_angle_sigma: rad.
        flaps_open: Whether flaps may have been out in slow flight.
    """

    mass: float
    wing_area: float
    lift_slope: float
    zero_lift_angle: float
    maximum_lift: float
    mass_flow: float = 0.0
    aspect_ratio: float | None = None
    mass_sigma: float = 0.0
    lift_slope_sigma: float = 0.0
    zero_lift_angle_sigma: float = 0.0
    flaps_open: bool = False


def compressible_slope_ratio(mach: Array, aspect_ratio: float) -> Array:
    """Growth of the lift slope of a straight wing with Mach number.

    Args:
        mach: Mach number, any shape; taken as 0.9 beyond it.
        aspect_ratio: Wing aspect ratio.

    Returns:
        Lift slope over its low-speed value.

    Valid: subsonic, before shock stall.
    Source: Helmbold's formula with the Prandtl-Glauert factor, 2 pi A/(2 + sqrt(4 + A^2 beta^2)),
    from memory of USAF DATCOM section 4.1.3.2.
    """
    beta_squared = 1.0 - np.minimum(mach, 0.9) ** 2
    low = 2.0 + np.sqrt(4.0 + aspect_ratio**2)
    return low / (2.0 + np.sqrt(4.0 + aspect_ratio**2 * beta_squared))


@dataclass(frozen=True)
class DrawnLift:
    """One value of the lift data for each sample path, shape (S, 1)."""

    mass: Array
    slope: Array
    zero: Array
    flap: Array  # 0 (up) to 1 (full) in slow flight


def draw_lift(lift: LiftData, rng: np.random.Generator, samples: int) -> DrawnLift:
    """Draw mass and lift line for each path.

    Args:
        lift: Lift data.
        rng: Source of random numbers.
        samples: Number of paths, S.

    Returns:
        Drawn values; mass and slope stay above a tenth of their most likely value.
    """
    normal = rng.standard_normal((3, samples, 1))
    (apart,) = rng.spawn(1)
    flap = np.clip(1.0 - apart.random((samples, 1)) / FLAPPED, 0.0, 1.0)
    mass = lift.mass + lift.mass_sigma * normal[0]
    slope = lift.lift_slope + lift.lift_slope_sigma * normal[1]
    return DrawnLift(
        mass=np.maximum(mass, 0.1 * lift.mass),
        slope=np.maximum(slope, 0.1 * lift.lift_slope),
        zero=lift.zero_lift_angle + lift.zero_lift_angle_sigma * normal[2],
        flap=flap if lift.flaps_open else np.zeros_like(flap),
    )


def angle_of_attack(
    lift: LiftData,
    drawn: DrawnLift,
    *,
    load_factor: Array,
    dynamic_pressure: Array,
    mach: Array,
    elapsed: Array,
) -> tuple[Array, Array]:
    """Lift coefficient and angle of attack that the load factor needs.

    Args:
        lift: Lift data.
        drawn: Values of each path.
        load_factor: Signed normal load factor, shape (S, m).
        dynamic_pressure: Pa, shape (S, m).
        mach: Shape (S, m).
        elapsed: Time since the start of the track, s, shape (m,).

    Returns:
        Lift coefficient and angle of attack in rad, each shape (S, m). The lift line is straight:
        beyond `maximum_lift` the angle is a lower bound.

    Source: C_L = n m g/(q S); the component of thrust across the path is left out (it is below
    2% of the weight for thrust/weight 0.3 at 4 degrees).
    """
    mass = drawn.mass - lift.mass_flow * elapsed
    level = mass * GRAVITY / (dynamic_pressure * lift.wing_area)
    coefficient = load_factor * level
    slope = drawn.slope
    if lift.aspect_ratio is not None:
        slope = slope * compressible_slope_ratio(mach, lift.aspect_ratio)
    ratio = level / lift.maximum_lift
    out = np.clip((ratio - FLAPS_FROM) / (FLAPS_FULL - FLAPS_FROM), 0.0, 1.0)
    return coefficient, drawn.zero - FLAP_SHIFT * drawn.flap * out + coefficient / slope
