"""Facts of the trade: force grows with q; an aft CG cuts elevator and force per g."""

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.authority import (
    crossover_speed,
    force_against_speed,
    holdable_mistrim,
    pull_per_g,
)
from neutralpoint.dynamics.equilibrium import Condition, find_equilibrium

AIR = make_air()
per_g = jax.jit(pull_per_g)


def test_mistrim_force_grows_with_dynamic_pressure(commuter):
    """The extra pull of a nose-down mistrim is proportional to q (incompressible, no bobweight)."""
    airplane = dataclasses.replace(
        commuter,
        longitudinal=dataclasses.replace(commuter.longitudinal, compressibility_aspect_ratio=0.0),
        pitch_control=dataclasses.replace(commuter.pitch_control, bobweight=0.0),
    )
    speeds = jnp.array([70.0, 100.0, 140.0])

    def curve(stabilizer):
        wanted = Condition(speed=0.0, height=1000.0, stabilizer=stabilizer)
        return force_against_speed(airplane, AIR, wanted, speeds).readings

    low, high = jax.jit(jax.vmap(curve))(jnp.array([0.0, 0.02])).column_force
    extra = np.asarray(high - low)
    assert (extra > 0.0).all()
    # The elevator's lift moves incidence a little: proportional to q within 2 %.
    assert extra / extra[0] == pytest.approx((np.asarray(speeds) / 70.0) ** 2, rel=0.02)


def test_aft_cg_cuts_elevator_and_force_per_g(commuter):
    wanted = Condition(speed=90.0, height=1000.0, lever=0.4)

    found = [
        per_g(commuter, AIR, dataclasses.replace(wanted, cg_shift=shift))
        for shift in (-0.1, 0.0, 0.1)
    ]
    force = np.array([float(x.force_per_g) for x in found])
    elevator = np.array([float(x.elevator_per_g) for x in found])
    assert (np.diff(force) < 0.0).all() and (force > 0.0).all()
    assert (np.diff(elevator) > 0.0).all() and (elevator < 0.0).all()


def test_elevator_per_g_as_the_textbook_has_it(commuter):
    """Etkin and Reid, eq. 3.1,6: elevator per g from the CG's distance to the manoeuvre point.

    dde/dn = -CW [Cma - (Cma CLq - Cmq CLa)... ] / determinant, written out with mu.
    """
    lon = dataclasses.replace(
        commuter.longitudinal, compressibility_aspect_ratio=0.0, CL_alphadot=0.0, Cm_alphadot=0.0
    )
    airplane = dataclasses.replace(
        commuter,
        longitudinal=lon,
        engines=tuple(dataclasses.replace(e, depth=0.0) for e in commuter.engines),
    )
    speed, density = 90.0, 1.225
    area, chord, mass = 28.0, 1.75, 5200.0
    CW = mass * 9.80665 / (0.5 * density * speed**2 * area)
    mu = 2.0 * mass / (density * area * chord)
    matrix = np.array([[lon.CL_alpha, lon.CL_elevator], [lon.Cm_alpha, lon.Cm_elevator]])
    # One more g: rate g / V, so chord / 2V times it is CW / 2 mu.
    right = np.array([CW - lon.CL_q * CW / (2 * mu), -lon.Cm_q * CW / (2 * mu)])
    alpha, elevator = np.linalg.solve(matrix, right)
    found = per_g(airplane, AIR, Condition(speed=speed, height=0.0, lever=0.4, cg_shift=0.0))
    # Drag and thrust components across the path are not in the textbook: 2 %.
    assert float(found.elevator_per_g) == pytest.approx(elevator, rel=0.02)
    assert float(found.alpha_per_g) == pytest.approx(alpha, rel=0.02)


@pytest.mark.slow  # compiles a second solver, ten seconds
def test_crossover_and_holdable_mistrim_are_the_same_boundary(commuter):
    """At the crossover speed, the trim angle is exactly the holdable mistrim beyond trim."""
    pull = 222.0  # one hand on the rim, 14 CFR 23.143(c)
    trimmed = jax.jit(find_equilibrium)(
        commuter, AIR, Condition(find="trim", speed=90.0, height=1000.0)
    )
    stuck = trimmed.inputs.stabilizer + 0.045
    # Descending, so that power does not run out before strength does.
    wanted = Condition(speed=95.0, height=1000.0, path_angle=-0.12, stabilizer=stuck)
    found = jax.jit(crossover_speed)(commuter, AIR, wanted, pull)
    assert int(found.outcome) == 0
    edge = float(found.readings.true_airspeed)
    assert 60.0 < edge < 200.0
    there = Condition(speed=edge, height=1000.0, path_angle=-0.12)
    mistrim, full = jax.jit(holdable_mistrim)(commuter, AIR, there, pull)
    assert float(full.inputs.stabilizer) == pytest.approx(float(stuck), abs=1e-9)
    faster, _ = jax.jit(holdable_mistrim)(
        commuter, AIR, dataclasses.replace(there, speed=1.3 * edge), pull
    )
    assert 0.0 < float(faster) < float(mistrim)
