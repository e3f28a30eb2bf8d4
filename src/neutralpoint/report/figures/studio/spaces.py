"""The path in space as a picture: airplanes with their ghosts along it, attitude scales beside."""

from __future__ import annotations

import numpy as np

from neutralpoint.quantities import DEGREE
from neutralpoint.report.figures.display import SHOWN, clock
from neutralpoint.report.figures.studio.frame import ChartPlace, Picture
from neutralpoint.report.figures.studio.lettering import width_of
from neutralpoint.report.results import Results
from neutralpoint.report.space.camera import fitted
from neutralpoint.report.space.flown import SpacePath, flown_of
from neutralpoint.report.space.scene import (
    SIZE,
    SpaceView,
    airplane_shapes,
    compass_shapes,
    ground_shapes,
    ramp_shapes,
    scale_bar,
    shadow_shapes,
    trail_shapes,
)
from neutralpoint.report.space.shapes import Stroke, Tag, paint_axes
from neutralpoint.report.words.titles import pitch_title

FLOOR = 0.16  # of the height: no line of the ground lies below, where the scales stand
COMPASS = (0.12, 0.05)  # of the height: over the scales, beside them where a picture is wide
AIRPLANES = 7  # drawn along the path
BEFORE = 12.0  # s shown before the onset; analyst's

APART = 1.05  # lengths of an airplane, from one to the next, so that none lies over another
ASIDE, DOWN = 86.0, 9.0  # deg: off the direction of flight, and down, from which one looks


def draw_space(body: Picture) -> None:
    """The path, colored by load factor, over a grid, with airplanes at even times."""
    within = body.within or _about_onset(body.results, body.last)
    flown = flown_of(body.results, within)
    wide = 1000.0
    high = wide * (1.05 if body.form.height > body.form.width else 0.44)
    along = flown.path[-1, :2] - flown.path[0, :2]
    azimuth = float(np.arctan2(along[1], along[0])) - ASIDE * DEGREE
    box = (0.07 * wide, 0.14 * high, 0.93 * wide, 0.86 * high)
    camera = fitted(flown.extent(), azimuth, DOWN * DEGREE, box)
    stage = SpaceView(camera, body.look, wide, 1.6 * wide / 1000.0)
    last = len(flown.time) - 1
    shapes: list[Stroke] = [
        *ground_shapes(flown.ground, stage, (0.0, FLOOR * high, wide, high)),
        *shadow_shapes(flown, stage, 0, last),
        *trail_shapes(flown, stage, 0, last),
    ]
    flat = camera.flat(flown.path)
    times = moments_of(flown, flat, SIZE * wide)
    places, steep = [], []
    for at in times:
        shapes += airplane_shapes(flown, stage, float(at))
        places.append([float(np.interp(at, flown.time, flat[:, k])) for k in (0, 1)])
        steep.append(_steep(flown, flat, float(at)))
    bar, words = scale_bar(stage, 0.01 * wide, 0.05 * high)
    ramp, ends = ramp_shapes(flown, stage, 0.30 * wide, 0.05 * high - 8.0)
    up = COMPASS[body.form.key == "wide"] * high
    ray, sun = compass_shapes(flown, stage, [(0.72 * wide, up), (0.84 * wide, up)])
    axes = body.sheet.subplots()
    axes.set_axis_off()
    axes.set_aspect("equal")
    axes.set_xlim(0.0, wide)
    axes.set_ylim(0.0, high)
    paint_axes(axes, [*shapes, *bar, *ramp, *ray], body.form.dots)
    for tag in [*words, *ends, *sun]:
        _tag(body, axes, tag)
    aside = dict(zip(times.tolist(), steep, strict=True))
    for at, place in _apart(body, times, places, wide):
        feet = SHOWN["altitude"]
        text = f"{_clock(body, float(at))}\n{feet.with_unit(feet.number(flown.height(float(at))))}"
        # Beside a path that falls or climbs steeply, else over it: never on the airplane.
        shift = (body.look.line(24.0), 0.0) if aside[float(at)] else (0.0, body.look.line(9.0))
        ends = ("left", "center") if aside[float(at)] else ("center", "bottom")
        axes.annotate(text, tuple(place), xytext=shift, textcoords="offset points", ha=ends[0],
                      va=ends[1], fontsize=body.small, zorder=5,
                      bbox={"facecolor": body.look.paper, "edgecolor": "none",
                            "pad": body.look.line(0.5)})  # fmt: skip
    if "pitch_angle" in flown.angles:
        pitch = np.where(flown.seen["pitch_angle"], flown.angles["pitch_angle"], np.nan)
        body.title = pitch_title(flown.time + _midnight(body), pitch)
    body.said += [f"{text}." for text in flown.words()]
    body.said.append("Clocks: UTC, with the height above the sea.")
    body.places["space"] = ChartPlace(axes)


