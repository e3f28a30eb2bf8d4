"""The list of causes: complete, described, with priors that can be drawn."""

from __future__ import annotations

import dataclasses
import inspect

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations import CAUSES, Prior, draw_parameters, find_cause, why_not
from neutralpoint.explanations.cause import NO_EFFECT, Moment, ramp

FLYABLE = [cause for cause in CAUSES.values() if cause.act is not None]


@pytest.mark.parametrize("cause", CAUSES.values(), ids=list(CAUSES))
def test_a_cause_says_what_it_is(cause):
    assert cause.name == cause.name.lower()
    assert cause.mechanism.endswith(".")
    assert cause.evidence
    assert cause.not_separable
    assert all(p.meaning and p.source for p in cause.parameters)
    assert bool(cause.changes) == (cause.act is not None)


def test_the_unlisted_row_is_there_and_cannot_be_flown(commuter):
    assert "not listed" in why_not(CAUSES["unlisted"], commuter)


@pytest.mark.parametrize("cause", FLYABLE, ids=lambda c: c.name)
def test_before_it_starts_a_cause_changes_nothing(cause):
    if cause.turbulent:
        pytest.skip("turbulence has no start")
    p = cause.middle() | {"start": 100.0}
    early = cause.act(p, Moment(50.0, None, None))
    for name, value, default in zip(early._fields, early, NO_EFFECT, strict=True):
        if name in ("autopilot", "feather", "jam_angle", "roll_damping"):
            continue  # without effect while nothing is jammed, failed or stalled
        np.testing.assert_array_equal(value, default, err_msg=name)


@pytest.mark.parametrize("cause", FLYABLE, ids=lambda c: c.name)
def test_an_effect_names_no_force_but_that_of_hands(cause):
    """A cause changes things and lets the flight model find the force."""
    source = inspect.getsource(inspect.getmodule(cause.act))
    assert "Cm_extra" not in source and "evaluate" not in source


def test_priors_are_drawn_as_stated():
    shapes = {
        "uniform": (1.0, 3.0, 2.0),
        "normal": (1.0, 3.0, 1.0),
        "lognormal": (2.0, 0.5, 2.0),
        "either": (-1.0, 1.0, None),
        "count": (0.0, 2.0, None),
    }
    share = (jnp.arange(4000) + 0.5) / 4000
    for shape, (low, high, middle) in shapes.items():
        values = np.asarray(Prior(shape, low, high).quantile(share))
        if middle is None:
            assert set(np.unique(values)) == ({-1.0, 1.0} if shape == "either" else {0.0, 1.0})
            assert abs((values == values.max()).mean() - 0.5) < 0.01
        else:
            assert np.median(values) == pytest.approx(middle, rel=1e-3)


def test_draws_cover_every_stratum():
    cause = CAUSES["stabilizer-runaway"].with_priors(start=Prior("uniform", 0.0, 64.0))
    drawn = draw_parameters(cause.parameters, jax.random.key(1), 64)
    assert sorted(np.floor(np.asarray(drawn["start"]))) == list(range(64))


def test_names_that_are_not_there_are_refused():
    with pytest.raises(NeutralPointError, match="no cause called"):
        find_cause("gremlins")
    with pytest.raises(NeutralPointError, match="no parameter speed"):
        CAUSES["spiral-dive"].with_priors(speed=Prior("uniform", 0, 1))


def test_why_not_names_what_is_missing(commuter):
    assert "no tab" in why_not(CAUSES["tab-runaway"], commuter)
    single = dataclasses.replace(commuter, engines=commuter.engines[:1])
    assert "1 engine" in why_not(CAUSES["power-loss-one"], single)
    assert why_not(CAUSES["stabilizer-runaway"], commuter) == ""


def test_ramp_is_linear_and_bounded():
    assert [float(ramp(t, 2.0, 4.0)) for t in (1.0, 2.0, 3.0, 6.0, 9.0)] == [0, 0, 0.25, 1, 1]
