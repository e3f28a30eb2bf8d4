"""The ride of a case and what two models of the vestibular organs make of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import uniform_filter1d

from neutralpoint.airplane_file.sources import source_of
from neutralpoint.case import Case
from neutralpoint.findings.felt import FeltSilence
from neutralpoint.numerics.arrays import Array
from neutralpoint.senses import Perceived, Ride, draw_organs, perceive, ride_of
from neutralpoint.study.motion.file import KeptMotion

BEFORE, AFTER = 120.0, 60.0  # s around the onset that are looked at; without one the last 180 s
SHORTEST = (
    30.0  # s in the air: less than the organs need to settle, four canal constants; analyst's
)
# Interval of fixes beyond which turns come and go unseen: the time constant of the canals.
LONGEST_INTERVAL = 5.7  # s
LEAST_SMOOTHING = 2.0  # s over which a ride is averaged at least; analyst's
SHARP = 0.5  # share of the times at which attitude must be supported by the data; analyst's
# Head of the pilot behind the nose, as a share of the length of the fuselage, with its standard
# deviation; without an airplane file, how far ahead of the center of gravity, m. Analyst's
# estimate.
SEAT_SHARE, SEAT_SHARE_SIGMA = 0.20, 0.04
SEAT_AHEAD, SEAT_AHEAD_SIGMA = 2.5, 1.5
SEAT_UP_SIGMA = 0.4  # m above or below the center of gravity; analyst's


@dataclass(frozen=True)
class SeatPlace:
    """The head ahead of the center of gravity, m, and where it is known from."""

    ahead: float
    sigma: float
    source: str


@dataclass(frozen=True)
class FeltRide:
    """What the stage works with; times in s after the epoch.

    Attributes:
        time: Times in the air that are looked at, shape (m,).
        onset: When the motion left ordinary flight; None where it did not.
        window: s over which the ride is averaged.
        seat: Where the head is.
        silent: Why nothing is said of what was perceived; empty where it is.
        ride: Of each path; None where nothing is said.
        perceived: Of each path; None where nothing is said.
    """

    time: Array
    onset: float | None
    window: float
    seat: SeatPlace
    silent: FeltSilence
    ride: Ride | None
    perceived: Perceived | None


def onset_of(case: Case, motion: KeptMotion) -> float | None:
    """When the upset began.

    Args:
        case: The case.
        motion: Its motion.

    Returns:
        s after the epoch; None where nothing left ordinary flight.
    """
    if case.analysis.onset is not None:
        return case.analysis.onset
    return motion.onsets.median if motion.onsets.found else None


def looked_at(motion: KeptMotion, onset: float | None) -> Array:
    """Times of the uniform grid that are looked at: in the air without a break.

    Args:
        motion: The motion.
        onset: s after the epoch, or None.

    Returns:
        s after the epoch, shape (m,); empty where nothing is in the air.
    """
    time = motion.time[~motion.is_fix]
    air = ~motion.ground[~motion.is_fix]
    if not air.any():
        return time[:0]
    last = float(time[air][-1])
    first, end = (last - BEFORE - AFTER, last) if onset is None else (onset - BEFORE, onset + AFTER)
    inside = air & (time >= first) & (time <= end)
    breaks = np.flatnonzero(np.diff(np.flatnonzero(inside)) > 1)
    runs = np.split(np.flatnonzero(inside), breaks + 1)
    return time[max(runs, key=len)]


def seat_of(case: Case) -> SeatPlace:
    """Where the head of the pilot is.

    Args:
        case: The case.

    Returns:
        From the airplane file; a default with its error where that says nothing.
    """
    if case.airplane is None or case.airplane.document.fuselage is None:
        return SeatPlace(SEAT_AHEAD, SEAT_AHEAD_SIGMA, "")
    document = case.airplane.document
    body = case.airplane.document.fuselage
    center = float(case.airplane.airplane.mass.cg_station)
    if body.seat_station is not None:
        given = body.seat_station
        return SeatPlace(
            center - given.value, given.sigma, source_of(document, "fuselage", "seat_station")
        )
    place = body.nose_station.value + SEAT_SHARE * body.length.value
    return SeatPlace(center - place, SEAT_SHARE_SIGMA * body.length.value, "")


def _silence(motion: KeptMotion, time: Array) -> FeltSilence:
    if time.size < 3 or time[-1] - time[0] < SHORTEST:
        return "short"
    if motion.fix_interval > LONGEST_INTERVAL:
        return "fixes"
    inside = (motion.time >= time[0]) & (motion.time <= time[-1])
    names = ("pitch_angle", "bank_angle", "normal_load_factor")
    known = [motion.observable[name][inside].mean() for name in names]
    return "attitude" if min(known) < SHARP else ""


def felt_ride(case: Case, motion: KeptMotion, rng: np.random.Generator) -> FeltRide:
    """Put the sample paths through the seat and the organs.

    Args:
        case: The case.
        motion: Its motion.
        rng: Source of chance for the place of the head and for people.

    Returns:
        What was found.
    """
    onset = onset_of(case, motion)
    time = looked_at(motion, onset)
    silent = _silence(motion, time)
    window = max(LEAST_SMOOTHING, 2.0 * motion.fix_interval)
    seat = seat_of(case)
    if silent:
        return FeltRide(time, onset, window, seat, silent, None, None)
    ride = _ride(motion, time, window, seat, rng)
    organs = draw_organs(rng, len(ride.pitch))
    return FeltRide(time, onset, window, seat, silent, ride, perceive(ride, organs))


def _ride(
    motion: KeptMotion, time: Array, window: float, seat: SeatPlace, rng: np.random.Generator
) -> Ride:
    grid = ~motion.is_fix
    at = np.searchsorted(motion.time[grid], time - 1e-6)
    step = float(time[1] - time[0])
    width = max(1, round(window / step))

    def smooth(name: str, *, circular: bool = False) -> Array:
        values = motion.paths[name][:, grid][:, at].astype(float)
        values = np.unwrap(values, axis=1) if circular else values
        return uniform_filter1d(values, width, axis=1, mode="nearest")

    count = len(motion.paths["bank_angle"])
    place = np.zeros((count, 3))
    place[:, 0] = seat.ahead + seat.sigma * rng.standard_normal(count)
    place[:, 2] = SEAT_UP_SIGMA * rng.standard_normal(count)
    return ride_of(
        heading=smooth("heading_of_air_velocity", circular=True),
        path_angle=smooth("flight_path_angle"),
        bank=smooth("bank_angle", circular=True),
        incidence=smooth("angle_of_attack"),
        across=smooth("normal_load_factor"),
        along=smooth("longitudinal_load_factor"),
        seat=place,
        step=step,
    )
