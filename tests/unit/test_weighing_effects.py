"""What the networks are told of an airplane at a start."""

from __future__ import annotations

import jax
import numpy as np
import pytest

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.dynamics.authority import holdable_mistrim
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.quantities import DEGREE
from neutralpoint.weighing.effects import effects, start_equilibrium

START = {
    "speed": 100.0,
    "path_angle": 0.0,
    "height": 3000.0,
    "temperature_offset": 0.0,
    "flap": 0.0,
    "gear": 0.0,
}


@pytest.fixture(scope="module")
def told():
    airplane = load_airplane("velmar-c7").airplane
    return airplane, {k: float(v) for k, v in jax.jit(effects)(airplane, START).items()}


def test_all_numbers_are_finite_and_of_a_size_that_a_network_can_use(told):
    _, found = told
    assert all(np.isfinite(v) and abs(v) < 15.0 for v in found.values())


@pytest.mark.slow  # compiles a second solver, ten seconds
def test_the_force_of_trim_is_what_the_mistrim_solver_says(told):
    """`dynamics.authority.holdable_mistrim` solves the steady flight; here it is a quotient."""
    airplane, found = told
    air, steady = start_equilibrium(airplane, START)
    condition = Condition(
        speed=100.0, height=3000.0, stabilizer=steady.inputs.stabilizer, find="trim"
    )
    moved, _ = holdable_mistrim(airplane, air, condition, 20.0)
    told_force = 30.0 * np.sinh(found["force of trim"]) / DEGREE
    # Holding the flight path too moves the incidence a little: a third of the way is enough.
    assert 20.0 / abs(float(moved)) == pytest.approx(told_force, rel=0.3)


def test_an_aft_cg_needs_a_push_and_nose_down_trim_a_pull(told):
    _, found = told
    assert found["force of cg"] < 0.0 < found["force of trim"]
    assert found["pitching of cg"] > 0.0 > found["pitching of trim"]
