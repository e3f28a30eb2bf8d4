"""The path in space: attitude turned rightly, lengths kept, the ground said to be unknown."""

from __future__ import annotations

import dataclasses
import shutil
from types import SimpleNamespace

import numpy as np
import pytest
from made_results import make_results

from neutralpoint.findings import ResponseFindings
from neutralpoint.quantities import DEGREE
from neutralpoint.report import load_results
from neutralpoint.report.figures.look import DARK
from neutralpoint.report.figures.studio.spaces import AIRPLANES, moments_of
from neutralpoint.report.space.camera import fitted
from neutralpoint.report.space.flown import Ground, _unknown, flown_of
from neutralpoint.report.space.scene import (
    PARTS,
    SpaceView,
    airplane_shapes,
    as_drawn,
    attitude_shapes,
    compass_shapes,
    ground_shapes,
    loads_of,
    scale_bar,
    trail_shapes,
    within_room,
)
from neutralpoint.report.space.shapes import Canvas
from neutralpoint.report.space.solid import rotation

ROOM, PLACES = (0.0, 0.0, 400.0, 300.0), [(100.0, 50.0), (100.0, 90.0)]  # pixels


@pytest.fixture(scope="module")
def flown(tmp_path_factory):
    return flown_of(load_results(make_results(tmp_path_factory.mktemp("space"))))


@pytest.fixture(scope="module")
def stage(flown):
    camera = fitted(flown.extent(), 0.3, 0.3, (10.0, 10.0, 390.0, 290.0))
    return SpaceView(camera, DARK, 400.0, 1.0)


def test_the_body_is_turned_as_the_words_say() -> None:
    """NED: by hand, a nose to the east, up by 30 degrees, with the right wing down by 90."""
    nose, right = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    np.testing.assert_allclose(rotation(90 * DEGREE, 0.0, 0.0) @ nose, [0, 1, 0], atol=1e-12)
    up = rotation(0.0, 30 * DEGREE, 0.0) @ nose
    np.testing.assert_allclose(up, [np.sqrt(3) / 2, 0, -0.5], atol=1e-12)
    np.testing.assert_allclose(rotation(0.0, 0.0, 90 * DEGREE) @ right, [0, 0, 1], atol=1e-12)
    turn = rotation(1.0, 0.4, -0.7)
    np.testing.assert_allclose(turn @ turn.T, np.eye(3), atol=1e-12)


def test_lengths_across_the_picture_are_the_same_everywhere(stage) -> None:
    right, up, away = stage.camera.axes
    np.testing.assert_allclose(np.cross(right, up), -away, atol=1e-12)
    for start in (np.zeros(3), np.array([900.0, -400.0, -2000.0])):
        ends = stage.camera.flat(np.stack([start, start + 100.0 * right]))
        assert np.linalg.norm(ends[1] - ends[0]) == pytest.approx(100.0 * stage.camera.scale)
    (bar, *_), (label,) = scale_bar(stage, 0.0, 0.0)
    miles = float(label.text.removesuffix(" NM"))
    assert np.ptp(bar.points[:, 0]) == pytest.approx(miles * 1852.0 * stage.camera.scale)


def test_the_path_fits_the_picture(flown, stage) -> None:
    flat = stage.camera.flat(flown.extent())
    assert flat.min() >= 10.0 - 1e-6 and flat[:, 0].max() <= 390.0 + 1e-6


def test_ground_that_is_not_known_is_said_and_lies_below(flown, stage) -> None:
    assert not flown.ground.known
    assert "ground unknown" in flown.ground.words
    steps = [np.unique(np.round(np.diff(one))) for one in (flown.ground.north, flown.ground.east)]
    assert len(steps[0]) == 1 and np.array_equal(*steps)  # as far apart both ways
    assert flown.ground.down.min() > flown.path[:, 2].max()  # down is positive
    assert all(line.dashes for line in ground_shapes(flown.ground, stage, ROOM))
    hills = Ground(flown.ground.north, flown.ground.east, flown.ground.down, True, "hills")
    assert not any(line.dashes for line in ground_shapes(hills, stage, ROOM))


