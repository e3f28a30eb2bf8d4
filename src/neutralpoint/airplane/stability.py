"""Static stability: tail contributions, neutral points with fixed and free elevator, margins."""

from __future__ import annotations

from neutralpoint.airplane.model import Airplane, Scalar


def moment_slope(
    wing_body_slope: Scalar,
    wing_body_arm: Scalar,
    tail_volume: Scalar,
    tail_slope: Scalar,
    downwash_alpha: Scalar,
) -> Scalar:
    """Pitching-moment slope of wing, body and tail about a point.

    Args:
        wing_body_slope: Lift slope of wing and body, per rad.
        wing_body_arm: The point behind their aerodynamic center, chords.
        tail_volume: Tail volume about the point.
        tail_slope: Tail lift slope with its dynamic-pressure ratio, per rad.
        downwash_alpha: Change of downwash with angle of attack.

    Returns:
        d Cm / d alpha in the unit of the slopes.

    Source: Etkin and Reid (1996), eq. 2.2,21; Anderson, Introduction to Flight, eq. 7.26.
    Checked against: tests/against/test_aerodynamics_static.py (table 10.1).
    """
    return wing_body_slope * wing_body_arm - tail_volume * tail_slope * (1.0 - downwash_alpha)


def moment_at_zero_angle(
    section_moment: Scalar, tail_volume: Scalar, tail_slope: Scalar, tail_down_angle: Scalar
) -> Scalar:
    """Pitching-moment coefficient at zero angle of attack.

    Args:
        section_moment: Of wing and body about their aerodynamic center.
        tail_volume: About the point the moment is taken at.
        tail_slope: Tail lift slope with its dynamic-pressure ratio, per unit angle.
        tail_down_angle: Nose-down angle of the tail to the air: setting plus downwash at zero
            angle of attack, same unit as the slope.

    Returns:
        Cm at zero angle of attack.

    Source: Etkin and Reid (1996), eq. 2.2,22; Anderson, Introduction to Flight, eq. 7.27.
    Checked against: tests/against/test_aerodynamics_static.py (table 10.1).
    """
    return section_moment + tail_volume * tail_slope * tail_down_angle


def neutral_point(airplane: Airplane) -> Scalar:
    """Station of the stick-fixed neutral point, m aft of the datum.

    Args:
        airplane: The airplane.

    Returns:
        m aft of the datum.

    Valid: Below the stall.
    Source: Etkin and Reid (1996), eq. 2.3,5: d Cm / d CL is minus the distance to it, in chords.
    Checked against: tests/against/test_aerodynamics_static.py (table 10.1).
    """
    lift = airplane.longitudinal
    return _point_behind(airplane, lift.Cm_alpha, lift.CL_alpha)


def neutral_point_free(airplane: Airplane) -> Scalar:
    """Station of the stick-free neutral point, m: the elevator floats until its moment is zero.

    Springs and bobweight, whose force does not grow with speed, are left out. An irreversible
    control does not float: the two neutral points are one.

    Args:
        airplane: The airplane.

    Returns:
        m aft of the datum.

    Source: Etkin and Reid (1996), sec. 2.6: floating angle -(Ch_alpha / Ch_elevator) a_tail.
    Checked against: tests/against/test_aerodynamics_static.py (table 10.1).
    """
    control, lift = airplane.pitch_control, airplane.longitudinal
    if not control.reversible:
        return neutral_point(airplane)
    float_per_alpha = -control.Ch_alpha / control.Ch_elevator * (1.0 - control.downwash_alpha)
    return _point_behind(
        airplane,
        lift.Cm_alpha + lift.Cm_elevator * float_per_alpha,
        lift.CL_alpha + lift.CL_elevator * float_per_alpha,
    )


def _point_behind(airplane: Airplane, moment: Scalar, lift: Scalar) -> Scalar:
    geometry = airplane.geometry
    return geometry.moment_station - moment / lift * geometry.mean_chord


def static_margin(airplane: Airplane) -> Scalar:
    """Stick-fixed static margin, fraction of the mean chord; positive is stable.

    Args:
        airplane: The airplane, loaded.

    Returns:
        Chords; positive is stable.

    Source: (h_n - h), Etkin and Reid (1996), eq. 2.3,5.
    """
    distance = neutral_point(airplane) - airplane.mass.cg_station
    return distance / airplane.geometry.mean_chord


def free_elevator_factor(
    elevator_slope: Scalar, tail_slope: Scalar, hinge_alpha: Scalar, hinge_elevator: Scalar
) -> Scalar:
    """What freeing the elevator leaves of the tail's lift slope.

    Args:
        elevator_slope: Tail lift per elevator angle.
        tail_slope: Tail lift per angle of attack, same unit.
        hinge_alpha: Hinge moment per angle of attack of the tail.
        hinge_elevator: Hinge moment per elevator angle, same unit.

    Returns:
        Share that is left, 1 for an elevator that does not float.

    Source: 1 - (a_e / a_t)(Ch_alpha / Ch_elevator), Etkin and Reid (1996), eq. 2.6,4; Anderson,
        Introduction to Flight, eq. 7.48.
    Checked against: tests/against/test_aerodynamics_static.py (table 10.1).
    """
    return 1.0 - elevator_slope / tail_slope * hinge_alpha / hinge_elevator
