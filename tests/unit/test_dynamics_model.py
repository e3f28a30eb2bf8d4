"""The airplane is a pytree: batched by leaves, changed by multipliers."""

import jax

import neutralpoint.dynamics  # noqa: F401 - makes pytrees of the airplane
from neutralpoint.airplane import model


def make_airplane() -> model.Airplane:
    return model.Airplane(
        name="test",
        geometry=model.Geometry(wing_area=20.0, mean_chord=1.5, span=13.0),
        mass=model.MassProperties(
            mass=4000.0, roll_inertia=1e4, pitch_inertia=2e4, yaw_inertia=3e4
        ),
        longitudinal=model.LongitudinalAerodynamics(
            CL_0=0.2, CL_alpha=5.0, CD_0=0.03, CD_lift=0.05, Cm_0=0.05, Cm_alpha=-1.0
        ),
        lateral=model.LateralAerodynamics(
            CY_beta=-0.5, Cl_beta=-0.1, Cl_p=-0.5, Cl_r=0.1, Cn_beta=0.1, Cn_p=-0.05, Cn_r=-0.1
        ),
        engines=(model.Engine(kind="turbofan", rating=9e3),),
        pitch_control=model.PitchControl(),
        trim_drive=model.TrimDrive(kind="tab"),
    )


def test_default_multipliers_change_nothing():
    airplane = make_airplane()
    same = model.apply_multipliers(airplane, model.Multipliers())
    assert jax.tree.structure(same) == jax.tree.structure(airplane)
    assert jax.tree.leaves(same) == jax.tree.leaves(airplane)


def test_neutral_point_moves_by_the_offset():
    airplane = make_airplane()
    moved = model.apply_multipliers(airplane, model.Multipliers(neutral_point=0.03))
    margin = [-a.longitudinal.Cm_alpha / a.longitudinal.CL_alpha for a in (airplane, moved)]
    assert abs(margin[1] - margin[0] - 0.03) < 1e-12  # rounding only
