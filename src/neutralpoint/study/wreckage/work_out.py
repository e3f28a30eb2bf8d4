"""The sample paths of a case continued to the ground, and its parts traced back to them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.special import logsumexp

from neutralpoint.case import Case
from neutralpoint.case.debris_entry import DebrisEntry
from neutralpoint.case.evidence_entries import ImpactEntry, TreeCutsEntry
from neutralpoint.case.ground import ground_of
from neutralpoint.earth import atmosphere
from neutralpoint.earth.weather import HEIGHT_SCALE
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import EARTH_RADIUS
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.wreckage import (
    AirColumn,
    Ending,
    FoundPart,
    PathControls,
    PathState,
    Region,
    Releases,
    Trace,
    continue_paths,
    likely_region,
    release_times,
)
from neutralpoint.wreckage.release import landings

BEFORE, AFTER = 90.0, 60.0  # s around the last reading in which parts may come off; analyst's
KNOT = 3.0  # s between the releases that are flown to the ground
LAYER = 100.0  # m of the column of air
HELD = 1.0  # s of the last reading over which load factor and bank are averaged
# How far parts that were carried to the ground lie from where the airplane struck, standard
# deviation, m: a shallow impact throws further. Analyst's estimate.
THROWN = 120.0
LEAST_WIDTH = 30.0  # m: no search map is finer; analyst's


@dataclass(frozen=True)
class PlaneFrame:
    """Meters north and east of a place.

    Attributes:
        latitude: rad.
        longitude: rad.
    """

    latitude: float
    longitude: float

    def flat(self, latitude: Array, longitude: Array) -> tuple[Array, Array]:
        """From geographic to meters north and east."""
        east = np.mod(longitude - self.longitude + np.pi, 2.0 * np.pi) - np.pi
        return (
            EARTH_RADIUS * (latitude - self.latitude),
            EARTH_RADIUS * np.cos(self.latitude) * east,
        )

    def round(self, north: Array, east: Array) -> tuple[Array, Array]:
        """From meters to latitude and longitude, rad."""
        return (
            self.latitude + north / EARTH_RADIUS,
            self.longitude + east / (EARTH_RADIUS * np.cos(self.latitude)),
        )


@dataclass(frozen=True)
class GroundScene:
    """What every continuation of a case starts from.

    Attributes:
        frame: Meters about the last reading.
        last: Its time, s after the epoch.
        state: Of each path then.
        held: Load factors and bank of the last moment, held.
        ground: m above the sea by m north and east.
        kind: What the ground is known from.
    """

    frame: PlaneFrame
    last: float
    state: PathState
    held: PathControls
    ground: Callable[[Array, Array], Array]
    kind: Literal["terrain", "stated"]


@dataclass(frozen=True)
class TracedBack:
    """What was found; times in s after the last reading unless said.

    Attributes:
        scene: What it starts from.
        begin: Earliest release, s after the epoch.
        ending: Of the paths.
        found: Parts with a place.
        parts: The same as they were traced.
        releases: What their places say; None without any.
        regions: Missing parts with their maps, and whether the time of a break-up was used.
        in_flight: ln Bayes factor of parts that came off in flight; None without any.
        air: Column of each path.
    """

    scene: GroundScene
    begin: float
    ending: Ending
    found: list[DebrisEntry]
    parts: list[FoundPart]
    releases: Releases | None
    regions: list[tuple[DebrisEntry, Region, bool]]
    in_flight: float | None
    air: AirColumn


def without_ground(case: Case) -> str:
    """Why a case cannot be continued to the ground; empty where it can."""
    marks = any(isinstance(e, ImpactEntry | TreeCutsEntry) for e in case.document.evidence)
    if not case.document.debris and not marks:
        return "The case names neither parts nor marks: add `[[debris]]` or marks of the impact."
    if not case.document.terrain and all(part.height is None for part in case.document.debris):
        return "The height of the ground is not known: add terrain, or `height` to the parts."
    return ""


def place_of(entry: ImpactEntry, frame: PlaneFrame) -> tuple[float, float]:
    """Place of an impact, m north and east; the entry states one."""
    if entry.latitude is None or entry.longitude is None:  # the file's own check refuses half
        raise ValueError("an entry with the error of a place has no place")
    place = np.array([entry.latitude.value]), np.array([entry.longitude.value])
    north, east = frame.flat(*place)
    return float(north[0]), float(east[0])


def scene_of(case: Case, motion: KeptMotion) -> GroundScene:
    """The last reading in the air, and the ground about it.

    Args:
        case: The case; `without_ground` says nothing against it.
        motion: Its motion.

    Returns:
        The scene.
    """
    flying = ~motion.is_fix & ~motion.ground
    at = int(np.flatnonzero(flying)[-1]) if flying.any() else len(motion.time) - 1
    near = ~motion.is_fix & (np.abs(motion.time - motion.time[at]) <= HELD)
    paths = {name: values.astype(float) for name, values in motion.paths.items()}
    frame = PlaneFrame(*(float(np.median(paths[n][:, at])) for n in ("latitude", "longitude")))
    ground, kind = _ground(case, frame)
    north, east = frame.flat(paths["latitude"][:, at], paths["longitude"][:, at])
    bank = np.angle(np.exp(1j * paths["bank_angle"][:, near]).mean(axis=1))
    state = PathState(
        north, east, paths["altitude"][:, at], paths["true_airspeed"][:, at],
        paths["flight_path_angle"][:, at], paths["heading_of_air_velocity"][:, at],
        paths["wind_north"][:, at], paths["wind_east"][:, at],
    )  # fmt: skip
    held = PathControls(
        1.0,
        paths["normal_load_factor"][:, near].mean(axis=1)[:, None],
        paths["longitudinal_load_factor"][:, near].mean(axis=1)[:, None],
        bank[:, None],
    )
    return GroundScene(frame, float(motion.time[at]), state, held, ground, kind)


def _ground(
    case: Case, frame: PlaneFrame
) -> tuple[Callable[[Array, Array], Array], Literal["terrain", "stated"]]:
    document = case.document
    stated = [part.height.value for part in document.debris if part.height is not None]
    level = float(np.mean(stated)) if stated else np.nan
    if not document.terrain:
        return (lambda north, east: np.full(np.shape(north), level)), "stated"
    at = ground_of(case.folder, document.terrain, document.geoid_height)
    middle = float(at(np.array([frame.latitude]), np.array([frame.longitude]))[0])
    rest = level if np.isfinite(level) else (middle if np.isfinite(middle) else 0.0)

    def terrain(north: Array, east: Array) -> Array:
        height = at(*frame.round(north, east))
        return np.where(np.isfinite(height), height, rest)

    return terrain, "terrain"


def trace_back(case: Case, motion: KeptMotion, rng: np.random.Generator) -> TracedBack:
    """Continue the paths to the ground and trace the parts back to them.

    Args:
        case: The case.
        motion: Its motion.
        rng: Source of random numbers.

    Returns:
        What was found.
    """
    scene = scene_of(case, motion)
    ending = continue_paths(scene.state, scene.held, scene.ground)
    air = _air(case, motion, scene, rng)
    trace = _trace(motion, scene, ending)
    found = [entry for entry in case.document.debris if not entry.missing]
    parts = [_part(entry, scene, len(ending.time), rng) for entry in found]
    releases = release_times(trace, parts, air, rng) if parts else None
    return TracedBack(
        scene=scene,
        begin=float(trace.time[0]) + scene.last,
        ending=ending,
        found=found,
        parts=parts,
        releases=releases,
        regions=[
            _region(entry, trace, air, scene, releases, rng)
            for entry in case.document.debris
            if entry.missing
        ],
        in_flight=None if releases is None else _in_flight(case, scene, ending, parts, releases),
        air=air,
    )


def _air(case: Case, motion: KeptMotion, scene: GroundScene, rng: np.random.Generator) -> AirColumn:
    """Wind by height for each path: drawn, and drawn toward what the path had where it flew."""
    state = scene.state
    low = float(np.min(scene.ground(state.north, state.east))) - 10.0 * LAYER
    high = float(motion.paths["altitude"].max()) + LAYER
    levels = np.arange(low, high + LAYER, LAYER)
    pressure_altitude = levels + float(atmosphere.pressure_altitude(case.altimeter_setting.value))
    every = np.tile(pressure_altitude, (len(state.north), 1))
    north, east, _ = case.weather.draw(rng, every, np.full(levels.size, scene.last))
    near = np.exp(-np.abs(levels - state.height[:, None]) / HEIGHT_SCALE)
    at = np.clip(np.rint((state.height - low) / LAYER).astype(int), 0, levels.size - 1)
    rows = np.arange(len(state.north))
    north = north + near * (state.wind_north - north[rows, at])[:, None]
    east = east + near * (state.wind_east - east[rows, at])[:, None]
    temperature = case.weather.at(pressure_altitude)[2]
    density = atmosphere.density(atmosphere.pressure(pressure_altitude), temperature)
    return AirColumn(low, LAYER, north, east, density)


def _trace(motion: KeptMotion, scene: GroundScene, ending: Ending) -> Trace:
    """Paths before the last reading and after it, at knots."""
    grid = ~motion.is_fix & ~motion.ground
    grid &= (motion.time >= scene.last - BEFORE) & (motion.time <= scene.last)
    before = np.flatnonzero(grid)
    time = motion.time[before] - scene.last
    every = max(1, round(KNOT / max(float(np.median(np.diff(time))), 1e-6))) if len(time) > 1 else 1
    kept = before[::-1][::every][::-1]
    names = ("latitude", "longitude", "altitude", "ground_speed", "track_angle", "vertical_speed")
    paths = {name: motion.paths[name][:, kept].astype(float) for name in names}
    north, east = scene.frame.flat(paths["latitude"], paths["longitude"])
    speed, angle = paths["ground_speed"], paths["track_angle"]
    own = [north, east, paths["altitude"], speed * np.cos(angle), speed * np.sin(angle),
           paths["vertical_speed"]]  # fmt: skip
    after = ending.places[:, round(KNOT / 0.5) :: round(KNOT / 0.5)]
    last = min(AFTER, float(np.quantile(ending.time, 0.95)))
    after = after[:, after[0, :, 0] <= last]
    joined = [np.concatenate([a, after[n + 1].T], axis=1) for n, a in enumerate(own)]
    return Trace(np.concatenate([motion.time[kept] - scene.last, after[0, :, 0]]), *joined)


def _drag_area(entry: DebrisEntry, count: int, rng: np.random.Generator) -> Array:
    """Drag area over mass for each path; errors as shares, so that none is negative."""
    share = np.sqrt(sum((q.sigma / q.value) ** 2 for q in (entry.drag, entry.area, entry.mass)))
    middle = entry.drag.value * entry.area.value / entry.mass.value
    return middle * np.exp(share * rng.standard_normal(count))


def _part(
    entry: DebrisEntry, scene: GroundScene, count: int, rng: np.random.Generator
) -> FoundPart:
    if entry.latitude is None or entry.longitude is None:
        raise ValueError("a missing part is not traced back")
    place = (np.array([entry.latitude.value]), np.array([entry.longitude.value]))
    north, east = scene.frame.flat(*place)
    height = scene.ground(north, east)[0] if entry.height is None else entry.height.value
    return FoundPart(
        entry.name,
        _drag_area(entry, count, rng),
        float(north[0]),
        float(east[0]),
        float(height),
        max(entry.place_error.value / 2.0, 1.0),
    )


def _region(
    entry: DebrisEntry,
    trace: Trace,
    air: AirColumn,
    scene: GroundScene,
    releases: Releases | None,
    rng: np.random.Generator,
) -> tuple[DebrisEntry, Region, bool]:
    """Where a missing part lies: released with the others if one break-up explains those."""
    count = len(trace.height)
    known = releases is not None and releases.one > 0.5
    height = entry.height.value if entry.height is not None else float(
        np.median(scene.ground(scene.state.north, scene.state.east)))  # fmt: skip
    drag = _drag_area(entry, count, rng)
    north, east = landings(trace, drag, air, height, rng)
    if entry.height is None:  # once more to the ground where it would land
        level = float(np.median(scene.ground(north.ravel(), east.ravel())))
        north, east = landings(trace, drag, air, level, rng)
    weight = np.ones_like(north)
    if known and releases is not None:
        weight = weight * np.interp(trace.time, releases.time, releases.weight)
    flat = (weight / weight.sum()).ravel()
    return entry, likely_region(north.ravel(), east.ravel(), flat, LEAST_WIDTH), known


def _in_flight(
    case: Case, scene: GroundScene, ending: Ending, parts: list[FoundPart], releases: Releases
) -> float:
    """ln Bayes factor of release in flight over parts carried to where the airplane struck."""
    struck = [(ending.north, ending.east)]
    for entry in case.document.evidence:
        if isinstance(entry, ImpactEntry) and entry.place_error is not None:
            struck = [tuple(np.array([x]) for x in place_of(entry, scene.frame))]
    north, east = struck[0]
    score = np.zeros(len(north))
    for part in parts:
        variance = part.error**2 + THROWN**2
        away = (north - part.north) ** 2 + (east - part.east) ** 2
        score = score - 0.5 * away / variance - np.log(2.0 * np.pi * variance)
    carried = float(np.asarray(logsumexp(score))) - np.log(len(score))
    flight = float(np.logaddexp(releases.log_once, releases.log_apart) - np.log(2.0))
    return flight - carried
