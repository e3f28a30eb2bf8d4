"""The flight that is looked at, and the references that may be the last before the fault."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.airplane_file.build import DescribedAirplane
from neutralpoint.case import Case
from neutralpoint.case.case import Analysis
from neutralpoint.errors import NeutralPointError
from neutralpoint.moments import (
    MotionFlight,
    Reference,
    Window,
    compared_span,
    compared_windows,
    flight_from_paths,
    last_trimmed,
    references,
    with_gusts,
)
from neutralpoint.motion import Onsets, fault_begin, stated, stretches
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.study.motion.file import KeptMotion

LEAST_WINDOW = 2.0  # s: an airplane's short period lies above it; analyst's
LONGEST_SPAN = 900.0  # s of flight that are looked at
AFTER_ONSET = 600.0  # s of it after the onset
SHORTEST = 8.0  # s of flight that are worth looking at; analyst's


@dataclass(frozen=True, kw_only=True)
class LookedAt:
    """What is compared with flights, before anything is asked of it; s after the track's epoch.

    Attributes:
        airplane: As documented, loaded as the case says.
        flight: Smoothed sample paths.
        window: Smoothing window, s.
        onsets: All candidates; one where it was given.
        candidates: References that may be the last before the fault, the earliest first, whether
            or not an onset was found.
        asked_from: The same for the odds; where an onset is stated, also earlier ones.
    """

    airplane: DescribedAirplane
    flight: MotionFlight
    window: float
    onsets: Onsets
    candidates: list[Reference]
    asked_from: list[Reference]

    @property
    def compared(self) -> tuple[float, float]:
        """Begin and end of what is compared with flights, s: the fault surely begins inside."""
        return compared_span(self.candidates, self._latest, float(self.flight.time[-1]))

    @property
    def windows(self) -> list[Window]:
        """The same from each reference that may be the last before the fault: odds mix them."""
        return compared_windows(self.asked_from, self._latest, float(self.flight.time[-1]))

    @property
    def _latest(self) -> float | None:
        return self.onsets.interval[1] if self.onsets.weight.any() else None


def look_at(case: Case, motion: KeptMotion, rng: np.random.Generator) -> LookedAt:
    """The flight of a case that names an airplane file.

    Args:
        case: The case; `case.airplane` is known.
        motion: Its motion.
        rng: Source of random numbers, of which the required moment takes the next.

    Returns:
        The flight, and where it may be counted from.
    """
    analysis = case.analysis
    window = max(LEAST_WINDOW, 2.0 * motion.fix_interval)
    onsets = motion.onsets if analysis.onset is None else stated(analysis.onset)
    time, is_fix, paths, _ = span_of(case, motion, likely_onset(onsets))
    flight = with_gusts(flight_from_paths(time, is_fix, paths, window), rng, window)
    given = analysis.onset is not None
    candidates = references_of(flight, analysis.reference, onsets, given=given)
    return LookedAt(
        airplane=case.described,
        flight=flight,
        window=window,
        onsets=onsets,
        candidates=candidates,
        asked_from=stretches_asked_from(flight, onsets, candidates, analysis),
    )


def likely_onset(onsets: Onsets) -> float | None:
    """Where a flight is looked at, s: at its onset, else where it is least ordinary; or None."""
    return onsets.median if onsets.weight.any() else None


def span_of(
    case: Case, motion: KeptMotion, likely: float | None
) -> tuple[Array, Flags, dict[str, Array], Flags]:
    """The part of the motion that is looked at.

    Args:
        case: Its reference, where it states one, says which flight.
        motion: Its motion.
        likely: Where it is looked at, s.

    Returns:
        Times, which of them are fixes, sample paths by name, and where the bank is known.

    Raises:
        NeutralPointError: `not-flying` where no stretch in the air is long enough.
    """
    stretch = case.analysis.reference
    return _span(motion, _flown(motion, likely if stretch is None else stretch[1]), likely)


def _span(
    motion: KeptMotion, flown: tuple[float, float], onset: float | None
) -> tuple[Array, Flags, dict[str, Array], Flags]:
    """The part of a flight that is looked at, and where its bank is known."""
    first, last = flown
    end = last if onset is None else min(last, onset + AFTER_ONSET)
    inside = (motion.time >= max(first, end - LONGEST_SPAN)) & (motion.time <= end)
    paths = {name: values[:, inside] for name, values in motion.paths.items()}
    known = motion.observable["bank_angle"][inside]
    return motion.time[inside], motion.is_fix[inside], paths, known


def _flown(motion: KeptMotion, moment: float | None) -> tuple[float, float]:
    """First and last moment of the flight that holds a moment, or of the last one.

    All of the record where the moment is on the ground: the analyst set it.

    Raises:
        NeutralPointError: `not-flying` where no stretch in the air is long enough.
    """
    flights = [(motion.time[a], motion.time[b]) for a, b in stretches(~motion.ground)]
    flights = [(first, last) for first, last in flights if last - first >= SHORTEST]
    if not flights:
        raise NeutralPointError(
            "not-flying",
            f"No stretch of {SHORTEST:.0f} s is in the air: the airplane is too slow to fly, or "
            "the track is that short.",
            where="track",
            hint="Look at speeds, wind, mass and wing area; the motion itself stands.",
        )
    if moment is None:
        return flights[-1]
    whole = (motion.time[0], motion.time[-1])
    return next((f for f in flights if f[0] <= moment <= f[1]), whole)


def references_of(
    flight: MotionFlight, stretch: tuple[float, float] | None, onsets: Onsets, *, given: bool
) -> list[Reference]:
    """The last trimmed flight: as given, or what it may have been.

    Args:
        flight: The flight.
        stretch: Begin and end, s, where the case states the reference.
        onsets: Of the motion, or the stated one.
        given: Whether the onset is stated.

    Returns:
        References with their weights, the earliest first.
    """
    if stretch is not None:
        trimmed = (flight.time >= stretch[0]) & (flight.time <= stretch[1])
    elif given or not onsets.weight.any():
        trimmed = last_trimmed(flight, before=onsets.median if given else None)
    else:
        begun = fault_begin(onsets)
        return references(flight, begun.time, begun.weight)
    return [Reference(trimmed, float(flight.time[trimmed][-1]), 1.0, 0.0)]


def stretches_asked_from(
    flight: MotionFlight, onsets: Onsets, candidates: list[Reference], analysis: Analysis
) -> list[Reference]:
    """What odds count from: a stated onset is the motion's, and its cause may have begun before.

    Args:
        flight: Sample paths.
        onsets: Of the motion; one candidate where it is stated.
        candidates: What verdicts count from.
        analysis: What the analyst settled.

    Returns:
        The candidates; where an onset is stated and no reference, also earlier steady stretches.
    """
    if analysis.onset is None or analysis.reference is not None:
        return candidates
    return references_of(flight, None, onsets, given=False)  # as where the onset is found
