"""The stretches of flight that the odds come from: one a reference that may be the last before.

Where it is not known when the fault began, each steady stretch that may be the last one before it
opens a window of its own. The networks are asked of each, and the odds are the mean.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.case import Case
from neutralpoint.errors import NeutralPointError
from neutralpoint.moments import Window
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import GAS_CONSTANT, HEAT_RATIO, LAPSE_RATE, SEA_LEVEL_TEMPERATURE
from neutralpoint.study.moments.looked_at import LookedAt
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.study.weighing.at_once import AtOnce, look
from neutralpoint.weighing.amortised import odds_of, track_evidence
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.flights import Start
from neutralpoint.weighing.window import SHORTEST

LEAST = SHORTEST  # s


@dataclass(frozen=True)
class WindowAsked:
    """What the track says of the causes, counted from one reference.

    Attributes:
        window: Of the flight.
        runs: ln p(track | cause) of each network, shape (R, C).
    """

    window: Window
    runs: Array


def observed_course(motion: KeptMotion, looked_at: LookedAt) -> tuple[Course, float]:
    """The part of the motion that flights are flown for.

    Args:
        motion: The motion.
        looked_at: Gives the last trimmed flight that surely lies before the fault.

    Returns:
        The part, and when it begins, s after the track's epoch.

    Raises:
        NeutralPointError: `track-too-short` where nothing is left after the reference.
    """
    begin, end = looked_at.compared
    return course_within(motion, begin, end), begin


def course_within(motion: KeptMotion, begin: float, end: float) -> Course:
    """A part of the motion as flights are compared with it.

    Args:
        motion: The motion.
        begin: First time, s after the track's epoch.
        end: Last time.

    Returns:
        The part.

    Raises:
        NeutralPointError: `track-too-short` where hardly anything lies between.
    """
    inside = ~motion.is_fix & (motion.time >= begin) & (motion.time <= end)
    if not _enough(motion, begin, end):
        raise NeutralPointError(
            "track-too-short",
            f"Less than {LEAST:.0f} s of flight are left after the last trimmed flight.",
            where="track",
            hint="Give an earlier reference or onset in the case file.",
        )
    values = {name: motion.paths[name][:, inside] for name in COLUMNS}
    return Course(motion.time[inside] - motion.time[inside][0], **values)


def _enough(motion: KeptMotion, begin: float, end: float) -> bool:
    time = motion.time[~motion.is_fix & (motion.time >= begin) & (motion.time <= end)]
    return time.size > 1 and float(time[-1] - time[0]) >= LEAST


def start_of(case: Case, motion: KeptMotion, begin: float) -> Start:
    """The steady flight that all flights start from.

    Args:
        case: The case.
        motion: Its motion.
        begin: End of the last trimmed flight, s after the track's epoch.

    Returns:
        The start, with what is not known of it.
    """
    near = ~motion.is_fix & (np.abs(motion.time - begin) <= 2.0)
    mean = {
        name: motion.paths[name][:, near].mean(axis=1)
        for name in ("true_airspeed", "flight_path_angle", "pressure_altitude", "mach")
    }
    altitude = float(np.median(mean["pressure_altitude"]))
    sound = mean["true_airspeed"] / mean["mach"]
    warmth = float(np.median(sound**2)) / (HEAT_RATIO * GAS_CONSTANT)
    return Start(
        speed=mean["true_airspeed"],
        path_angle=mean["flight_path_angle"],
        pressure_altitude=altitude,
        temperature_offset=warmth - (SEA_LEVEL_TEMPERATURE - LAPSE_RATE * altitude),
        flap=case.analysis.flap,
        gear=case.analysis.gear,
    )


def usable(motion: KeptMotion, windows: list[Window]) -> list[Window]:
    """Those that are long enough to be asked of.

    Args:
        motion: The motion.
        windows: Of each reference.

    Returns:
        At least the first.
    """
    long = [window for window in windows if _enough(motion, window.begin, window.end)]
    return long or windows[:1]


@dataclass(frozen=True)
class Inquiry:
    """What every window of a case is asked with.

    Attributes:
        case: The case.
        motion: Its motion.
        smoothing: Window of the data's own smoothing, s.
        names: Of the causes, the unlisted one last.
    """

    case: Case
    motion: KeptMotion
    smoothing: float
    names: tuple[str, ...]

    def given(self, airplane: Airplane, begin: float, course: Course) -> AtOnce:
        """What the networks are given of a stretch.

        Args:
            airplane: As documented and loaded.
            begin: When the stretch begins, s after the track's epoch.
            course: Its sample paths.

        Returns:
            It, with whether the networks may be asked.

        Raises:
            NeutralPointError: `track-too-short`, `networks-damaged`.
        """
        return look(airplane, start_of(self.case, self.motion, begin), course, self.smoothing)

    def asked(self, airplane: Airplane, begin: float, course: Course) -> Array:
        """What the shipped networks say of a stretch.

        Args:
            airplane: As documented and loaded.
            begin: When the stretch begins, s after the track's epoch.
            course: Its sample paths.

        Returns:
            ln p(track | cause) of each network, shape (R, C).

        Raises:
            NeutralPointError: `track-too-short`, `networks-damaged`.
        """
        given = self.given(airplane, begin, course)
        return track_evidence(given.networks, given.seen, given.told, self.names)


def over_windows(inquiry: Inquiry, airplane: Airplane, windows: list[Window]) -> list[WindowAsked]:
    """Ask the networks of each window.

    Args:
        inquiry: Of the case.
        airplane: As documented and loaded.
        windows: Of each reference.

    Returns:
        One entry a window that is long enough.
    """
    motion = inquiry.motion
    return [
        WindowAsked(
            window,
            inquiry.asked(airplane, window.begin, course_within(motion, window.begin, window.end)),
        )
        for window in usable(motion, windows)
    ]


def mixed(asked: list[WindowAsked]) -> Array:
    """What the track says over all windows.

    Args:
        asked: Of each window.

    Returns:
        ln p(track | cause) of each network, shape (R, C).

    Source: law of total probability; a window counts by the probability that its reference is the
    last before the fault.
    Checked against: tests/unit/test_onset_findings.py; benchmarks/onset_odds.py.
    """
    return odds_of([one.runs for one in asked], np.array([one.window.weight for one in asked]))


def mean_over(
    asked: list[WindowAsked], told: Callable[[Array], dict[str, float]]
) -> dict[str, float]:
    """What each window tells of the causes, the mean by the weights of their references.

    Args:
        asked: Of each window.
        told: From ln p(track | cause) of each network to a number by cause.

    Returns:
        By cause.

    Source: as the verdicts of the required moment are. The mean of tail probabilities lies below a
    limit at most twice as often as one of them does: Rueschendorf, Adv. Appl. Prob. 14 (1982) 623,
    from memory.
    """
    total = sum(one.window.weight for one in asked)
    found: dict[str, float] = {}
    for one in asked:
        for name, value in told(one.runs).items():
            found[name] = found.get(name, 0.0) + one.window.weight / total * value
    return found
