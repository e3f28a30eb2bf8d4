"""Marks of the impact, held against the flights of each cause."""

from __future__ import annotations

import numpy as np

from neutralpoint.case import track_seconds
from neutralpoint.case.evidence_entries import IMPACT, ImpactEntry, TreeCutsEntry
from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import EARTH_RADIUS
from neutralpoint.study.weighing.endings import Continued
from neutralpoint.study.weighing.held import Held
from neutralpoint.study.wreckage.work_out import place_of, without_ground
from neutralpoint.weighing.broken import broke_at
from neutralpoint.weighing.evidence import Contribution, drift_after, from_flights
from neutralpoint.weighing.flights import Flown

# Of an impact, what paths continued to the ground show; the altitude is that of the ground itself.
ON_GROUND = ("pitch", "bank", "path_angle", "speed")
AT_IMPACT = "Marks are those of the last instant, after any break-up."


def impact(entry: ImpactEntry, held: Held, where: str) -> Contribution:
    """Attitude, speed and place at impact.

    Without a time, and with the ground known, they are held against the paths flown on to the
    ground as each cause does; else against the flights at the time stated, or at the last reading.

    Args:
        entry: Of the case.
        held: What it is held against.
        where: What errors call the entry.

    Returns:
        What it adds.
    """
    stated = [key for key in IMPACT if getattr(entry, key) is not None]
    shown = [key for key in stated if key in ON_GROUND]
    error = entry.place_error
    if entry.time is None and (shown or error is not None) and not without_ground(held.case):
        names, found, sigma = _measured(entry, shown)
        rows = [_at_ground(shown, one, flown, held) for one, flown in _pairs(held)]
        if error is not None:
            found = [*found, *place_of(entry, held.scene.frame)]
            sigma = [*sigma, *2 * [error.value / 2.0]]
            rows = [
                np.column_stack([row, one.ending.north, one.ending.east])
                for row, (one, _) in zip(rows, _pairs(held), strict=True)
            ]
            names = [*names, "place"]
        rows = _turned(rows, names, found)
        likelihood = _of_ground(rows, np.array(found), np.array(sigma), entry.doubt, held)
    else:
        names, likelihood = _in_flight(entry, stated, held, where)
    return Contribution(
        f"impact: {', '.join(names).replace('_', ' ')}",
        likelihood,
        entry.doubt,
        AT_IMPACT,
        entry.source,
    )


def tree_cuts(entry: TreeCutsEntry, held: Held, where: str) -> Contribution:
    """The path angle that cuts show, against the paths continued to the ground.

    Args:
        entry: Of the case.
        held: What it is held against.
        where: What errors call the entry.

    Returns:
        What it adds.

    Raises:
        NeutralPointError: `argument-invalid` where the ground is not known.
    """
    if reason := without_ground(held.case):
        raise NeutralPointError(
            "argument-invalid",
            "The paths cannot be continued to the ground; the item is left out.",
            where=where,
            hint=reason,
        )
    angle, sigma = entry.path_angle
    rows = [one.ending.path_angle[:, None] for one in held.grounded]
    return Contribution(
        "impact: cuts in trees",
        _of_ground(rows, np.array([angle]), np.array([sigma]), entry.doubt, held),
        entry.doubt,
        AT_IMPACT,
        entry.source,
    )


def _pairs(held: Held) -> list[tuple[Continued, Flown]]:
    return list(zip(held.grounded, held.flown, strict=True))


def _of_ground(rows: list[Array], found: Array, sigma: Array, doubt: float, held: Held) -> Array:
    """Log likelihoods; a path that does not come down whole says nothing."""
    even = [np.full(len(values), 1.0 / len(values)) for values in rows]
    broken = [~one.whole for one in held.grounded]
    return from_flights(rows, even, found, sigma, doubt, broken=broken)


def _measured(entry: ImpactEntry, keys: list[str]) -> tuple[list[str], list[float], list[float]]:
    each = [getattr(entry, key) for key in keys]
    return list(keys), [q.value for q in each], [q.sigma for q in each]


