"""The last trimmed flight: the reference that every change of moment is counted from.

Where it is not known when the fault began, several steady stretches may be the last one before it.
Each has a weight: the probability that the fault began after it and before the next one ended.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import uniform_filter1d

from neutralpoint.moments.flight import MotionFlight
from neutralpoint.numerics.arrays import Array, Flags

LENGTH = 12.0  # s of steady flight that a reference needs; analyst's
# Spread about steady flight that still counts as trimmed, one standard deviation. Analyst's
# estimate.
LOAD_FACTOR_SPREAD = 0.06
SPEED_RATE = 0.6  # m/s^2
MARGIN = 2.0  # s kept between the reference and an onset
# Flight that must be left after a reference where no onset is known, s, and at most this share of
# the flight: else there is nothing to compare. Analyst's choice.
LEFT, LEFT_SHARE = 30.0, 0.5
LEAST_LEFT = 15.0  # s after a reference in any case; analyst's
# Shares of the probability of when the fault began that a reference is looked for before.
LEVELS = (0.05, 0.25, 0.6)
LEAST_WEIGHT = 0.1  # below which a reference is not worth a reading of its own

SAFE = 0.1  # probability that the fault began before what is compared with flights; analyst's
# s after the reference, after the latest onset, and at most after the reference that are compared
# with flights: later a pilot's hands decide. Analyst's choice.
COMPARED, COMPARED_AFTER, COMPARED_MOST = 60.0, 45.0, 120.0

# Force that a crew holds in trimmed flight, N, one standard deviation: friction, and trimming by
# feel, leave some 15 N (3 lb). Whether the trim was worked since an earlier steady flight, at most
# so many seconds before, is even odds. Analyst's estimate.
TRIMMED_FORCE = 15.0
UNTOUCHED, UNTOUCHED_FOR = 0.5, 120.0


def unsteadiness(flight: MotionFlight) -> Array:
    """How far each moment is from steady flight, 1 being the limit of trimmed.

    Args:
        flight: Sample paths.

    Returns:
        Shape (m,), over windows of `LENGTH` centred on each node.
    """
    load = np.median(flight.normal_load_factor, axis=0)
    speed = np.median(flight.true_airspeed, axis=0)
    nodes = max(3, min(round(LENGTH / flight.step), load.size))
    mean = uniform_filter1d(load, nodes, mode="nearest")
    spread = np.sqrt(np.maximum(uniform_filter1d(load**2, nodes, mode="nearest") - mean**2, 0.0))
    slope = uniform_filter1d(np.gradient(speed, flight.step), nodes, mode="nearest")
    return np.hypot(spread / LOAD_FACTOR_SPREAD, slope / SPEED_RATE)


def last_trimmed(flight: MotionFlight, before: float | None = None) -> Flags:
    """The last steady stretch before a time; the steadiest one where none is steady enough.

    Args:
        flight: Sample paths.
        before: Onset of the upset, s; None looks at the whole flight.

    Returns:
        True in the reference, shape (m,).
    """
    score = unsteadiness(flight)
    half = 0.5 * LENGTH
    start, end = flight.time[0], flight.time[-1]
    share = LEFT_SHARE * (end - start)
    # However late an onset is stated: with nothing after the reference nothing can be compared.
    latest = end - min(LEFT if before is None else LEAST_LEFT, share)
    latest = (latest if before is None else min(before - MARGIN, latest)) - half
    allowed = (flight.time >= min(start + half, latest)) & (flight.time <= latest)
    if not allowed.any():
        allowed = flight.time <= max(latest, start + half)
    steady = allowed & (score <= 1.0)
    centre = (
        flight.time[np.flatnonzero(steady)[-1]]
        if steady.any() and before is not None
        else flight.time[np.flatnonzero(allowed)[np.argmin(score[allowed])]]
    )
    return np.abs(flight.time - centre) <= half


@dataclass(frozen=True)
class Reference:
    """A steady stretch that may be the last one before the fault.

    Attributes:
        trimmed: True in it, shape (m,).
        end: Its last moment, s after the epoch.
        weight: Probability that the fault began after its middle and before that of the next one:
            what acts in the last seconds hardly moves the mean.
        before: Probability that the fault began before its end.
    """

    trimmed: Flags
    end: float
    weight: float
    before: float


def references(flight: MotionFlight, time: Array, weight: Array) -> list[Reference]:
    """The steady stretches that may be the last before a fault, with weights.

    Args:
        flight: Sample paths.
        time: Candidates for the begin of the fault, s, rising, shape (k,).
        weight: Of each, shape (k,); only their ratios count.

    Returns:
        The earliest first; at least one, at most one for each of `LEVELS`. What begins before all
        of them counts to the first.
    """
    past = np.r_[0.0, np.cumsum(weight)] / np.sum(weight)
    moments = time[np.minimum(np.searchsorted(past[1:], LEVELS), time.size - 1)]
    moments = np.minimum(moments, flight.time[-1] - LEAST_LEFT)
    found = {float(flight.time[r][-1]): r for r in (last_trimmed(flight, m) for m in moments)}
    ends = np.array(sorted(found))
    while True:
        later = past[np.searchsorted(time, ends[1:] - 0.5 * LENGTH)]
        weights = np.diff(np.r_[0.0, later, 1.0])
        if ends.size == 1 or weights.min() >= LEAST_WEIGHT:
            break
        ends = np.delete(ends, weights.argmin())  # the one before it holds the fault as well
    before = past[np.searchsorted(time, ends)]
    return [
        Reference(found[end], float(end), float(own), float(past))
        for end, own, past in zip(ends, weights, before, strict=True)
    ]


def safe_reference(chosen: list[Reference]) -> Reference:
    """The latest reference that surely lies before the fault.

    Args:
        chosen: The references, the earliest first.

    Returns:
        One of them; the first where none is sure.
    """
    safe = [reference for reference in chosen if reference.before <= SAFE]
    return safe[-1] if safe else chosen[0]


def compared_span(
    chosen: list[Reference], latest: float | None, last: float
) -> tuple[float, float]:
    """What is compared with flights: the fault surely begins inside.

    Args:
        chosen: The references, the earliest first.
        latest: Upper edge of the interval of the onset, s; None without an onset.
        last: Last moment of the flight, s.

    Returns:
        Begin and end, s.
    """
    begin = safe_reference(chosen).end
    wanted = begin if latest is None else latest + COMPARED_AFTER
    end = min(max(wanted, begin + COMPARED), begin + COMPARED_MOST)
    return begin, float(min(end, last))


@dataclass(frozen=True)
class Window:
    """A stretch of flight that is compared with flights, counted from one reference.

    Attributes:
        begin: End of the reference, s after the epoch.
        end: s after the epoch.
        weight: Probability that this reference is the last before the fault.
    """

    begin: float
    end: float
    weight: float


def compared_windows(chosen: list[Reference], latest: float | None, last: float) -> list[Window]:
    """What is compared from each reference; each is taken for the last one before the fault.

    Args:
        chosen: The references, the earliest first.
        latest: Upper edge of the interval of the onset, s; None without an onset.
        last: Last moment of the flight, s.

    Returns:
        One a reference.
    """
    spans = [(compared_span([each], latest, last), each.weight) for each in chosen]
    return [Window(begin, end, weight) for (begin, end), weight in spans]


def held_force(
    flight: MotionFlight, trimmed: Flags, force: Array, rng: np.random.Generator
) -> Array:
    """What the crew may have held in the reference.

    A crew that had not worked the trim since an earlier steady flight held what the change of
    speed, loading or power since then asked for; one that had, next to nothing.

    Args:
        flight: Sample paths.
        trimmed: True in the reference, shape (m,).
        force: Pull counted from the reference, N, shape (S, m).
        rng: Source of random numbers.

    Returns:
        Pull in the reference of each path, N, shape (S,).
    """
    held = TRIMMED_FORCE * rng.standard_normal(force.shape[0])
    first = flight.time[trimmed][0]
    ahead = first - flight.time
    earlier = (ahead > LENGTH) & (ahead <= UNTOUCHED_FOR) & (unsteadiness(flight) <= 1.0)
    if not earlier.any():
        return held
    nodes = rng.choice(np.flatnonzero(earlier), force.shape[0])
    half = max(1, round(0.5 * LENGTH / flight.step))
    near = np.clip(nodes[:, None] + np.arange(-half, half + 1), 0, force.shape[1] - 1)
    then = np.take_along_axis(force, near, axis=1).mean(axis=1)
    return held - np.where(rng.random(force.shape[0]) < UNTOUCHED, then, 0.0)
