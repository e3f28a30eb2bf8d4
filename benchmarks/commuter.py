"""An invented twin turboprop with a moving stabilizer, written by hand: no airplane file needed.

Used by the speed benchmark, which must run where only JAX is installed, and by the tests of the
dynamics. Plausible numbers of a 5 t commuter, analyst's choice; nothing is concluded from them.
"""

from __future__ import annotations

from neutralpoint.airplane import model


def make_commuter() -> model.Airplane:
    """The airplane, in SI."""

    def engine(side):
        return model.Engine(
            kind="turboprop",
            rating=620e3,
            flat_rating=1.3,
            disc_area=4.9,
            windmill_drag=0.15,
            feather_drag=0.03,
            station=4.6,
            side=side,
            depth=-0.3,
        )

    return model.Airplane(
        name="hand-built commuter",
        geometry=model.Geometry(
            wing_area=28.0, mean_chord=1.75, span=16.5, moment_station=5.9, tail_arm=7.4
        ),
        mass=model.MassProperties(
            mass=5200.0,
            cg_station=5.9,
            roll_inertia=2.1e4,
            pitch_inertia=2.9e4,
            yaw_inertia=4.6e4,
            cross_inertia=1.8e3,
        ),
        longitudinal=model.LongitudinalAerodynamics(
            CL_0=0.28,
            CL_alpha=5.6,
            CL_q=7.5,
            CL_alphadot=2.0,
            CL_elevator=0.42,
            CL_stabilizer=0.8,
            CD_0=0.032,
            CD_lift=0.045,
            Cm_0=0.04,
            Cm_alpha=-1.1,
            Cm_q=-24.0,
            Cm_alphadot=-8.0,
            Cm_elevator=-1.7,
            Cm_stabilizer=-3.3,
            compressibility_aspect_ratio=9.7,
            stall_angle=0.27,
            negative_stall_angle=-0.24,
            stall_width=0.05,
            Cm_stall=-0.1,
        ),
        lateral=model.LateralAerodynamics(
            CY_beta=-0.7,
            CY_r=0.4,
            CY_rudder=0.2,
            Cl_beta=-0.11,
            Cl_p=-0.55,
            Cl_r=0.15,
            Cl_aileron=-0.17,
            Cl_rudder=0.015,
            Cn_beta=0.12,
            Cn_p=-0.06,
            Cn_r=-0.17,
            Cn_rudder=-0.09,
        ),
        engines=(engine(-2.6), engine(2.6)),
        pitch_control=model.PitchControl(
            gearing=2.6,
            elevator_area=1.9,
            elevator_chord=0.45,
            Ch_alpha=-0.1,
            Ch_elevator=-0.35,
            elevator_min=-0.35,
            elevator_max=0.26,
            bobweight=30.0,
            downwash_alpha=0.35,
        ),
        trim_drive=model.TrimDrive(
            kind="stabilizer", travel_min=-0.14, travel_max=0.07, rate=0.014
        ),
    )
