"""Clocks of several receivers against each other: offset, drift and jitter, with their errors."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from neutralpoint.quantities import EARTH_RADIUS
from neutralpoint.track.record import Floats, Observations, Track

FEWEST = 8  # pairs below which no clock is fitted; analyst's choice
TURNS = 30  # rounds of reweighting
HUBER = 1.345  # 95% efficiency for Gaussian errors (Huber 1981)
MAD = 1.4826  # of a Gaussian: sigma over the median absolute deviation
DRIFT_FROM = 60.0  # s of common time below which no drift is fitted
LARGEST = 120.0  # s of offset that is looked for; merged feeds were seen 30 to 45 s apart
LEAST_SPEED = 20.0  # m/s below which a position says nothing of time
BETWEEN = 15.0  # s between two fixes over which a place is interpolated


@dataclass(frozen=True)
class ClockFit:
    """A clock against the reference clock: `time = true + offset + drift * (true - middle)`.

    Attributes:
        offset: s, at `middle`.
        offset_sigma: s.
        drift: s/s.
        drift_sigma: s/s.
        jitter: Standard deviation of one reading, s.
        middle: Reference time that the offset belongs to, s.
        count: Pairs used.
    """

    offset: float
    offset_sigma: float
    drift: float
    drift_sigma: float
    jitter: float
    middle: float
    count: int

    def corrected(self, time: Floats) -> Floats:
        """Times of the clock as the reference clock would show them.

        Args:
            time: s, shape (n,).

        Returns:
            s, shape (n,).
        """
        return time - self.offset - self.drift * (time - self.offset - self.middle)

    def sigma(self, time: Floats) -> Floats:
        """Standard error of the correction.

        Args:
            time: Corrected times, s, shape (n,).

        Returns:
            s, shape (n,).
        """
        return np.hypot(self.offset_sigma, self.drift_sigma * (time - self.middle))


def fit_clock(reference: Floats, time: Floats) -> ClockFit | None:
    """Offset and drift from pairs of times of the same event.

    Args:
        reference: Times of the reference clock, s, shape (n,).
        time: Times of the other clock, s, shape (n,).

    Returns:
        The fit; None with fewer than eight pairs.

    Source: Huber's M-estimator by reweighting (Huber, Robust Statistics, 1981), its covariance
    by the usual sandwich. Checked against: tests/unit/test_track_clocks.py.
    """
    if reference.size < FEWEST:
        return None
    middle = float(np.median(reference))
    lapse = reference - middle
    span = float(np.ptp(reference))
    design = np.ones((reference.size, 1))
    if span >= DRIFT_FROM:
        design = np.column_stack([np.ones(reference.size), lapse / span])
    difference = time - reference
    solution = np.zeros(design.shape[1])
    solution[0] = np.median(difference)
    for _ in range(TURNS):
        off = difference - design @ solution
        scale = max(MAD * float(np.median(np.abs(off))), 1e-9)
        weight = np.minimum(1.0, HUBER * scale / np.maximum(np.abs(off), 1e-300))
        solution = np.linalg.lstsq(
            design * np.sqrt(weight)[:, None], difference * np.sqrt(weight), rcond=None
        )[0]
    off = difference - design @ solution
    scale = max(MAD * float(np.median(np.abs(off))), 1e-9)
    inside = np.abs(off) <= HUBER * scale
    score = np.clip(off, -HUBER * scale, HUBER * scale)
    spread = float((score**2).sum()) / max(reference.size - design.shape[1], 1)
    bread = np.linalg.inv(design.T @ design) / max(float(inside.mean()), 0.1) ** 2
    sigma = np.sqrt(np.maximum(np.diag(bread) * spread, 0.0))
    drifting = solution.size > 1
    return ClockFit(
        offset=float(solution[0]),
        offset_sigma=float(sigma[0]),
        drift=float(solution[1] / span) if drifting else 0.0,
        drift_sigma=float(sigma[1] / span) if drifting else 0.0,
        jitter=scale,
        middle=middle,
        count=int(reference.size),
    )


def common_offset(differences: Floats, width: float) -> float | None:
    """The offset that most differences share.

    Args:
        differences: Candidate offsets, s, shape (n,); wrong pairs are spread out.
        width: Width within which right ones lie, s.

    Returns:
        Their median, s; None without candidates.
    """
    if not differences.size:
        return None
    ordered = np.sort(differences)
    ends = np.searchsorted(ordered, ordered + width, side="right")
    best = int(np.argmax(ends - np.arange(ordered.size)))
    return float(np.median(ordered[best : ends[best]]))


def fit_tracks(reference: Track, other: Track) -> ClockFit | None:
    """A clock from the positions of two records of one flight.

    The offset is the time by which one record must be moved to lie on the other along the path.

    Args:
        reference: Record of the reference clock.
        other: Record on the same epoch.

    Returns:
        The fit; None where the records share too little moving flight.
    """
    if reference.position is None or other.position is None:
        return None
    one, two = _kept(reference.position), _kept(other.position)
    if min(one.time.size, two.time.size) < FEWEST:
        return None
    origin = one.value[0]
    place_one, place_two = _metres(one.value, origin), _metres(two.value, origin)
    trial = np.arange(-LARGEST, LARGEST + 0.5, 1.0)
    misfit = [_misfit(one.time, place_one, two.time - t, place_two) for t in trial]
    best = int(np.argmin(misfit))
    if not np.isfinite(misfit[best]):
        return None
    offset = float(trial[best])
    for _ in range(6):
        lead, _ = _lead(one.time, place_one, two.time - offset, place_two)
        known = np.isfinite(lead)
        if known.sum() < FEWEST:
            return None
        offset += float(np.median(lead[known]))
    lead, _ = _lead(one.time, place_one, two.time - offset, place_two)
    known = np.isfinite(lead)
    true = two.time[known] - offset - lead[known]
    return fit_clock(true, two.time[known])


def _kept(position: Observations) -> Observations:
    keep = ~position.suspect
    _, first = np.unique(position.time[keep], return_index=True)
    pick = np.flatnonzero(keep)[first]
    return replace(position, time=position.time[pick], value=position.value[pick])


def _metres(value: Floats, origin: Floats) -> Floats:
    turn = np.mod(value[:, 1] - origin[1] + np.pi, 2.0 * np.pi) - np.pi
    return EARTH_RADIUS * np.column_stack([value[:, 0] - origin[0], turn * np.cos(origin[0])])


def _interpolated(time: Floats, place: Floats, at: Floats) -> tuple[Floats, Floats]:
    """Place and velocity between the two fixes about each time; NaN where they are far apart."""
    after = np.clip(np.searchsorted(time, at), 1, time.size - 1)
    lapse = time[after] - time[after - 1]
    velocity = (place[after] - place[after - 1]) / lapse[:, None]
    where = place[after - 1] + velocity * (at - time[after - 1])[:, None]
    outside = (at < time[0]) | (at > time[-1]) | (lapse > BETWEEN)
    where[outside] = np.nan
    return where, velocity


def _misfit(time: Floats, place: Floats, at: Floats, seen: Floats) -> float:
    where, _ = _interpolated(time, place, at)
    distance = np.linalg.norm(where - seen, axis=1)
    known = np.isfinite(distance)
    return float(np.median(distance[known])) if known.sum() >= FEWEST else float("inf")


def _lead(time: Floats, place: Floats, at: Floats, seen: Floats) -> tuple[Floats, Floats]:
    """Seconds by which each fix stamps late against the reference path; NaN where unknown."""
    where, velocity = _interpolated(time, place, at)
    speed = np.linalg.norm(velocity, axis=1)
    along = ((where - seen) * velocity).sum(axis=1)
    slow = speed < LEAST_SPEED
    return np.where(slow, np.nan, along / np.maximum(speed, 1e-9) ** 2), speed


def moved(track: Track, seconds: float) -> Track:
    """A record whose times are later by some seconds.

    Args:
        track: The record.
        seconds: Added to every time.

    Returns:
        The record, on its old epoch.
    """
    return retimed(track, lambda time: time + seconds)


def retimed(track: Track, change) -> Track:
    """A record with its times changed.

    Args:
        track: The record.
        change: From times to times, s.

    Returns:
        The record.
    """
    channels = {
        name: replace(channel, time=change(channel.time))
        for name, channel in track.channels().items()
    }
    return replace(track, **channels)