def _at_ground(keys: list[str], one: Continued, flown: Flown, held: Held) -> Array:
    """Values when the paths meet the ground; attitude is that of the flight which they follow."""
    ending = one.ending
    moments = held.scene.last - held.begin + ending.time
    axis = flown.course.time
    at = np.clip(np.rint((moments - axis[0]) / (axis[1] - axis[0])), 0, axis.size - 1).astype(int)
    columns = {
        "pitch": lambda: flown.pitch[one.rows, at],
        "bank": lambda: flown.course.bank_angle[one.rows, at],
        "path_angle": lambda: ending.path_angle,
        "speed": lambda: ending.speed,
    }
    values = [columns[key]() for key in keys]
    return np.array(values).reshape(len(keys), len(at)).T


def _turned(rows: list[Array], names: list[str], found: list[float]) -> list[Array]:
    """Bank on the turn that is nearest to what was found."""
    if "bank" not in names:
        return rows
    at = names.index("bank")
    turned = [row.copy() for row in rows]
    for row in turned:
        row[:, at] += 2.0 * np.pi * np.round((found[at] - row[:, at]) / (2.0 * np.pi))
    return turned


def _in_flight(
    entry: ImpactEntry, stated: list[str], held: Held, where: str
) -> tuple[list[str], Array]:
    """Against the flights at one moment."""
    if entry.time is None:
        after = held.last
    else:
        after = held.after(track_seconds(entry.time, held.case.track), where)
    at = held.record(after)
    names, found, sigma = _measured(entry, stated)
    shown = [_then(stated, flown, at) for flown in held.flown]
    if entry.place_error is not None:
        places, spread = _places(held, at)
        found = [*found, *_from_last(entry, held)]
        sigma = [*sigma, *np.hypot(entry.place_error.value / 2.0, spread)]
        shown = [np.concatenate([s, p], axis=1) for s, p in zip(shown, places, strict=True)]
        names = [*names, "place"]
    likelihood = from_flights(
        _turned(shown, names, found),
        held.weights,
        np.array(found),
        np.array(sigma),
        entry.doubt,
        broken=[broke_at(flown) <= after for flown in held.flown],
    )
    return names, likelihood


def _then(keys: list[str], flown: Flown, at: int) -> Array:
    """Values of flights at a record, shape (n, K)."""
    course = flown.course
    columns = {
        "pitch": flown.pitch,
        "bank": course.bank_angle,
        "path_angle": course.flight_path_angle,
        "speed": course.true_airspeed,
        "altitude": course.altitude,
    }
    values = [columns[key][:, at] for key in keys]
    return np.array(values).reshape(len(keys), len(flown.unit)).T


def _last_moment(held: Held) -> int:
    """Index of the end of what is compared, in the whole motion."""
    time = held.motion.time
    return int(np.argmin(np.abs(time - (held.begin + held.last))))


def _from_last(entry: ImpactEntry, held: Held) -> Array:
    """Place of the entry, m north and east of the last place that is compared."""
    at, paths = _last_moment(held), held.motion.paths
    latitude = float(np.median(paths["latitude"][:, at]))
    longitude = float(np.median(paths["longitude"][:, at]))
    if entry.latitude is None or entry.longitude is None:  # the file's own check refuses half
        raise ValueError("an entry with the error of a place has no place")
    east = (entry.longitude.value - longitude + np.pi) % (2 * np.pi) - np.pi
    return EARTH_RADIUS * np.array([entry.latitude.value - latitude, east * np.cos(latitude)])


def _places(held: Held, at: int) -> tuple[list[Array], Array]:
    """Where each flight is then, m from the last place that is compared, and how well that lies."""
    moment, paths = _last_moment(held), held.motion.paths
    last = held.record(held.last)
    axis = held.flown[0].course.time
    span = float(axis[at] - axis[last])
    north, east = (float(np.median(paths[n][:, moment])) for n in ("wind_north", "wind_east"))
    drift = (span * north, span * east)
    heading = float(np.angle(np.exp(1j * paths["heading_of_air_velocity"][:, moment]).mean()))
    places = [
        drift_after(f.north, f.east, last=last, then=at, heading=heading, drift=drift)
        for f in held.flown
    ]
    spread = EARTH_RADIUS * np.array(
        [
            paths["latitude"][:, moment].std(),
            paths["longitude"][:, moment].std() * np.cos(paths["latitude"][0, moment]),
        ]
    )
    return places, spread
