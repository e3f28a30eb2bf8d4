"""Physics that a reader can check by hand: one formula each, in closed form.

Nothing of the flight model is in here, so that its results can be held against these.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import GRAVITY


def needed_shift(moment: ArrayLike, weight: ArrayLike, load_factor: ArrayLike) -> Array:
    """Shift of the center of gravity that makes a pitching moment: dx = M / (n W).

    Args:
        moment: Nose up positive, N m, any shape.
        weight: N.
        load_factor: Across the path.

    Returns:
        m, aft positive.

    Source: the lift n W stays where it is, the center of gravity moves dx aft of it: FAA-H-8083-1B,
    chapter 2 (moment = weight times arm).
    Checked against: tests/unit/test_hand_checks.py (its example 4.1).
    """
    return np.asarray(moment, float) / (np.asarray(load_factor, float) * np.asarray(weight, float))


def trim_speed_after_shift(speed: ArrayLike, margin: ArrayLike, shift: ArrayLike) -> Array:
    """Speed at which an untouched airplane settles once its center of gravity has moved.

    At fixed trim the moment at zero lift stays, Cm0 = K CL with the static margin K; so
    CL' / CL = K / (K - dx/c), and V' = V sqrt((K - dx/c) / K).

    Args:
        speed: Trimmed before, m/s, any shape.
        margin: Static margin before, chords.
        shift: Aft positive, chords.

    Returns:
        m/s; NaN where the margin is used up, for then it settles nowhere.

    Source: Cm = Cm0 - K CL = 0 in trim, Etkin and Reid (1996), section 2.3.
    Valid: margin positive; power, flap and Mach number as before.
    Checked against: tests/unit/test_hand_checks.py.
    """
    margin = np.asarray(margin, float)
    left = (margin - np.asarray(shift, float)) / np.where(margin > 0.0, margin, np.nan)
    return np.asarray(speed, float) * np.sqrt(np.where(left > 0.0, left, np.nan))


def trim_speed_on_slope(
    speed: ArrayLike, before: ArrayLike, after: ArrayLike, density_ratio: ArrayLike = 1.0
) -> Array:
    """Speed at which the trimmed lift coefficient carries the airplane on another slope.

    The trim fixes CL, and CL q S = W cos(gamma): V' = V sqrt(cos(gamma') / cos(gamma) rho / rho').

    Args:
        speed: True airspeed before, m/s, any shape.
        before: Path angle before, rad.
        after: Path angle after, rad.
        density_ratio: Density before over density after.

    Returns:
        True airspeed, m/s.

    Source: forces across a steady path, Etkin and Reid (1996), section 2.1.
    Valid: no moment of thrust about the center of gravity.
    Checked against: tests/unit/test_hand_checks.py.
    """
    slopes = np.cos(np.asarray(after, float)) / np.cos(np.asarray(before, float))
    return np.asarray(speed, float) * np.sqrt(slopes * np.asarray(density_ratio, float))


def force_at_speed(force: ArrayLike, speed: ArrayLike, other: ArrayLike) -> Array:
    """Force that holds the same mistrim at another speed: F' = F (V' / V)^2.

    Args:
        force: At `speed`, N, any shape.
        speed: Equivalent airspeed, m/s.
        other: Equivalent airspeed, m/s.

    Returns:
        N.

    Source: hinge moments grow with dynamic pressure, Etkin and Reid (1996), section 2.6.
    Valid: elevator worked by hand, or feel that follows dynamic pressure; springs and bobweight
    add what does not grow.
    Checked against: tests/unit/test_hand_checks.py.
    """
    return np.asarray(force, float) * (np.asarray(other, float) / np.asarray(speed, float)) ** 2


def crossover_speed(force: ArrayLike, speed: ArrayLike, available: ArrayLike) -> Array:
    """Speed beyond which a mistrim takes more than a force: V_x = V sqrt(F_x / F).

    Args:
        force: That holds it at `speed`, N, positive, any shape.
        speed: Equivalent airspeed, m/s.
        available: Force that there is, N.

    Returns:
        Equivalent airspeed, m/s.

    Source: `force_at_speed` solved for the speed.
    Checked against: tests/unit/test_hand_checks.py.
    """
    return np.asarray(speed, float) * np.sqrt(
        np.asarray(available, float) / np.asarray(force, float)
    )


def elevator_crossover(
    speed: ArrayLike, needed: ArrayLike, stop: ArrayLike, per_speed: ArrayLike
) -> Array:
    """Speed at which balancing a mistrim in level flight takes the elevator to its stop.

    The elevator needed is d(V) = d0 + b ((V0/V)^2 - 1): a mistrim takes the same angle at every
    speed, and a stable airplane adds b = K CL0 / Cm_d for the change of lift coefficient.

    Args:
        speed: V0, m/s, any shape.
        needed: Elevator at V0, rad.
        stop: Its stop, rad.
        per_speed: b, rad; negative in a stable airplane.

    Returns:
        m/s; NaN where no speed asks for just that.

    Source: Cm = -K dCL + Cm_i di + Cm_d dd = 0, Etkin and Reid (1996), section 2.4.
    Checked against: tests/unit/test_hand_checks.py.
    """
    room = np.asarray(stop, float) - np.asarray(needed, float)
    square = 1.0 + room / np.asarray(per_speed, float)
    return np.asarray(speed, float) / np.sqrt(np.where(square > 0.0, square, np.nan))


def lanchester_period(speed: ArrayLike) -> Array:
    """Period of the slow exchange of height and speed: T = pi sqrt(2) V / g.

    Args:
        speed: True airspeed, m/s, any shape.

    Returns:
        s.

    Source: Lanchester, Aerodonetics (1908), as in Etkin and Reid (1996), section 6.3: 0.138 s per
    ft/s, 0.453 s per m/s.
    Valid: no drag, fixed angle of attack; real ones are mostly some tenths shorter or longer.
    Checked against: tests/unit/test_hand_checks.py.
    """
    return np.pi * np.sqrt(2.0) * np.asarray(speed, float) / GRAVITY
