"""Falls against closed forms and SciPy; the continuation and the angle of cuts likewise."""

from __future__ import annotations

import re

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from neutralpoint.case.debris_entry import DebrisEntry
from neutralpoint.quantities import GRAVITY
from neutralpoint.wreckage import (
    AirColumn,
    Bodies,
    PathControls,
    PathState,
    continue_paths,
    descent_angle,
    fall,
)
from neutralpoint.wreckage.falling import terminal_speed

DENSITY = 1.1
STILL = AirColumn(0.0, 5000.0, np.zeros((1, 2)), np.zeros((1, 2)), np.full(2, DENSITY))


def _one(**given: float) -> Bodies:
    names = ("north", "east", "height", "velocity_north", "velocity_east", "velocity_up")
    values = {name: np.array([given.get(name, 0.0)]) for name in names}
    return Bodies(**values, drag_area=np.array([given["drag_area"]]), column=np.zeros(1, int))


def _item(authority, name: str) -> dict:
    return next(item for item in authority("drag_shapes")["items"] if item["name"] == name)


def flat(north: np.ndarray, east: np.ndarray) -> np.ndarray:
    return np.zeros_like(north)


@pytest.mark.parametrize("drag_area", [0.002, 0.02, 0.2, 2.0])
def test_a_body_dropped_falls_as_the_closed_form_says(drag_area):
    """A body dropped in still air.

    Source: closed form, h = (vt^2 / g) ln cosh(g t / vt), v = vt tanh(g t / vt).
    """
    found = fall(_one(height=1500.0, drag_area=drag_area), STILL, flat)
    speed = float(terminal_speed(np.array(drag_area), np.array(DENSITY)))
    time = speed / GRAVITY * np.arccosh(np.exp(1500.0 * GRAVITY / speed**2)) if speed > 25 else (
        1500.0 / speed + speed / GRAVITY * np.log(2.0)
    )  # fmt: skip
    assert found.time[0] == pytest.approx(time, rel=3e-3)
    assert found.speed[0] == pytest.approx(speed * np.tanh(GRAVITY * time / speed), rel=3e-3)


def test_bodies_come_down_as_fast_as_a_textbook_says(authority):
    """Person, balls, hail and rain dropped from 2 km.

    Source: authorities/drag_shapes.toml, Serway's table of terminal speeds.
    """
    table = _item(authority, "terminal speeds")
    air = AirColumn(0.0, 5000.0, np.zeros((1, 2)), np.zeros((1, 2)), np.full(2, table["density"]))
    rows = zip(table["mass_kg"], table["area_m2"], table["speed_m_s"], strict=True)
    for mass, area, speed in rows:
        body = _one(height=2000.0, drag_area=table["drag"] * area / mass)
        assert fall(body, air, flat).speed[0] == pytest.approx(speed, rel=table["tolerance"])


def test_shapes_of_a_published_table_fall_apart_by_the_root_of_their_drag(authority):
    """Bodies of 20 kg and 0.3 m2, and what the case file tells of drag coefficients.

    Source: authorities/drag_shapes.toml, NASA Glenn's table of shapes.
    """
    table = _item(authority, "drag coefficients of shapes")
    drag = dict(zip(table["shape"], table["drag"], strict=True))
    bluff = [drag[name] for name in ("flat plate", "prism, wedge downstream", "sphere, slow")]
    speeds = [
        fall(_one(height=3000.0, drag_area=c * 0.3 / 20.0), STILL, flat).speed[0] for c in bluff
    ]
    # By hand, m g = CD A rho V^2 / 2 at 1.1 kg/m3: 30.5, 32.3 and 48.8 m/s.
    assert speeds == pytest.approx([30.47, 32.29, 48.76], rel=2e-3)
    told = str(DebrisEntry.model_fields["drag"].description)
    plate, ball = (
        float(x)
        for x in re.findall(r"some ([\d.]+) for a plate.*?([\d.]+) for a slow ball", told)[0]
    )
    assert plate == drag["flat plate"]
    assert ball == drag["sphere, slow"]


def test_without_drag_it_is_a_parabola():
    """A body without drag.

    Source: closed form, the parabola of a throw.
    """
    found = fall(
        _one(height=1000.0, velocity_north=100.0, velocity_up=30.0, drag_area=1e-9), STILL, flat
    )
    time = (30.0 + np.sqrt(900.0 + 2.0 * GRAVITY * 1000.0)) / GRAVITY
    assert found.time[0] == pytest.approx(time, rel=1e-3)
    assert found.north[0] == pytest.approx(100.0 * time, rel=1e-3)


