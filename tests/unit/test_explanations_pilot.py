"""Strength, fatigue, and the exact machine of stop devices and procedures."""

from __future__ import annotations

import dataclasses

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from neutralpoint.airplane.model import StopDevice, TrimDrive
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations.crew import Crew, crew_at, trim_speed
from neutralpoint.explanations.hand import _tired
from neutralpoint.explanations.pilot import Pilot, Seen, Task, first_mind, strength_now
from neutralpoint.explanations.procedure import Action, procedures_of, timetable
from neutralpoint.explanations.strength import (
    POPULATION,
    draw_strength,
    endurance,
    fatigue_rate,
    share_able,
)
from neutralpoint.quantities import POUND_FORCE

SEEN = Seen(
    pitch=0.0,
    pitch_rate=0.0,
    climb=0.0,
    speed=80.0,
    indicated=75.0,
    spare_incidence=0.1,
    height=1000.0,
    load_factor=1.0,
    along=0.0,
    felt_pitch=0.0,
)
BUTTON = StopDevice(
    name="button", kind="momentary_hold", reach_time=0.5, hands=0, release_restarts=True
)
QUIET = dataclasses.replace(BUTTON, name="quiet button", release_restarts=False)
LATCH = StopDevice(
    name="latch", kind="latching_disconnect", reach_time=0.25, hands=0, release_restarts=False
)
BREAKER = StopDevice(
    name="breaker", kind="breaker", reach_time=3.0, hands=1, release_restarts=False
)
WHEEL = StopDevice(
    name="wheel", kind="manual_wheel", reach_time=1.0, hands=1, release_restarts=False
)
OPPOSE = StopDevice(
    name="switch", kind="opposing_switch", reach_time=0.0, hands=0, release_restarts=True
)
DRIVE = TrimDrive(
    kind="stabilizer",
    travel_min=-0.1,
    travel_max=0.1,
    rate=0.01,
    manual_rate=0.02,
    stops=(BUTTON, QUIET, LATCH, BREAKER, WHEEL, OPPOSE),
)


@pytest.fixture(scope="module")
def airplane(commuter):
    return dataclasses.replace(commuter, trim_drive=DRIVE)


def crew_of(airplane, steps, start, time):
    return crew_at(timetable(airplane.trim_drive.stops, steps), start, time)


def speed(crew, fault=1.0, asked=0.0, away=0.05, pull=0.0):
    how = {"fault": fault, "asked": asked, "away": away, "pull": pull, "step": 0.05}
    return float(trim_speed(DRIVE, crew, **how))


def test_endurance_against_measurement():
    """Caldwell (1963), 64 men: 63.3 s at 0.5, 21.4 s at 0.8; the curve is within 8 %."""
    np.testing.assert_allclose(endurance(jnp.array([0.5, 0.8])), [63.3, 21.4], rtol=0.08)
    assert float(endurance(0.3)) == pytest.approx(152.0, abs=0.5)
    assert np.isinf(float(endurance(0.1)))


@pytest.mark.parametrize("load", [0.3, 0.5, 0.8])
def test_fatigue_ends_a_hold_when_endurance_does(load):
    step = 0.01
    count = round(float(endurance(load)) / step)
    left = jax.lax.fori_loop(0, count, lambda _, c: c * (1.0 - step * fatigue_rate(load)), 1.0)
    assert float(left) == pytest.approx(load, rel=1e-3)


def test_population_agrees_with_what_is_published():
    two = POPULATION
    assert float(share_able(two, 75.0 * POUND_FORCE, 2)) < 0.5  # Beringer 2019
    assert float(share_able(two, 200.0 * POUND_FORCE, 2)) < 0.01  # Gough and Beard 1936: most
    assert float(share_able(two, 50.0 * POUND_FORCE, 1)) == pytest.approx(
        float(share_able(two, 75.0 * POUND_FORCE, 2))
    )
    assert float(draw_strength(two, 0.5)) == pytest.approx(70.0 * POUND_FORCE)


@pytest.mark.parametrize(("device", "restarts"), [("button", True), ("quiet button", False)])
def test_hold_stops_only_while_held(airplane, device, restarts):
    """Common practice, no source: released, the trim can move again."""
    steps = (Action(kind="hold", device=device), Action(kind="release", device=device, wait=4.0))
    at = [float(speed(crew_of(airplane, steps, 10.0, t))) for t in (10.49, 10.51, 14.49, 14.51)]
    assert at == [0.01, 0.0, 0.0, 0.01 if restarts else 0.0]
    assert float(crew_of(airplane, steps, 10.0, 12.0).hands) == 0.0  # a thumb, as the file says
    assert float(crew_of(airplane, steps, 10.0, 15.0).hands) == 0.0


def test_latch_acts_once_and_frees_the_hands(airplane):
    steps = (Action(kind="press", device="latch"),)
    assert [speed(crew_of(airplane, steps, 2.0, t)) for t in (2.2, 2.3, 900.0)] == [0.01, 0.0, 0.0]
    assert float(crew_of(airplane, steps, 2.0, 2.2).hands) == 0.0


def test_hold_then_breaker_keeps_the_trim_still_throughout(airplane):
    steps = procedures_of(airplane)["hold button, then breaker"]
    times = np.arange(0.51, 20.0, 0.05)
    assert all(speed(crew_of(airplane, steps, 0.0, t)) == 0.0 for t in times)
    # 0.5 reach, 1 wait, 3 reach, 0.5 wait.
    assert timetable(airplane.trim_drive.stops, steps).end == pytest.approx(5.0)
    assert float(crew_of(airplane, steps, 0.0, 3.0).hands) == 1.0  # the one that reaches
    assert float(crew_of(airplane, steps, 0.0, 6.0).hands) == 0.0