def _apart(body: Picture, times: np.ndarray, places: list, wide: float) -> list:
    """Moments whose clocks do not lie over another, the last ones first."""
    pixels = body.form.pixels(body.small)
    unit = wide / body.form.width * 1.35  # of the drawing in a pixel, and some to spare
    across, up = width_of("00,000 ft", pixels) * unit, 2.6 * pixels * unit
    kept: list = []
    for at, place in zip(times[::-1], places[::-1], strict=True):
        if all(abs(place[0] - p[0]) > across or abs(place[1] - p[1]) > up for _, p in kept):
            kept.append((at, place))
    return kept


def _steep(flown: SpacePath, flat: np.ndarray, at: float) -> bool:
    """Whether the path runs up or down on the picture at a moment."""
    k = int(np.clip(np.searchsorted(flown.time, at), 1, len(flat) - 1))
    across, up = np.abs(flat[k] - flat[k - 1])
    return bool(up > across)


def moments_of(flown: SpacePath, flat: np.ndarray, size: float) -> np.ndarray:
    """When airplanes are drawn: at the ends, at extremes of pitch and height, evenly between.

    Args:
        flown: The motion.
        flat: Its path on the picture, shape (m, 2).
        size: Length of an airplane there, in the same unit.

    Returns:
        Times in order, s after the first of the record; as many as have room beside one another.
    """
    gone = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(flat, axis=0), axis=1))]
    near = APART * size / max(float(gone[-1]), 1e-9)
    count = int(np.clip(1.0 / near + 1.0, 2, AIRPLANES))
    gone /= max(float(gone[-1]), 1e-9)
    shares = [0.0, 1.0]
    pitch = np.where(flown.seen.get("pitch_angle", False), flown.angles.get(
        "pitch_angle", np.full((3, len(flown.time)), np.nan))[1], np.nan)  # fmt: skip
    picked = [pick(pitch) for pick in (np.nanargmax, np.nanargmin) if np.isfinite(pitch).any()]
    for k in [*picked, int(np.argmin(flown.path[:, 2])), int(np.argmax(flown.path[:, 2]))]:
        at = float(gone[k])
        if min(abs(at - one) for one in shares) > near:
            shares.append(at)
    while len(shares) < count:  # halve the widest gap
        shares.sort()
        k = int(np.argmax(np.diff(shares)))
        if shares[k + 1] - shares[k] < 2.0 * near:
            break
        shares.append((shares[k] + shares[k + 1]) / 2.0)
    return np.interp(sorted(shares), gone, flown.time)


def _about_onset(results: Results, until: float | None) -> tuple[float, float] | None:
    """From shortly before the onset on; all that is shown of the record without one."""
    motion = results.findings.motion
    found = None if motion is None else motion.onset
    last = float(results.time[-1] - results.time[0]) if until is None else until
    if found is None or not found.found:
        return None if until is None else (0.0, last)
    first = max(0.0, found.left[0] - BEFORE - float(results.time[0]))
    return (first, last) if first < last - BEFORE else (max(0.0, last - BEFORE), last)


def _clock(body: Picture, at: float) -> str:
    return clock(at + _midnight(body))


def _midnight(body: Picture) -> float:
    """The first moment of the record, s after midnight."""
    epoch = body.findings.epoch
    return epoch.hour * 3600 + epoch.minute * 60 + epoch.second + float(body.results.time[0])


def _tag(body: Picture, axes, tag: Tag) -> None:
    axes.annotate(
        tag.text, tag.place, xytext=(body.look.line(3.0), 0.0), textcoords="offset points",
        va="center", fontsize=body.small, zorder=5,
    )  # fmt: skip
