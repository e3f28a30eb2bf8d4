"""What is done on purpose in ordinary flying."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.explanations import Moment
from neutralpoint.explanations.cause import Effect
from neutralpoint.weighing.course import COLUMNS, StaticError, columns_of
from neutralpoint.weighing.ordinary import ORDINARY, given_way, meant

DURATION, SPEED = 60.0, 90.0
QUIET = (
    {p.name: p.prior.middle for p in ORDINARY}
    | dict.fromkeys(
        (
            *("climbs", "turns", "powers", "flaps", "hills", "steeps", "cuts"),
            *("matched", "sway", "heave", "engaged"),
        ),
        0.0,
    )
    | {"activity": 1.0}
)
STATE = SimpleNamespace(velocity_north=SPEED, velocity_east=0.0, velocity_down=0.0)


def course(**changes):
    """Effects over a minute, by field."""
    times = np.arange(0.0, DURATION + 30.0, 0.5)
    effects = [meant(QUIET | changes, Moment(t, STATE, None), DURATION, 1.0) for t in times]
    fields = ("climb", "aileron", "lever", "flap", "drag")
    return times, {f: np.array([float(getattr(e, f)) for e in effects]) for f in fields}


def test_what_may_go_either_way_favors_neither():
    """Left and right, up and down, more and less of what is meant are as likely."""
    priors = {p.name: p.prior for p in ORDINARY}
    for name in ("bank", "climb", "level", "power", "flap", "hill", "lopsided"):
        low, middle, high = (float(priors[name].quantile(u)) for u in (0.1, 0.5, 0.9))
        assert middle == pytest.approx(0.0, abs=1e-6) and low == pytest.approx(-high, abs=1e-6)
        assert high > 0.0


def test_when_and_whether_are_drawn_evenly():
    priors = {p.name: p.prior for p in ORDINARY}
    for name in priors:
        if name.endswith("_at") or name in ("climbs", "turns", "powers", "hills", "steeps"):
            assert [float(priors[name].quantile(u)) for u in (0.1, 0.9)] == pytest.approx(
                [0.1, 0.9]
            )


def test_a_static_source_that_errs_moves_height_and_path_with_speed():
    """Against the height itself: the path angle is the rate of the height that is read."""
    time = np.arange(0.0, 20.0, 0.1)
    speed = 80.0 + 3.0 * time
    level = np.zeros_like(time)
    along = 3.0 / 9.80665 * np.ones_like(time)  # level, accelerating by 3 m/s2
    one = np.ones_like(time)
    names = {"angle_of_attack": level, "normal_load_factor": one, "forward_load_factor": along}
    flight = SimpleNamespace(
        readings=SimpleNamespace(**names, height=1000.0 * one),
        state=SimpleNamespace(
            velocity_north=speed, velocity_east=level, velocity_down=level, north=level,
            east=level, e0=one, e1=level, e2=level, e3=level,
        ),
        trim=level,
        applied_force=level,
    )  # fmt: skip
    true, read = (np.asarray(columns_of(flight, StaticError(x, 80.0))) for x in (0.0, 0.02))
    height, path = COLUMNS.index("altitude"), COLUMNS.index("flight_path_angle")
    np.testing.assert_allclose(true[:, height], 1000.0)
    gained = read[:, height] - 1000.0
    assert gained[0] == 0.0
    assert gained[-1] == pytest.approx(0.02 * (speed[-1] ** 2 - 80.0**2) / (2 * 9.80665))
    np.testing.assert_allclose(np.gradient(gained, time)[5:-5], (speed * read[:, path])[5:-5], 1e-3)


def test_structure_gives_way_beyond_its_margin_whatever_the_cause():
    whole = given_way(QUIET, Moment(1.0, STATE, None, 1.5), Effect())
    assert float(whole.wing_loss) == float(whole.tail_loss) == 0.0
    assert float(whole.drag) == 1.0 and float(whole.aileron) == 0.0
    broken = given_way(QUIET, Moment(1.0, STATE, None, 1.8), Effect())
    assert float(broken.wing_loss) == pytest.approx(QUIET["parted"])
    assert float(broken.drag) > 2.0 and float(broken.tail_loss) > 0.5


def test_nothing_meant_is_nothing_done():
    _, done = course()
    for name, values in done.items():
        np.testing.assert_allclose(values, 1.0 if name == "drag" else 0.0, atol=1e-12)


def test_a_hill_goes_up_and_over_and_ends_where_it_began():
    times, done = course(hills=0.95, hill=0.2, hill_at=0.2, hill_lasts=20.0)
    climb = done["climb"]
    assert climb.max() == pytest.approx(SPEED * np.sin(0.2), rel=0.01)
    assert climb.min() == pytest.approx(-climb.max())
    assert np.argmax(climb) < np.argmin(climb)
    assert abs(climb[times > 33.0]).max() < 1e-9
    assert abs(climb.sum()) < 1e-6  # no height is lost
    assert not course(hills=0.95, hill=0.2, engaged=1.0)[1]["climb"].any()  # hands, no autopilot


def test_no_hill_is_higher_than_the_speed_carries():
    """Energy: half of V^2 / 2g at most, however steep it was meant."""
    _, done = course(hills=0.95, hill=1.0, hill_at=0.0, hill_lasts=40.0)
    climb = done["climb"]
    height = 0.5 * climb[: np.argmin(climb) // 3 * 2][: len(climb)].clip(0.0).sum()
    assert height <= 0.5 * SPEED**2 / (2.0 * 9.80665) * 1.01


def test_a_go_around_takes_power_and_flaps_and_a_descent_takes_none():
    _, up = course(steeps=0.95, steep=0.08, steep_at=0.2)
    assert up["climb"][-1] == pytest.approx(SPEED * np.sin(0.08))
    assert up["lever"][-1] == pytest.approx(0.08 / np.radians(5.0))
    assert up["flap"][-1] < 0.0 and up["drag"][-1] == 1.0
    _, down = course(steeps=0.95, steep=-0.2, steep_at=0.2, brakes=2.0)
    assert down["climb"][-1] < -15.0
    assert down["lever"][-1] == -1.0
    assert down["drag"][-1] == 2.0 and down["flap"][-1] == 0.0


def test_power_is_cut_for_a_while_and_comes_back():
    times, done = course(cuts=0.95, cut=-1.0, cut_at=0.2, cut_lasts=15.0, hurry=2.0)
    assert done["lever"][(times > 15.0) & (times < 26.0)] == pytest.approx(-1.0)
    assert done["lever"][-1] == pytest.approx(0.0)
    assert not done["climb"].any()  # the path is meant to stay