@pytest.mark.parametrize("drag_area", [0.003, 0.05, 0.6])
def test_a_fall_through_shear_is_that_of_another_integrator(drag_area):
    """Wind turns and grows with height, density falls.

    Source: SciPy's DOP853, an independent integrator of the same forces.
    """
    levels = np.arange(0.0, 4001.0, 100.0)
    north, east = 2.0 + 0.004 * levels, -6.0 * np.sin(levels / 1500.0)
    density = 1.225 * np.exp(-levels / 9500.0)
    air = AirColumn(0.0, 100.0, north[None], east[None], density)
    start = {"height": 3200.0, "velocity_north": 90.0, "velocity_east": -40.0,
             "velocity_up": -60.0}  # fmt: skip

    def rates(_, y):
        wind = np.array([np.interp(y[2], levels, north), np.interp(y[2], levels, east), 0.0])
        relative = y[3:] - wind
        pull = 0.5 * np.interp(y[2], levels, density) * drag_area * np.linalg.norm(relative)
        return np.r_[y[3:], -pull * relative - np.array([0.0, 0.0, GRAVITY])]

    def lands(_, y):
        return y[2]

    lands.terminal = True  # SciPy's hook
    truth = solve_ivp(
        rates, (0.0, 3000.0), [0.0, 0.0, 3200.0, 90.0, -40.0, -60.0], method="DOP853",
        events=lands, rtol=1e-8, atol=1e-6,
    )  # fmt: skip
    found = fall(_one(**start, drag_area=drag_area), air, flat)
    place = truth.y[:2, -1]
    far = float(np.linalg.norm(place))
    assert np.hypot(found.north[0] - place[0], found.east[0] - place[1]) < 0.004 * far
    assert found.time[0] == pytest.approx(truth.t[-1], rel=4e-3)


def test_a_path_continued_is_that_of_another_integrator():
    """Point mass with constant load factor and bank, and a straight glide.

    Source: SciPy's RK45 on Etkin and Reid (1996), section 4.6; closed form of a straight glide.
    """
    load, along, bank = 0.9, -0.05, 0.6
    acting = PathControls(1.0, *(np.full((1, 3), v) for v in (load, along, bank)))
    values = (0.0, 0.0, 2500.0, 110.0, -0.3, 0.4, 5.0, -3.0)
    state = PathState(*(np.array([v]) for v in values))

    def rates(_, y):
        speed, angle, heading = y[3:]
        level = speed * np.cos(angle)
        return [
            level * np.cos(heading) + 5.0, level * np.sin(heading) - 3.0, speed * np.sin(angle),
            GRAVITY * (along - np.sin(angle)),
            GRAVITY / speed * (load * np.cos(bank) - np.cos(angle)),
            GRAVITY * load * np.sin(bank) / level,
        ]  # fmt: skip

    def lands(_, y):
        return y[2]

    lands.terminal = True  # SciPy's hook
    truth = solve_ivp(rates, (0.0, 300.0), values[:6], events=lands, rtol=1e-9, atol=1e-9)
    found = continue_paths(state, acting, flat)
    assert found.reached.all()
    assert found.time[0] == pytest.approx(truth.t[-1], rel=1e-3)
    assert np.hypot(found.north[0] - truth.y[0, -1], found.east[0] - truth.y[1, -1]) < 10.0
    assert found.path_angle[0] == pytest.approx(truth.y[4, -1], abs=2e-3)
    glide = PathControls(1.0, np.full((1, 2), np.cos(0.2)), np.full((1, 2), -np.sin(0.2)),
                     np.zeros((1, 2)))  # fmt: skip
    straight = PathState(*(np.array([v]) for v in (0.0, 0.0, 500.0, 80.0, -0.2, 0.0, 0.0, 0.0)))
    ended = continue_paths(straight, glide, flat)
    assert ended.north[0] == pytest.approx(500.0 / np.tan(0.2), rel=1e-3)
    assert ended.speed[0] == pytest.approx(80.0, rel=1e-4)


@pytest.mark.parametrize("slope", [0.0, 0.12, -0.2])
def test_the_error_of_an_angle_from_cuts_is_that_of_drawn_measurements(slope):
    """The first-order error against drawn measurements.

    Source: closed form, the angle drawn 200,000 times from its measurements.
    """
    rng = np.random.default_rng(41)
    draws = [rng.normal(m, s, 200_000) for m, s in ((14.0, 0.4), (5.0, 0.3), (25.0, 0.8))]
    tilt = rng.normal(slope, 0.02, 200_000)
    angles = np.arctan2(
        draws[1] - draws[0] + draws[2] * np.tan(tilt), draws[2]
    )  # the height of the second cut over the foot of the first tree  # fmt: skip
    angle, sigma = descent_angle((14.0, 0.4), (5.0, 0.3), (25.0, 0.8), (slope, 0.02))
    assert angle == pytest.approx(np.median(angles), abs=2e-3)
    assert sigma == pytest.approx(angles.std(), rel=0.03)
