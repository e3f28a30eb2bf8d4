"""Lift slopes and static stability (authorities/lift_slope.toml and static_stability.toml).

Tolerances: half a unit of the last digit.
"""

import dataclasses
import math
from functools import partial

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


def test_lift_curve_slope_table(authority):
    """Source: USAF DATCOM sec. 4.1.3.2, formula from memory (authorities/lift_slope.toml)."""
    for aspect_ratio, mach, sweep, ratio, slope in authority("lift_slope")["rows"]:
        found = lift_curve_slope(
            aspect_ratio,
            mach=mach,
            half_chord_tangent=math.tan(math.radians(sweep)),
            section_slope_ratio=ratio,
        )
        assert found == pytest.approx(slope, abs=5e-5)


def test_lift_curve_slope_limits():
    # Slender wing pi A / 2; two dimensions 2 pi kappa / beta (Prandtl-Glauert).
    """Source: slender wing, R. T. Jones, NACA Report 835 (1946), and Prandtl-Glauert, from
    memory.
    """
    assert lift_curve_slope(1e-4) == pytest.approx(math.pi * 1e-4 / 2, rel=1e-6)
    wide = lift_curve_slope(1e6, mach=0.6, section_slope_ratio=0.95)
    assert wide == pytest.approx(2 * math.pi * 0.95 / prandtl_glauert(0.6), rel=1e-5)


@pytest.fixture
def results(authority):
    """What the textbook prints."""
    return authority("static_stability")["items"][1]


@pytest.fixture
def inputs(authority):
    """What the textbook starts from."""
    return authority("static_stability")["items"][0]


@pytest.fixture
def chain(inputs):
    """The textbook's airplane, with what is to be changed in its pitch control."""
    return partial(textbook, inputs)


def textbook(inputs, **control) -> Airplane:
    """Anderson's airplane as a model of unit chord; its lift slope is that of wing and body."""
    cg, tail = inputs["cg"], inputs["tail_slope"]
    control = {
        "Ch_alpha": inputs["hinge_alpha"],
        "Ch_elevator": inputs["hinge_elevator"],
        "downwash_alpha": inputs["downwash"],
    } | control
    slope, volume = inputs["wing_body_slope"], inputs["tail_volume"]
    arm = cg - inputs["wing_body_centre"]
    return Airplane(
        name="Anderson, Introduction to Flight, ch. 7",
        geometry=Geometry(wing_area=1.0, mean_chord=1.0, span=1.0, moment_station=cg),
        mass=MassProperties(
            mass=1.0, cg_station=cg, roll_inertia=1.0, pitch_inertia=1.0, yaw_inertia=1.0
        ),
        longitudinal=LongitudinalAerodynamics(
            CL_0=0.0,
            CL_alpha=slope * PER_DEGREE,
            CD_0=0.02,
            CD_lift=0.05,
            Cm_0=moment_at_zero_angle(
                inputs["section_moment"], volume, tail, inputs["tail_down_deg"]
            ),
            Cm_alpha=moment_slope(slope, arm, volume, tail, inputs["downwash"]) * PER_DEGREE,
            Cm_elevator=-volume * inputs["elevator_slope"] * PER_DEGREE,
        ),
        lateral=LateralAerodynamics(
            CY_beta=-0.5, Cl_beta=-0.1, Cl_p=-0.5, Cl_r=0.1, Cn_beta=0.1, Cn_p=-0.05, Cn_r=-0.1
        ),
        engines=(),
        pitch_control=PitchControl(**control),
        trim_drive=TrimDrive(kind="none"),
    )


def test_moment_of_anderson(chain, results):
    """Source: Anderson, Introduction to Flight, ch. 7, worked examples
    (authorities/static_stability.toml).
    """
    lift = chain().longitudinal
    slope = lift.Cm_alpha / PER_DEGREE
    assert slope == pytest.approx(results["moment_slope"], abs=5e-5)
    assert lift.Cm_0 == pytest.approx(results["moment_zero"], abs=5e-4)
    assert -lift.Cm_0 / slope == pytest.approx(results["trim_angle_deg"], abs=0.02)
    moment = lift.Cm_0 + slope * 7.88
    assert moment == pytest.approx(results["moment_at_7_88_deg"], abs=5e-4)


def test_neutral_point_of_anderson(chain, results):
    """Source: Anderson, Introduction to Flight, ch. 7, worked examples
    (authorities/static_stability.toml).
    """
    assert neutral_point(chain()) == pytest.approx(results["neutral_point"], abs=5e-4)
    assert static_margin(chain()) == pytest.approx(results["static_margin"], abs=5e-4)


def test_free_elevator_of_anderson(chain, inputs, results):
    """Source: Anderson, Introduction to Flight, ch. 7, worked examples
    (authorities/static_stability.toml).
    """
    factor = free_elevator_factor(
        inputs["elevator_slope"],
        inputs["tail_slope"],
        inputs["hinge_alpha"],
        inputs["hinge_elevator"],
    )
    assert factor == pytest.approx(results["free_elevator_factor"], abs=5e-4)
    # Stick free: wing-body centre + F V_H (a_t / a)(1 - d epsilon).
    found = neutral_point_free(chain())
    assert found == pytest.approx(results["neutral_point_free"], abs=5e-4)
    assert found - inputs["cg"] == pytest.approx(results["static_margin_free"], abs=5e-4)


def test_irreversible_elevator_does_not_float(chain):
    """Source: common practice, no source: what cannot move does not float."""
    airplane = chain(reversible=False)
    assert neutral_point_free(airplane) == neutral_point(airplane)


def test_moving_the_centre_of_gravity_changes_only_the_margin(chain):
    """Source: definition of the static margin, Anderson, Introduction to Flight, ch. 7."""
    airplane = chain()
    mass = dataclasses.replace(airplane.mass, cg_station=airplane.mass.cg_station + 0.1)
    aft = dataclasses.replace(airplane, mass=mass)
    assert neutral_point(aft) == neutral_point(airplane)
    assert static_margin(airplane) - static_margin(aft) == pytest.approx(0.1)