def test_no_line_of_the_ground_leaves_its_room() -> None:
    """A line through a box, along its edge, past it, and one that ends inside: cut by hand."""
    room = (0.0, 0.0, 10.0, 10.0)

    def cut(*points: tuple[float, float]) -> list[list[list[float]]]:
        return [piece.tolist() for piece in within_room(np.array(points), room)]

    assert cut((-5.0, 5.0), (15.0, 5.0)) == [[[0.0, 5.0], [10.0, 5.0]]]
    assert cut((-5.0, -5.0), (5.0, 5.0)) == [[[0.0, 0.0], [5.0, 5.0]]]
    assert cut((-5.0, 12.0), (15.0, 12.0)) == []
    assert cut((2.0, 2.0), (2.0, 30.0), (4.0, 30.0)) == [[[2.0, 2.0], [2.0, 10.0]]]


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("stated by the analyst", "Not the ground: near 1,400 ft, as stated"),
        ("a default: the case states none", "Not the ground: assumed near 1,400 ft"),
    ],
)
def test_the_ground_is_what_time_to_act_takes_it_for(source, said) -> None:
    """By hand: 3,627 m is 11,900 ft, less 3,200 m (10,499 ft)."""
    found = ResponseFindings.model_construct(begin=5.0, height=3200.0, height_source=source)
    results = SimpleNamespace(
        findings=SimpleNamespace(response=found), time=np.array([0.0, 10.0]),
        bands={"altitude": np.full((5, 2), 3627.0)},
    )  # fmt: skip
    assert _unknown(results) == said and len(said) <= 42


def test_a_change_of_the_grid_is_announced_and_no_other(flown) -> None:
    (grid, new), *_ = flown.lines(None)
    assert not new and "before" not in grid
    assert not flown.lines(flown.ground.step)[0][1] and not flown.lines(0.0)[0][1]
    changed, new = flown.lines(8.0 * flown.ground.step)[0]
    assert new and f"before {8.0 * flown.ground.step:g} NM" in changed
    assert all("\n" not in text and len(text) <= 42 for text, _ in flown.lines(8.0))


def test_an_airplane_stands_at_the_highest_pitch_and_none_over_another(flown) -> None:
    pitch = flown.angles["pitch_angle"].copy()
    pitch[1], peak = 0.0, len(flown.time) // 3
    pitch[1][peak] = 0.4
    nosed = dataclasses.replace(flown, angles={**flown.angles, "pitch_angle": pitch},
                    seen={**flown.seen, "pitch_angle": np.ones(len(flown.time), bool)})  # fmt: skip
    flat = flown.path[:, :2]
    whole = float(np.linalg.norm(np.diff(flat, axis=0), axis=1).sum())
    times = moments_of(nosed, flat, whole / 20.0)
    assert len(times) == AIRPLANES and (np.diff(times) > 0.0).all()
    assert len(moments_of(nosed, flat, whole)) == 2  # no room between the ends
    assert np.abs(times - flown.time[peak]).min() < 0.5
    assert times[0] == flown.time[0] and times[-1] == pytest.approx(flown.time[-1])


def test_ghosts_are_as_wide_as_the_bands(flown, stage) -> None:
    shapes = airplane_shapes(flown, stage, 40.0)
    ghosts = [shape for shape in shapes if shape.alpha < 1.0]
    assert len(ghosts) == 4 * len(PARTS)
    narrow = {name: np.broadcast_to(rows[1], rows.shape) for name, rows in flown.angles.items()}
    sure = airplane_shapes(flown.__class__(**{**vars(flown), "angles": narrow}), stage, 40.0)
    assert _reach(shapes) > _reach(sure) > 0.0
    hidden = {name: rows for name, rows in flown.angles.items() if name != "bank_angle"}
    assert (
        len(airplane_shapes(flown.__class__(**{**vars(flown), "angles": hidden}), stage, 40.0)) == 1
    )


