"""Lift slopes and static stability against published chains.

Sources: table 10.3 (Helmbold-DATCOM formula, evaluated) and Anderson, Introduction to Flight,
ch. 7 worked examples (inputs from memory, every line recomputed). Tolerances: half a unit of the
last digit.
"""

import dataclasses
import math

import pytest

from neutralpoint.airplane.lift import lift_curve_slope, prandtl_glauert
from neutralpoint.airplane.model import (
    Airplane,
    Geometry,
    LateralAerodynamics,
    LongitudinalAerodynamics,
    MassProperties,
    PitchControl,
    TrimDrive,
)
from neutralpoint.airplane.stability import (
    free_elevator_factor,
    moment_at_zero_angle,
    moment_slope,
    neutral_point,
    neutral_point_free,
    static_margin,
)

PER_DEGREE = 180.0 / math.pi


@pytest.mark.parametrize(
    ("aspect_ratio", "mach", "sweep", "ratio", "slope"),
    [
        (4, 0.0, 0, 1.0, 3.8832),
        (6, 0.0, 0, 1.0, 4.5287),
        (8, 0.0, 0, 1.0, 4.9058),
        (10, 0.0, 0, 1.0, 5.1510),
        (7, 0.4, 0, 0.95, 4.8636),
        (7, 0.6, 25, 0.95, 4.8279),
        (3, 0.0, 45, 0.95, 2.7345),
    ],
)
def test_lift_curve_slope_table(aspect_ratio, mach, sweep, ratio, slope):
    found = lift_curve_slope(
        aspect_ratio,
        mach=mach,
        half_chord_tangent=math.tan(math.radians(sweep)),
        section_slope_ratio=ratio,
    )
    assert found == pytest.approx(slope, abs=5e-5)


def test_lift_curve_slope_limits():
    # Slender wing pi A / 2; two dimensions 2 pi kappa / beta (Prandtl-Glauert).
    assert lift_curve_slope(1e-4) == pytest.approx(math.pi * 1e-4 / 2, rel=1e-6)
    wide = lift_curve_slope(1e6, mach=0.6, section_slope_ratio=0.95)
    assert wide == pytest.approx(2 * math.pi * 0.95 / prandtl_glauert(0.6), rel=1e-5)


# Anderson's chain. h is the centre of gravity, V_H is taken about it; slopes per degree.
SLOPE, TAIL, DOWNWASH, H, H_AC, VOLUME = 0.08, 0.10, 0.35, 0.35, 0.24, 0.34


def chain(**control) -> Airplane:
    """Anderson's airplane as a model; its lift slope is that of wing and body."""
    tail_free = {"Ch_alpha": -0.008, "Ch_elevator": -0.013, "downwash_alpha": DOWNWASH}
    return Airplane(
        name="Anderson, Introduction to Flight, ch. 7",
        geometry=Geometry(wing_area=0.1, mean_chord=0.1, span=1.0, moment_station=0.1 * H),
        mass=MassProperties(
            mass=1.0, cg_station=0.1 * H, roll_inertia=1.0, pitch_inertia=1.0, yaw_inertia=1.0
        ),
        longitudinal=LongitudinalAerodynamics(
            CL_0=0.0,
            CL_alpha=SLOPE * PER_DEGREE,
            CD_0=0.02,
            CD_lift=0.05,
            Cm_0=moment_at_zero_angle(-0.032, VOLUME, TAIL, 2.7),
            Cm_alpha=moment_slope(SLOPE, H - H_AC, VOLUME, TAIL, DOWNWASH) * PER_DEGREE,
            Cm_elevator=-VOLUME * 0.04 * PER_DEGREE,
        ),
        lateral=LateralAerodynamics(
            CY_beta=-0.5, Cl_beta=-0.1, Cl_p=-0.5, Cl_r=0.1, Cn_beta=0.1, Cn_p=-0.05, Cn_r=-0.1
        ),
        engines=(),
        pitch_control=PitchControl(**(tail_free | control)),
        trim_drive=TrimDrive(kind="none"),
    )


def test_moment_of_anderson():
    lift = chain().longitudinal
    assert lift.Cm_alpha / PER_DEGREE == pytest.approx(-0.0133, abs=5e-5)
    assert lift.Cm_0 == pytest.approx(0.0598, abs=5e-4)
    assert -lift.Cm_0 / lift.Cm_alpha * PER_DEGREE == pytest.approx(4.5, abs=0.02)
    assert lift.Cm_0 + lift.Cm_alpha * 7.88 / PER_DEGREE == pytest.approx(-0.045, abs=5e-4)


def test_neutral_point_of_anderson():
    assert neutral_point(chain()) / 0.1 == pytest.approx(0.516, abs=5e-4)
    assert static_margin(chain()) == pytest.approx(0.166, abs=5e-4)


def test_free_elevator_of_anderson():
    factor = free_elevator_factor(0.04, TAIL, -0.008, -0.013)
    assert factor == pytest.approx(0.754, abs=5e-4)
    # Stick free, Anderson: h_ac + F V_H (a_t / a)(1 - d epsilon) = 0.448, margin 0.098.
    assert neutral_point_free(chain()) / 0.1 == pytest.approx(0.448, abs=5e-4)
    assert neutral_point_free(chain()) / 0.1 - H == pytest.approx(0.098, abs=5e-4)


def test_irreversible_elevator_does_not_float():
    airplane = chain(reversible=False)
    assert neutral_point_free(airplane) == neutral_point(airplane)


def test_moving_the_centre_of_gravity_changes_only_the_margin():
    airplane = chain()
    mass = dataclasses.replace(airplane.mass, cg_station=0.045)
    aft = dataclasses.replace(airplane, mass=mass)
    assert neutral_point(aft) == neutral_point(airplane)
    assert static_margin(airplane) - static_margin(aft) == pytest.approx(0.1)
