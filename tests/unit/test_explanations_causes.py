"""The list of causes: complete, described, with priors that can be drawn."""

from __future__ import annotations

import dataclasses
import inspect

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations import (
    CAUSES,
    Facts,
    Prior,
    draw_parameters,
    find_cause,
    why_not,
)
from neutralpoint.explanations.cause import Effect, Moment, ramp
from neutralpoint.explanations.change import changed_airplane, limits_passed
from neutralpoint.quantities import SEA_LEVEL_DENSITY


@pytest.fixture(scope="module")
def ostrel():
    """An airplane that every gated cause can act on."""
    return load_airplane("ostrel-7").airplane


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
    for name, value, default in zip(early._fields, early, Effect(), strict=True):
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


def test_a_motor_s_causes_need_a_motor():
    """A trim wheel without a motor cannot run away, nor can an autopilot trim by it."""
    single = load_airplane("tarnley-180").airplane
    for name in ("tab-runaway", "intermittent-runaway", "autopilot-mistrim"):
        assert "no motor" in why_not(CAUSES[name], single)
    assert why_not(CAUSES["elevator-jam"], single) == ""


FACTS = [
    ("tailplane-stall", Facts(coldest=274.0), "No air of the flight was colder than +1 degC"),
    ("tailplane-stall", Facts(coldest=270.0, dew_point_spread=8.0), "8 K or more apart"),
    ("spiral-dive", Facts(daylight=True, in_cloud=False), "horizon"),
    ("somatogravic-input", Facts(daylight=True, in_cloud=False), "horizon"),
    ("load-shift-aft", Facts(load_moves="forward"), "move aft"),
    ("load-shift-forward", Facts(load_moves="no"), "move forward"),
    ("takeoff-mistrim", Facts(trimmed_for=600.0), "10 min since takeoff"),
    ("autopilot-hardover", Facts(autopilot=False), "autopilot"),
    ("autopilot-mistrim", Facts(autopilot=False), "autopilot"),
    ("incapacitation", Facts(crew=0), "Nobody"),
    ("power-loss-one", Facts(fuel=0.0), "fuel"),
]


@pytest.mark.parametrize(("name", "facts", "said"), FACTS)
def test_a_fact_excludes_what_is_impossible_with_it(ostrel, name, facts, said):
    assert said in why_not(CAUSES[name], ostrel, facts)
    assert why_not(CAUSES[name], ostrel, Facts()) == ""


HARMLESS = [
    ("tailplane-stall", Facts(coldest=272.0, dew_point_spread=2.0)),
    ("spiral-dive", Facts(daylight=True)),
    ("spiral-dive", Facts(daylight=False, in_cloud=False)),
    ("load-shift-aft", Facts(load_moves="either")),
    ("takeoff-mistrim", Facts(trimmed_for=60.0)),
    ("autopilot-hardover", Facts(autopilot=True)),
    ("incapacitation", Facts(crew=2)),
]


@pytest.mark.parametrize(("name", "facts"), HARMLESS)
def test_a_fact_that_leaves_it_possible_excludes_nothing(ostrel, name, facts):
    assert why_not(CAUSES[name], ostrel, facts) == ""


def test_structure_gives_way_once_its_margin_is_passed():
    """By itself at its start, or before, once speed or load passed what it bears."""
    cause = CAUSES["structural-failure"]
    p = cause.middle() | {"start": 100.0, "margin": 1.5}
    for passed, lost in ((1.4, 0.0), (1.6, 1.0)):
        effect = cause.act(p, Moment(50.0, None, None, passed))
        assert float(effect.wing_loss) == pytest.approx(lost * p["wing_lost"])
        assert float(effect.tail_loss) == pytest.approx(lost * p["tail_lost"])


def test_what_is_left_of_a_wing_flies_less(commuter):
    """Half the wing's lift gone: lift slope and downwash fall, and the tail stabilizes more."""
    calm = changed_airplane(commuter, Effect(), elevator=0.0, stalled=0.0)
    half = changed_airplane(commuter, Effect()._replace(wing_loss=0.5), elevator=0.0, stalled=0.0)
    before, after = calm.longitudinal, half.longitudinal
    tail = before.CL_stabilizer
    wash = commuter.pitch_control.downwash_alpha
    wing = before.CL_alpha - tail * (1.0 - wash)
    assert float(after.CL_alpha) == pytest.approx(0.5 * wing + tail * (1.0 - 0.5 * wash))
    assert half.pitch_control.downwash_alpha == pytest.approx(0.5 * wash)
    assert after.Cm_alpha < before.Cm_alpha


def test_limits_are_passed_by_speed_or_by_load(ostrel):
    limits = ostrel.limits
    fast = limits_passed(ostrel, SEA_LEVEL_DENSITY, 1.2 * limits.never_exceed_speed, 1.0)
    pushed = limits_passed(ostrel, SEA_LEVEL_DENSITY, 50.0, 1.3 * limits.load_factor_min)
    assert float(fast) == pytest.approx(1.2, rel=1e-6)
    assert float(pushed) == pytest.approx(1.3, rel=1e-6)


def test_ramp_is_linear_and_bounded():
    assert [float(ramp(t, 2.0, 4.0)) for t in (1.0, 2.0, 3.0, 6.0, 9.0)] == [0, 0, 0.25, 1, 1]
