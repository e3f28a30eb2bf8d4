"""What the odds take as given, moved: wind, loading, and the moment that flights start from."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from neutralpoint.airplane.model import Airplane, Multipliers, apply_multipliers
from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array, Index
from neutralpoint.study.moments.looked_at import LookedAt
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.study.weighing.windows import Inquiry, course_within, usable
from neutralpoint.weighing.amortised import odds_of
from neutralpoint.weighing.course import COLUMNS, Course

# All the analyst's: by how many standard deviations the loading is moved, the share of the sample
# paths that stands for a stronger or weaker wind, and by how much the start is moved, s.
DEVIATIONS = 2.0
TAIL = 0.1
EARLIER, LATER = 3.0, 3.0


Moved = Literal["wind", "cg", "mass", "reference"]


@dataclass(frozen=True)
class MovedTrack:
    """What the track says of the causes with one thing moved.

    Attributes:
        assumption: What was moved.
        setting: By how much, SI: headwind, aft, kg, later positive.
        runs: ln p(track | cause) of each network, shape (R, C).
    """

    assumption: Moved
    setting: float
    runs: Array


def windy(
    motion: KeptMotion, observed: Course, begin: float, end: float
) -> list[tuple[float, Course]]:
    """The motion with less and with more headwind than its middle, by its own sample paths.

    Args:
        motion: The motion.
        observed: The part that is compared, its sample paths in the order of the motion.
        begin: First time of it, s after the track's epoch.
        end: Last time.

    Returns:
        Change of the headwind, m/s, and the part as the tenth of the paths with least and with
        most headwind have it; the errors stay those of all paths.
    """
    inside = ~motion.is_fix & (motion.time >= begin) & (motion.time <= end)
    track = motion.paths["track_angle"][:, inside]
    along = motion.paths["wind_north"][:, inside] * np.cos(track)
    along = along + motion.paths["wind_east"][:, inside] * np.sin(track)
    headwind = -along.mean(axis=1)
    order = np.argsort(headwind, kind="stable")
    few = max(round(TAIL * len(order)), 1)
    return [
        (float(headwind[rows].mean() - np.median(headwind)), _moved(observed, rows))
        for rows in (order[:few], order[-few:])
    ]


def moved_tracks(inquiry: Inquiry, looked_at: LookedAt) -> tuple[MovedTrack, ...]:
    """Ask the shipped networks again, with what is taken as given moved; nothing is flown.

    Args:
        inquiry: Of the case.
        looked_at: Gives airplane and windows.

    Returns:
        One entry a setting, each over all windows.
    """
    motion, fitted = inquiry.motion, looked_at.airplane.airplane
    windows = usable(motion, looked_at.windows)
    weight = np.array([window.weight for window in windows])

    def asked(airplane: Airplane, courses: list[Course], later: float = 0.0) -> Array:
        each = zip(windows, courses, strict=True)
        runs = [inquiry.asked(airplane, w.begin + later, course) for w, course in each]
        return odds_of(runs, weight)

    courses = [course_within(motion, w.begin, w.end) for w in windows]
    blown = [
        windy(motion, course, w.begin, w.end) for w, course in zip(windows, courses, strict=True)
    ]
    found = []
    for side in zip(*blown, strict=True):
        change = float(np.average([speed for speed, _ in side], weights=weight))
        found.append(MovedTrack("wind", change, asked(fitted, [course for _, course in side])))
    found += [
        MovedTrack(name, size, asked(airplane, courses))
        for name, size, airplane in loaded(fitted, looked_at.airplane.uncertainty)
    ]
    for seconds in (-EARLIER, LATER):
        if windows[0].begin + seconds > motion.time[0]:
            with suppress(NeutralPointError):  # too little is left after one of them
                moved = [course_within(motion, w.begin + seconds, w.end) for w in windows]
                found.append(MovedTrack("reference", seconds, asked(fitted, moved, seconds)))
    return tuple(found)


def _moved(observed: Course, rows: Index) -> Course:
    """All paths, moved so that their mean is that of some of them."""
    columns = {name: getattr(observed, name) for name in COLUMNS}
    return replace(
        observed,
        **{name: x + (x[rows].mean(axis=0) - x.mean(axis=0)) for name, x in columns.items()},
    )


def loaded(airplane: Airplane, uncertainty: Uncertainty) -> list[tuple[Moved, float, Airplane]]:
    """The airplane lighter and heavier, and with its center of gravity forward and aft.

    Args:
        airplane: As documented and loaded.
        uncertainty: How well its loading is known.

    Returns:
        What was moved, by how much (m aft, kg), and the airplane.
    """
    station = DEVIATIONS * uncertainty.sigma.get("cg_station", 0.0)
    share = DEVIATIONS * uncertainty.sigma.get("mass", 0.0)
    mass = float(airplane.mass.mass)
    found: list[tuple[Moved, float, Airplane]] = []
    for sign in (-1.0, 1.0):
        if station:
            shifted = apply_multipliers(airplane, Multipliers(cg_station=sign * station))
            found.append(("cg", sign * station, shifted))
        if share:
            heavier = apply_multipliers(airplane, Multipliers(mass=1.0 + sign * share))
            found.append(("mass", sign * share * mass, heavier))
    return found