def test_opposing_switch_and_wheel_bring_it_back(airplane):
    switch = crew_of(airplane, (Action(kind="press", device="switch"),), 0.0, 1.0)
    wheel = crew_of(airplane, (Action(kind="press", device="wheel"),), 0.0, 1.5)
    assert speed(switch) == -0.01
    assert speed(switch, away=0.0) == 0.0
    assert speed(wheel, away=4e-4) == pytest.approx(-4e-4 / 0.05)  # stops where it was
    assert speed(wheel) == -0.02
    assert speed(wheel._replace(breaker=1.0)) == -0.02  # needs no power
    assert speed(switch._replace(breaker=1.0)) == 0.0


def test_a_thumb_holds_one_switch(airplane):
    """Pressing the switch lets the button go, and the fault is driven back by the switch."""
    steps = (Action(kind="hold", device="button"), Action(kind="press", device="switch", wait=2.0))
    assert [float(crew_of(airplane, steps, 0.0, t).held) for t in (1.0, 2.6)] == [1.0, 0.0]
    assert speed(crew_of(airplane, steps, 0.0, 2.6)) == -0.01


def test_a_device_takes_the_hands_that_its_file_says(airplane):
    lever = dataclasses.replace(BUTTON, name="lever", hands=1)
    steps = (Action(kind="hold", device="lever"),)
    assert float(crew_at(timetable((lever,), steps), 0.0, 1.0).hands) == 1.0


def test_a_wheel_is_slower_under_load_and_stands_still_beyond(airplane):
    wheel = crew_of(airplane, (Action(kind="press", device="wheel"),), 0.0, 1.5)
    rates = [speed(wheel, pull=pounds * POUND_FORCE) for pounds in (0.0, 75.0, -75.0, 150.0)]
    assert rates == pytest.approx([-0.02, -0.01, -0.01, 0.0])


def test_everybody_tires_by_the_share_of_what_the_hands_give():
    """One hand holds a force for less long than two, and a second person tires too."""
    pilot = Pilot(strength=300.0, one_hand=0.6)
    mind = first_mind(SEEN, Task(0.0, 0.0))
    one, two = (_tired(pilot, mind, 150.0, fresh, Crew(), 1.0)[0] for fresh in (0.6, 1.0))
    held = [np.log(150.0 / (300.0 * s)) / np.log(float(x)) for s, x in ((0.6, one), (1.0, two))]
    assert held[0] < 0.5 * held[1]
    assert held[1] == pytest.approx(float(endurance(0.5)), rel=0.01)
    both = _tired(pilot, mind, 300.0, 2.0, Crew(second=1.0), 1.0)
    assert float(both[0]) == float(both[1]) == pytest.approx(float(two))


def test_nothing_happens_before_it_begins(airplane):
    for steps in procedures_of(airplane).values():
        crew = crew_of(airplane, steps, jnp.inf, 1e6)
        assert all(float(value) == 0.0 for value in crew)


def test_strength_by_hands_fatigue_and_a_second_person():
    pilot = Pilot(strength=300.0, one_hand=0.6)
    mind = first_mind(SEEN, Task(0.0, 0.0))._replace(recognised=5.0, left=0.9)
    assert float(strength_now(pilot, mind, Crew(), 1.0)) == pytest.approx(300 * 0.6 * 0.9)
    assert float(strength_now(pilot, mind, Crew(), 6.0)) == pytest.approx(300 * 0.9)
    assert float(strength_now(pilot, mind, Crew(hands=1.0), 6.0)) == pytest.approx(162.0)
    assert float(strength_now(pilot, mind, Crew(hands=2.0), 6.0)) == 0.0
    assert float(strength_now(pilot, mind, Crew(second=1.0), 6.0)) == pytest.approx(570.0)


def test_a_device_that_is_not_there_is_refused(airplane):
    with pytest.raises(NeutralPointError, match="no stop device"):
        crew_of(airplane, (Action(kind="press", device="lever"),), 0.0, 1.0)


def test_timetables_of_all_procedures_have_one_shape(airplane):
    """So that one compiled flight serves them all."""
    shapes = {
        jax.tree.structure(timetable(airplane.trim_drive.stops, steps))
        for steps in procedures_of(airplane).values()
    }
    assert len(shapes) == 1


def test_power_nose_and_instruments_go_by_the_clock(airplane):
    steps = (
        Action(kind="lower nose", wait=1.0),
        Action(kind="power", lever=0.4, wait=1.0),
        Action(kind="power", lever=1.0, wait=2.0),
        Action(kind="raise nose", wait=3.0),
        Action(kind="attitude"),
        Action(kind="restore power", wait=2.0),
    )
    times = (10.5, 11.5, 12.5, 14.5, 17.5, 19.5)
    crews = [crew_of(airplane, steps, 10.0, t) for t in times]
    assert [float(c.lowered) for c in crews] == [0, 1, 1, 1, 0, 0]
    assert [float(c.power * c.lever) for c in crews] == [0.0, 0.0, 0.4, 1.0, 1.0, 0.0]
    assert [float(c.power) for c in crews] == [0, 0, 1, 1, 1, 0]
    assert [float(c.attitude) for c in crews] == [0, 0, 0, 0, 1, 1]


def test_a_second_person_flies_where_the_first_does_not():
    mind = first_mind(SEEN, Task(0.0, 0.0))
    pilot = Pilot(strength=300.0)
    assert float(strength_now(pilot, mind, Crew(), 1.0, flying=0.0)) == 0.0
    assert float(strength_now(pilot, mind, Crew(second=1.0), 1.0, flying=0.0)) == 300.0
