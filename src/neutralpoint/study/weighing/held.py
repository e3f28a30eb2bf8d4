"""What evidence of a case is held against: the flights of each cause, and the motion."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from neutralpoint.case import Case, track_seconds
from neutralpoint.case.evidence_entries import FindingEntry, ImpactEntry, VoiceEntry
from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array
from neutralpoint.study.felt.light import outlook_at
from neutralpoint.study.heard.work_out import NOTHING_HEARD, Telling
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.study.weighing.endings import Continued, continued
from neutralpoint.study.wreckage.work_out import GroundScene, scene_of, without_ground
from neutralpoint.vocabulary.light import HorizonSeen
from neutralpoint.weighing.course import Course
from neutralpoint.weighing.flights import Flown
from neutralpoint.weighing.predictive import Predictive

FURTHEST = 20.0  # s after the part that is compared; later hands decide. Analyst's choice.
HORIZON = "horizon"


@dataclass(frozen=True)
class Held:
    """What the evidence is held against.

    Attributes:
        case: The case.
        begin: End of the reference, s after the track's epoch.
        near: Flights of each cause given what was seen.
        observed: The part of the motion that is compared.
        motion: The whole motion.
        in_flight: ln Bayes factor of parts that came off in flight; None where none were found.
        heard: What recordings say of the causes.
        horizon: Whether a natural horizon was in sight, where the case does not state it.
    """

    case: Case
    begin: float
    near: dict[str, Predictive]
    observed: Course
    motion: KeptMotion
    in_flight: float | None = None
    heard: Telling = NOTHING_HEARD
    horizon: HorizonSeen = HorizonSeen.UNKNOWN

    @property
    def flown(self) -> list[Flown]:
        """Flights by cause."""
        return [near.flown for near in self.near.values()]

    @property
    def causes(self) -> tuple[str, ...]:
        """Names of the listed causes."""
        return tuple(flown.cause for flown in self.flown)

    @property
    def weights(self) -> list[Array]:
        """How well each flight follows the track, by cause, each sums to 1."""
        return [near.weight for near in self.near.values()]

    @property
    def last(self) -> float:
        """End of what is compared, s after the reference."""
        return float(self.observed.time[-1])

    @cached_property
    def scene(self) -> GroundScene:
        """The last reading and the ground about it; the ground is known."""
        return scene_of(self.case, self.motion)

    @cached_property
    def grounded(self) -> list[Continued]:
        """The paths flown on to the ground, by cause; the ground is known."""
        names = list(self.causes)
        each = continued(self.case, self.scene, self.begin, self.near, names)
        return [each[name] for name in names]

    def forces(self, time: float, within: float) -> list[Array] | None:
        """Largest column force about a time by cause, N; None where no flight reaches it."""
        after = time - self.begin
        if not -1.0 <= after <= float(self.flown[0].course.time[-1]) + 0.5:
            return None
        first, last = (self.record(after + sign * within) for sign in (-1.0, 1.0))
        return [np.abs(f.column_force[:, first : last + 1]).max(axis=1) for f in self.flown]

    def record(self, time: float) -> int:
        """Record of the flights at a time after the reference."""
        axis = self.flown[0].course.time
        return int(np.clip(round((time - axis[0]) / (axis[1] - axis[0])), 0, axis.size - 1))

    def after(self, time: float, where: str) -> float:
        """A time of the track as one after the reference that the flights reach.

        Args:
            time: s after the track's epoch.
            where: What errors call the item.

        Returns:
            s after the reference.

        Raises:
            NeutralPointError: `argument-invalid` where no flight is simulated then.
        """
        after, reach = time - self.begin, float(self.flown[0].course.time[-1])
        if not -1.0 <= after <= reach + 0.5:
            raise NeutralPointError(
                "argument-invalid",
                f"The item lies {after:.0f} s after the last trimmed flight, where no flight is "
                "simulated; it is left out.",
                where=where,
                hint=f"Items from 0 to {self.last + FURTHEST:.0f} s can be used.",
            )
        return after


def flown_until(case: Case, begin: float, last: float) -> float:
    """How long flights must be flown for the evidence to be held against them.

    Args:
        case: The case.
        begin: End of the reference, s after the track's epoch.
        last: End of what is compared, s after the reference.

    Returns:
        s after the reference.
    """
    times = [
        track_seconds(entry.time, case.track) - begin
        for entry in case.document.evidence
        if isinstance(entry, ImpactEntry | VoiceEntry) and entry.time is not None
    ]
    wanted = [time for time in times if time <= last + FURTHEST]
    if not without_ground(case):
        wanted.append(last + FURTHEST)
    return max([last, *wanted])


def horizon_then(case: Case, motion: KeptMotion, time: float) -> HorizonSeen:
    """Whether a natural horizon was in sight, as far as sun, moon and reports bear it.

    Args:
        case: The case.
        motion: Its motion.
        time: s after the epoch.

    Returns:
        Cannot be said where the case itself speaks of it: then that counts, and once.
    """
    stated_item = any(
        isinstance(entry, FindingEntry) and entry.item == HORIZON
        for entry in case.document.evidence
    )
    if stated_item or case.document.facts.sky is not None:
        return HorizonSeen.UNKNOWN
    return outlook_at(case, motion, time).seen
