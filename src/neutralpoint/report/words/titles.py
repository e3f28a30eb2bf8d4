"""Titles of pictures of the flight: what is seen on them, in one sentence."""

from __future__ import annotations

import numpy as np

from neutralpoint.findings import Event, Findings, LatestAction
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import DEGREE, POUND_FORCE
from neutralpoint.report.figures.display import clock, printed
from neutralpoint.report.figures.figure import Axis
from neutralpoint.report.words.phrases import time_of_day
from neutralpoint.report.words.response import latest_words

STRAIGHT = 5.0 * DEGREE  # that a track may leave its first direction and be called straight
TIMED = 34  # characters of a name beside which the times of its extremes have room


def flight_title(findings: Findings) -> str:
    """When the path leaves steady flight; that no onset was found where none was."""
    motion = findings.motion
    found = None if motion is None else motion.onset
    if found is None or not found.found:
        return "No onset was found in this flight"
    first, last = (time_of_day(findings, found.left[k])[:-2] for k in (0, -1))
    return f"The path leaves steady flight between {first} and {last} UTC (90%)"


def extremes_title(name: str, axis: Axis, seconds: Array, median: Array) -> str:
    """The least and the largest value of a curve, with their times where there is room.

    Args:
        name: Of the quantity.
        axis: Its unit and decimals.
        seconds: After midnight, shape (m,).
        median: In the unit of the axis, shape (m,); NaN where it is not observable.

    Returns:
        Such as `Pitch angle: lowest -6 deg at 18:55:01, highest 26 deg at 18:54:52`.
    """
    known = np.flatnonzero(np.isfinite(median))
    if not known.size:
        return f"{name}: not observable"

    def value(k: int) -> str:
        number = median[k] % axis.wrap if axis.wrap else median[k]
        return f"{printed(float(number), axis.decimals)}{_unit(axis.unit)}"

    if axis.wrap:
        return f"{name}: {value(known[0])} at first, {value(known[-1])} at the end"
    low, high = (int(known[pick(median[known])]) for pick in (np.argmin, np.argmax))
    if len(name) > TIMED:
        return f"{name}: {value(low)} to {value(high)}"
    told = sorted(((low, "lowest"), (high, "highest")))
    return f"{name}: " + ", ".join(
        f"{word} {value(k)} at {clock(float(seconds[k]))}" for k, word in told
    )


def _unit(unit: str) -> str:
    return unit if unit.startswith("\u00b0") else f" {unit}".rstrip()


def plan_title(east: Array, north: Array, course: Array | None) -> str:
    """How far was flown, and which way at both ends.

    Args:
        east: NM, shape (m,).
        north: NM, shape (m,).
        course: Over the ground, rad, shape (m,); None where it is not known.
    """
    flown = float(np.hypot(np.diff(east), np.diff(north)).sum())
    told = f"{flown:.1f} NM flown over the ground"
    if course is None or not len(course):
        return told
    off = float(np.max(np.abs(course - course[0])))
    first, last = (f"{np.degrees(course[k]) % 360.0:03.0f}\u00b0" for k in (0, -1))
    if off < STRAIGHT:
        return f"No turn: {told}, track {first} (true) throughout"
    return f"{told}, toward {first} (true) at first and {last} at the end"


def profile_title(seconds: Array, height: Array) -> str:
    """Altitude at first, at its turning point and at the end.

    Args:
        seconds: After midnight, shape (m,).
        height: ft, shape (m,).
    """
    ends = (float(height[0]), float(height[-1]))
    beyond = np.maximum(height - max(ends), min(ends) - height)
    k = int(np.argmax(beyond))
    turn = ""
    if 0 < k < len(height) - 1 and beyond[k] > 0.0:
        turn = f", {printed(round(float(height[k]), -1), 0)} at {clock(float(seconds[k]))}"
    first, last = (printed(round(value, -1), 0) for value in ends)
    return f"Pressure altitude: {first} ft at first{turn}, {last} ft at the end"


def pitch_title(seconds: Array, pitch: Array) -> str:
    """Where the nose is furthest from where it was at first.

    Args:
        seconds: After midnight, shape (m,).
        pitch: 5, 50 and 95%, rad, shape (3, m); NaN where it is not observable.
    """
    known = np.flatnonzero(np.isfinite(pitch[1]))
    if not known.size:
        return "The path in space"
    k = int(known[np.argmax(np.abs(pitch[1][known] - pitch[1][known[0]]))])
    low, middle, high = (printed(float(np.degrees(value)), 0) for value in pitch[:, k])
    return f"Pitch reaches {middle}\u00b0 (90%: {low} to {high}) at {clock(float(seconds[k]))} UTC"


def timeline_title(findings: Findings, events: list[Event]) -> str:
    """How many events there are, and between which moments they lie."""
    low = min(event.time - event.half_width for event in events)
    high = max(event.time + event.half_width for event in events)
    first, last = (time_of_day(findings, at)[:-2] for at in (low, high))
    count = "1 event" if len(events) == 1 else f"{len(events)} events"
    return f"{count} heard or recorded between {first} and {last} UTC"


def near_title(misfits: list[float]) -> str:
    """How far the nearest flights are from the data."""
    if not misfits:
        return "The nearest simulated flight of each leading cause"
    ends = dict.fromkeys(f"{one:.1f}" for one in (min(misfits), max(misfits)))
    return f"The nearest simulated flights miss by {' to '.join(ends)} standard deviations"


def latest_title(cause: str, procedure: str, action: LatestAction, longest: float) -> str:
    """The latest moment from which the procedure that saves most still helps half of the pilots."""
    told = latest_words(action, longest)
    return f"Latest effective action of half, {procedure}: {told} ({cause})"


def holding_title(cause: str, pulls: list[float]) -> str:
    """The largest force that holding level takes, of which cause.

    Args:
        cause: Of the largest, as it is spoken of.
        pulls: N, of every cause and time.
    """
    most = max(pulls, key=abs)
    side = "pull" if most >= 0.0 else "push"
    return f"If it was {cause}: unaccelerated flight takes a {side} of up to {_pounds(most)}"


def _pounds(force: float) -> str:
    return f"{abs(force) / POUND_FORCE:.0f} lb"
