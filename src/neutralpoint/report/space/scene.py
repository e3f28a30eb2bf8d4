"""The scene at a moment: ground, trail by load factor, airplane and ghosts, attitude scales."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from matplotlib.colors import LinearSegmentedColormap, to_hex, to_rgb
from scipy.spatial import ConvexHull

from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import DEGREE, NAUTICAL_MILE
from neutralpoint.report.figures.display import printed
from neutralpoint.report.figures.look import Look
from neutralpoint.report.space.camera import Camera
from neutralpoint.report.space.flown import Ground, SpacePath
from neutralpoint.report.space.shapes import Stroke, Tag
from neutralpoint.report.space.solid import brightness, normals, parts, rotation

POSTS = 9  # plumb lines from the trail to the grid
SIZE = 0.08  # length of the airplane as drawn, in parts of the width of the scene
RAY = 0.05  # length of an arrow of the compass, in parts of the width
GHOST = 0.34  # opacity of a ghost
PARTS = parts()
SOLID = [plate for part in PARTS for plate in part]
NORMALS, MIDDLES = normals(SOLID), [plate.mean(axis=0) for plate in SOLID]
HEADS = (0.35, 0.8)  # of what is flown, where heads of arrows lie on the ground
ASIDE = 0.42  # middle of a scale of attitude from the outer edge, in shares of a half
MARKS = range(-30, 31, 10)  # degrees on a scale of attitude
STEPS = 24  # colors of the trail


@dataclass(frozen=True)
class SpaceView:
    """How the scene is drawn.

    Attributes:
        camera: From where.
        look: Colors.
        width: Of the scene, pixels.
        stroke: Width of a thin line, pixels.
    """

    camera: Camera
    look: Look
    width: float
    stroke: float


@lru_cache
def _ramp(colors: tuple[str, ...]) -> tuple[str, ...]:
    ramp = LinearSegmentedColormap.from_list("load", colors)
    return tuple(to_hex(ramp(share)) for share in np.linspace(0.0, 1.0, STEPS))


def loads_of(flown: SpacePath) -> tuple[float, float]:
    """Load factors at the ends of the ramp: halves that enclose the flight, at least one apart."""
    if not np.isfinite(flown.loads).all():
        return 0.5, 1.5
    low, high = np.floor(2.0 * flown.loads[0]) / 2.0, np.ceil(2.0 * flown.loads[1]) / 2.0
    return float(low), float(max(high, low + 1.0))


def _steps(flown: SpacePath) -> Array:
    """Place on the ramp of each time; -1 where no load factor is known."""
    low, high = loads_of(flown)
    share = np.clip((flown.load - low) / (high - low), 0.0, 1.0)
    return np.where(np.isfinite(share), np.round(share * (STEPS - 1)), -1.0).astype(int)


def ramp_shapes(
    flown: SpacePath, stage: SpaceView, left: float, bottom: float
) -> tuple[list[Stroke], list[Tag]]:
    """The ramp with its ends: what the colors of the trail say."""
    look, wide, high = stage.look, 4.0 * stage.stroke, 10.0 * stage.stroke
    shapes = []
    for k, color in enumerate(_ramp(look.ramp)):
        x = left + k * wide
        box = np.array([[x, bottom], [x + wide, bottom], [x + wide, bottom + high],
                        [x, bottom + high]])  # fmt: skip
        shapes.append(Stroke(box, fill=color))
    low, top = loads_of(flown)
    place = (left + STEPS * wide, bottom + high / 2.0)
    text = f"{low:g} to {top:g} g"
    if low < 1.0 < top:
        x = left + STEPS * wide * (1.0 - low) / (top - low)
        ends = np.array([[x, bottom - 0.4 * high], [x, bottom + 1.4 * high]])
        shapes.append(Stroke(ends, line=look.ink, width=1.5 * stage.stroke))
        text += ", mark 1 g"
    return shapes, [Tag(text.replace("-", "\u2212"), place, look.ink)]


def ground_shapes(
    ground: Ground, stage: SpaceView, room: tuple[float, float, float, float]
) -> list[Stroke]:
    """Lines of the ground; dashed where it is not known.

    Args:
        ground: What lies below.
        stage: How it is drawn.
        room: Left, bottom, right and top, pixels: no line leaves it, so that none crosses words.

    Returns:
        A shape for each piece of a line.
    """
    lines = []
    dashes = () if ground.known else (3.0 * stage.stroke, 4.0 * stage.stroke)
    mesh = np.stack([*np.meshgrid(ground.north, ground.east, indexing="ij"), ground.down], -1)
    for row in [*mesh, *np.swapaxes(mesh, 0, 1)]:
        lines += [
            Stroke(piece, line=stage.look.quiet, width=stage.stroke, alpha=0.6, dashes=dashes)
            for piece in within_room(stage.camera.flat(row), room)
        ]
    return lines


def within_room(line: Array, room: tuple[float, float, float, float]) -> list[Array]:
    """Pieces of a line of straight parts within a box.

    Args:
        line: Pixels, shape (n, 2).
        room: Left, bottom, right and top, pixels.

    Returns:
        Each piece, shape (2, 2). Source: Liang and Barsky, ACM Transactions on Graphics 3 (1984)
        1-22, from memory.
    """
    low, high = np.array(room[:2]), np.array(room[2:])
    begin, way = line[:-1], np.diff(line, axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        near, far = (low - begin) / way, (high - begin) / way
    still = way == 0.0
    inside = (begin >= low) & (begin <= high)
    first = np.where(still, np.where(inside, -np.inf, np.inf), np.minimum(near, far))
    last = np.where(still, np.where(inside, np.inf, -np.inf), np.maximum(near, far))
    enter, leave = np.clip(first.max(axis=1), 0.0, 1.0), np.clip(last.min(axis=1), 0.0, 1.0)
    kept = np.flatnonzero((first.max(axis=1) < last.min(axis=1)) & (enter < leave))
    return [np.array([begin[k] + enter[k] * way[k], begin[k] + leave[k] * way[k]]) for k in kept]


def trail_shapes(flown: SpacePath, stage: SpaceView, first: int, last: int) -> list[Stroke]:
    """The trail from one time to another, colored by load factor.

    Args:
        flown: The motion.
        stage: How it is drawn.
        first: Place of the first time.
        last: Place of the last time.

    Returns:
        A short line for each step, with a seam below.
    """
    flat, steps = stage.camera.flat(flown.path), _steps(flown)
    ramp, width = _ramp(stage.look.ramp), 5.0 * stage.stroke
    shapes, k = [], first
    while k < last:
        end = k + 1
        while end < last and steps[end] == steps[k]:
            end += 1
        color = ramp[steps[k]] if steps[k] >= 0 else stage.look.inks[0]
        shapes.append(Stroke(flat[k : end + 1], line=color, width=width))
        k = end
    return shapes


def shadow_shapes(flown: SpacePath, stage: SpaceView, first: int, last: int) -> list[Stroke]:
    """The path on the ground below from one time to another, and plumb lines to it."""
    span = slice(first, last + 1)
    below = np.column_stack([flown.path[span, :2], ground_under(flown)[span]])
    flat, up = stage.camera.flat(below), stage.camera.flat(flown.path[span])
    strokes = [Stroke(flat, line=stage.look.quiet, width=1.6 * stage.stroke, alpha=0.7)]
    every = max(len(flown.time) // POSTS, 1)
    for k in range(len(flat)):
        if (first + k) % every == 0:
            post = np.array([flat[k], up[k]])
            strokes.append(Stroke(post, line=stage.look.quiet, width=stage.stroke, alpha=0.6))
    return strokes + _arrows(flat, stage)


def _arrows(flat: Array, stage: SpaceView) -> list[Stroke]:
    """Which way it was flown: heads along the path on the ground."""
    places = [round(share * (len(flat) - 1)) for share in HEADS]
    return [_head(flat[[k - 1, k]], stage, stage.look.quiet) for k in places if k > 0]


def ground_under(flown: SpacePath) -> Array:
    """Down coordinate of the ground under the path, nearest line of the lattice."""
    ground = flown.ground
    rows = np.abs(ground.north[:, None] - flown.path[:, 0]).argmin(axis=0)
    columns = np.abs(ground.east[:, None] - flown.path[:, 1]).argmin(axis=0)
    return ground.down[rows, columns]


def compass_shapes(
    flown: SpacePath, stage: SpaceView, places: list[tuple[float, float]]
) -> tuple[list[Stroke], list[Tag]]:
    """Arrows flat on the ground to the north and, where it is up, to below the sun.

    Args:
        flown: The motion.
        stage: How it is drawn.
        places: Middles of the two arrows, pixels; their names stand to the right.

    Returns:
        Shapes and labels.
    """
    ways = [("N", 0.0, stage.look.ink)]
    if flown.sun is not None and flown.sun[1] > 0.0:
        text = f"sun {np.degrees(flown.sun[1]):.0f}\u00b0"
        ways.append((text, flown.sun[0], stage.look.caution))
    shapes, tags = [], []
    zero, reach = stage.camera.flat(np.zeros(3)), RAY * stage.width
    for (text, azimuth, color), place in zip(ways, places, strict=False):
        start = np.array(place, float)
        way = stage.camera.flat(np.array([np.cos(azimuth), np.sin(azimuth), 0.0])) - zero
        half = 0.5 * reach / stage.camera.scale * way
        line = np.array([start - half, start + half])
        shapes += [Stroke(line, line=color, width=1.5 * stage.stroke), _head(line, stage, color)]
        tags.append(Tag(text, (float(start[0]) + 0.55 * reach, float(start[1])), color))
    return shapes, tags


def _head(line: Array, stage: SpaceView, color: str) -> Stroke:
    """The head of an arrow at the end of a line."""
    way = (line[-1] - line[0]) / max(float(np.linalg.norm(line[-1] - line[0])), 1e-9)
    across, size = np.array([-way[1], way[0]]), 5.0 * stage.stroke
    back = line[-1] - 2.0 * size * way
    return Stroke(np.array([line[-1], back + 0.8 * size * across, back - 0.8 * size * across]),
                  fill=color)  # fmt: skip


def airplane_shapes(flown: SpacePath, stage: SpaceView, at: float) -> list[Stroke]:
    """The airplane with ghosts at 5 and 95% of its pitch and of its bank.

    Args:
        flown: The motion.
        stage: How it is drawn.
        at: s after the first moment of the record.

    Returns:
        Shapes; a disk where the attitude is not known.
    """
    place = np.array([np.interp(at, flown.time, flown.path[:, k]) for k in range(3)])
    if set(flown.angles) != {"pitch_angle", "bank_angle", "heading_of_air_velocity"}:
        return [disk(stage.camera.flat(place), 7.0 * stage.stroke, stage.look)]
    pitch, bank = (angles_at(flown, name, at) for name in ("pitch_angle", "bank_angle"))
    pitch = as_drawn(pitch, flown.stretch)
    heading = angles_at(flown, "heading_of_air_velocity", at)[1]
    size = SIZE * stage.width / stage.camera.scale
    shapes = []
    for p, b in ((pitch[0], bank[1]), (pitch[2], bank[1]), (pitch[1], bank[0]),
                 (pitch[1], bank[2])):  # fmt: skip
        shapes += solid_shapes(place, rotation(heading, p, b), size, stage, ghost=True)
    return shapes + solid_shapes(place, rotation(heading, pitch[1], bank[1]), size, stage)


def as_drawn(pitch: Array, stretch: float) -> Array:
    """Pitch where heights are drawn larger: the nose keeps to the path, which is steeper there."""
    return pitch if stretch == 1.0 else np.arctan2(stretch * np.sin(pitch), np.cos(pitch))


def angles_at(flown: SpacePath, name: str, at: float) -> Array:
    """5, 50 and 95% of an angle at a moment; a turn through north is followed."""
    return np.array([np.interp(at, flown.time, np.unwrap(row)) for row in flown.angles[name]])


def disk(center: Array, radius: float, look: Look) -> Stroke:
    """A place where nothing more is known."""
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    points = center + radius * np.column_stack([np.cos(turn), np.sin(turn)])
    return Stroke(points, fill=look.inks[0], line=look.ink, width=1.5)


def solid_shapes(
    place: Array, turn: Array, size: float, stage: SpaceView, *, ghost: bool = False
) -> list[Stroke]:
    """The solid at a place, its plates from far to near; of a ghost the outlines alone."""
    look = stage.look
    if ghost:
        turned = [place + size * (np.vstack(part) @ turn.T) for part in PARTS]
        return [
            Stroke(
                outline(stage.camera.flat(part)),
                fill=look.quiet,
                line=look.ink,
                width=0.4 * stage.stroke,
                alpha=GHOST,
            )
            for part in turned
        ]
    plates = [stage.camera.flat(place + size * (face @ turn.T)) for face in SOLID]
    light = brightness(NORMALS @ turn.T)
    depth = [float(stage.camera.depth(size * (middle @ turn.T))) for middle in MIDDLES]
    base = np.array(to_rgb(look.solid))
    return [
        Stroke(plates[k], fill=to_hex(base * light[k]), line=look.paper, width=0.3 * stage.stroke)
        for k in sorted(range(len(plates)), key=lambda k: -depth[k])
    ]


def outline(points: Array) -> Array:
    """Corners of the smallest convex outline of points, shape (n, 2)."""
    return points[ConvexHull(points).vertices]


def scale_bar(stage: SpaceView, left: float, bottom: float) -> tuple[list[Stroke], list[Tag]]:
    """A bar of round length: lengths across the picture are the same everywhere."""
    wanted = 0.16 * stage.width / stage.camera.scale
    steps = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
    miles = max((s for s in steps if s * NAUTICAL_MILE <= wanted), default=steps[0])
    length = miles * NAUTICAL_MILE * stage.camera.scale
    look = stage.look
    ends = np.array([[left, bottom], [left + length, bottom]])
    tick = np.array([[0.0, -4.0 * stage.stroke], [0.0, 4.0 * stage.stroke]])
    shapes = [Stroke(ends, line=look.ink, width=2.0 * stage.stroke)]
    shapes += [Stroke(end + tick, line=look.ink, width=2.0 * stage.stroke) for end in ends]
    return shapes, [Tag(f"{miles:g} NM", (left + length, bottom), look.ink)]


def attitude_shapes(
    flown: SpacePath, stage: SpaceView, at: float, box: tuple[float, float, float, float]
) -> tuple[list[Stroke], list[Tag]]:
    """Pitch from the side and bank from behind, each as a plain outline against a level line.

    Args:
        flown: The motion.
        stage: How it is drawn.
        at: s after the first moment of the record.
        box: Left, bottom, right and top, pixels; the two stand side by side.

    Returns:
        Shapes and labels.
    """
    shapes: list[Stroke] = []
    labels: list[Tag] = []
    left, bottom, right, top = box
    half, room = (right - left) / 2.0, 42.0 * stage.stroke / 1.6
    aside = (0.5 - ASIDE) * half  # so that arrows to north and sun have room between the two
    k = int(np.argmin(np.abs(flown.time - at)))
    for number, (name, drawn) in enumerate((("pitch_angle", SIDE), ("bank_angle", BEHIND))):
        if name not in flown.angles:
            continue
        side = left + number * half
        center = np.array([side + half / 2.0 + (aside if number else -aside),
                           (bottom + top - room) / 2.0])  # fmt: skip
        radius = min(half * 0.44, (top - bottom - room) * 0.62)
        shapes += _dial(center, radius, angles_at(flown, name, at), drawn, stage,
                        known=bool(flown.seen[name][k]), turned=name == "bank_angle")  # fmt: skip
        words = _angle_words(flown, name, at, k)
        labels.append(Tag(words, (side + number * aside, top - room / 2.0), stage.look.ink))
    return shapes, labels


SIDE = np.array([(0.9, 0.0), (0.7, 0.09), (-0.5, 0.10), (-0.66, 0.34), (-0.84, 0.34), (-0.8, 0.06),
                 (-0.9, 0.03), (-0.5, -0.07), (0.6, -0.08)])  # fmt: skip
BEHIND = np.array([(1.0, 0.02), (0.13, 0.05), (0.09, 0.12), (0.02, 0.15), (0.015, 0.40),
                   (-0.015, 0.40), (-0.02, 0.15), (-0.09, 0.12), (-0.13, 0.05), (-1.0, 0.02),
                   (-1.0, -0.02), (-0.12, -0.08), (0.12, -0.08), (1.0, -0.02)])  # fmt: skip


def _dial(
    center: Array, radius: float, angles: Array, drawn: Array, stage: SpaceView, *, known: bool,
    turned: bool,
) -> list[Stroke]:  # fmt: skip
    """A level line with marks each 10 degrees, a wedge for 90%, the outline at the median."""
    look, sign = stage.look, -1.0 if turned else 1.0
    level = np.array([[-radius, 0.0], [radius, 0.0]])
    shapes = [Stroke(center + level, line=look.ink, width=1.5 * stage.stroke,
                    dashes=(4.0 * stage.stroke, 3.0 * stage.stroke))]  # fmt: skip
    for mark in MARKS:
        direction = _unit(sign * mark * DEGREE)
        ends = np.array([0.86 if mark % 30 else 0.80, 0.94])[:, None] * direction * radius
        shapes.append(Stroke(center + ends, line=look.quiet, width=1.5 * stage.stroke))
    if not known:
        return shapes
    sweep = np.linspace(angles[0], angles[2], 12) * sign
    wedge = radius * 0.94 * np.column_stack([np.cos(sweep), np.sin(sweep)])
    shapes.append(Stroke(center + np.vstack([[0.0, 0.0], wedge]), fill=look.band_50, alpha=0.6))
    shapes.append(
        Stroke(center + 0.78 * radius * (drawn @ _turn(sign * angles[1]).T),
              fill=look.inks[0], line=look.ink, width=0.8 * stage.stroke)
    )  # fmt: skip
    return shapes


def _unit(angle: float) -> Array:
    return np.array([np.cos(angle), np.sin(angle)])


def _turn(angle: float) -> Array:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s], [s, c]])


def _angle_words(flown: SpacePath, name: str, at: float, k: int) -> str:
    title = {"pitch_angle": "Pitch", "bank_angle": "Bank"}[name]
    if not flown.seen[name][k]:
        return f"{title}: not observable"
    low, middle, high = angles_at(flown, name, at) / DEGREE
    return f"{title} {printed(middle, 0)}\u00b0 ({printed(low, 0)} to {printed(high, 0)})"