def test_terrain_of_the_case_is_the_ground(tmp_path, repository) -> None:
    """The hills of the shipped case: whole meters of height, as its file has them."""
    tifffile = pytest.importorskip("tifffile")
    example = repository / "examples" / "orlembeck"
    for name in ("case.toml", "hills.tif"):
        shutil.copy(example / name, tmp_path / name)
    place = (47.075 * DEGREE, -35.15 * DEGREE)
    folder = make_results(tmp_path / "results", place=place)
    ground = flown_of(load_results(folder), (0.0, 20.0)).ground
    assert ground.known and "terrain file" in ground.words
    heights = tifffile.imread(example / "hills.tif")
    stretched = flown_of(load_results(folder), (0.0, 20.0)).stretch
    assert heights.min() - 1 <= (-ground.down / stretched).min()
    assert (-ground.down / stretched).max() <= heights.max() + 1


def test_arrows_point_north_and_to_below_the_sun(flown, stage) -> None:
    assert flown.sun is None
    shapes, tags = compass_shapes(flown, stage, PLACES)
    assert [tag.text for tag in tags] == ["N"] and len(shapes) == 2
    east = dataclasses.replace(flown, sun=(90.0 * DEGREE, 30.0 * DEGREE))
    shapes, tags = compass_shapes(east, stage, PLACES)
    assert tags[1].text == "sun 30\u00b0"
    for line, way in ((shapes[0], [1.0, 0.0, 0.0]), (shapes[2], [0.0, 1.0, 0.0])):
        flat = stage.camera.flat(np.array(way)) - stage.camera.flat(np.zeros(3))
        drawn = np.diff(line.points, axis=0)[0]
        assert np.cross(np.r_[flat, 0.0], np.r_[drawn, 0.0])[2] == pytest.approx(0.0, abs=1e-6)
        assert flat @ drawn > 0.0
    night = dataclasses.replace(flown, sun=(0.0, -0.2))
    assert len(compass_shapes(night, stage, PLACES)[1]) == 1


def test_the_nose_keeps_to_a_path_whose_heights_are_drawn_larger() -> None:
    """A climb of 45 degrees drawn five times as high is one of atan 5; level and down likewise."""
    assert as_drawn(np.array(45.0 * DEGREE), 1.0) == pytest.approx(45.0 * DEGREE)
    np.testing.assert_allclose(np.tan(as_drawn(np.array([45.0, 0.0, -45.0]) * DEGREE, 5.0)),
                               [5.0, 0.0, -5.0], atol=1e-12)  # fmt: skip


def _reach(shapes) -> float:
    points = np.vstack([shape.points for shape in shapes])
    return float(np.prod(np.ptp(points, axis=0)))


def test_the_trail_is_colored_by_load_factor(flown, stage) -> None:
    """A hump of 1 g after 40 s: one color before, another at the top; the ramp is in order."""
    trail = trail_shapes(flown, stage, 0, len(flown.time) - 1)
    points = sum(len(shape.points) - 1 for shape in trail)
    assert points == len(flown.time) - 1
    assert loads_of(flown)[0] <= 1.0 < loads_of(flown)[1]
    assert trail[0].line != trail_shapes(flown, stage, 79, 81)[0].line


def test_scales_say_pitch_and_bank_with_their_bands(flown, stage) -> None:
    _, labels = attitude_shapes(flown, stage, 40.0, (0.0, 0.0, 400.0, 120.0))
    pitch, bank = (label.text for label in labels)
    # -0.05 - 0.3 rad = -20 degrees; 0.4 rad = 23 degrees; 20 paths drawn with 3 degrees of error.
    assert pitch.startswith("Pitch \u221220\u00b0 (") and bank.startswith("Bank 24\u00b0 (")
    unseen = {name: np.zeros(len(flown.time), bool) for name in flown.seen}
    hidden = flown.__class__(**{**vars(flown), "seen": unseen})
    shapes, labels = attitude_shapes(hidden, stage, 40.0, (0.0, 0.0, 400.0, 120.0))
    assert [label.text for label in labels] == ["Pitch: not observable", "Bank: not observable"]
    assert not any(shape.fill for shape in shapes)


def test_a_canvas_paints_the_same_twice(flown, stage) -> None:
    canvas = Canvas(400, 300, DARK.paper)
    first = canvas.paint(airplane_shapes(flown, stage, 20.0)).copy()
    assert len(np.unique(first.reshape(-1, 4), axis=0)) > 10
    canvas.clear()
    np.testing.assert_array_equal(canvas.paint(airplane_shapes(flown, stage, 20.0)), first)
