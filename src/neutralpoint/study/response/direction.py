"""Which way the faults of each cause are flown, and why: as the flights of the case went."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from neutralpoint.explanations import Cause
from neutralpoint.explanations.nose import nose_by_nature, turned_by
from neutralpoint.findings.response import Direction, DirectionFrom
from neutralpoint.study.record import Record
from neutralpoint.vocabulary import CauseName

# Share of the flights that follow the track which must agree on a side for it to be the case's.
# Analyst's: the share that a 90% set leaves out on one side.
AGREE = 0.95


@dataclass(frozen=True)
class SideTaken:
    """What the weighing says of the side that the faults of one cause took.

    Attributes:
        nose_up: Share of its flights that follow the track whose fault raises the nose.
        stays: Whether its flights stay with the data.
    """

    nose_up: float
    stays: bool


@dataclass(frozen=True)
class FaultWay:
    """Which way the faults of one cause are flown.

    Attributes:
        direction: Of the nose.
        reason: Where that is from.
        nose_up: Share of the flights that follow the track whose fault raises the nose; None
            where it is not known.
    """

    direction: Direction
    reason: DirectionFrom
    nose_up: float | None = None

    @property
    def nose(self) -> int:
        """The side for the draw of faults: -1 raises the nose, else 1."""
        return -1 if self.direction == "nose-up" else 1


def seen_sides(held: Mapping[str, Record]) -> dict[CauseName, SideTaken]:
    """What a weighing that was made says of the sides; it hangs on the track alone.

    Args:
        held: Records of the stages whose results hold.

    Returns:
        By cause; empty where nothing was weighed.
    """
    record = held.get("weighing")
    if record is None or record.made.weighing is None:
        return {}
    sheet = record.made.signatures
    stay = set() if sheet is None else {row.cause for row in sheet.rows if row.first is None}
    return {
        row.cause: SideTaken(row.nose_up, row.cause in stay)
        for row in record.made.weighing.rows
        if row.nose_up is not None
    }


def flown_as(cause: Cause, seen: SideTaken | None) -> FaultWay:
    """Which way the faults of a cause are flown.

    Where the case does not say, or says both, the nose goes down: what is lost then is height,
    which cannot be had back.

    Args:
        cause: The cause.
        seen: Of the weighing; None where it says nothing.

    Returns:
        The side, and why.
    """
    if not turned_by(cause):
        by_nature = nose_by_nature(cause)
        if not by_nature:
            return FaultWay("none", "no-side")
        return FaultWay("nose-down" if by_nature > 0 else "nose-up", "nature")
    if seen is None:
        return FaultWay("nose-down", "not-weighed")
    reason: DirectionFrom = "stays" if seen.stays else "nearest"
    if seen.nose_up >= AGREE:
        return FaultWay("nose-up", reason, seen.nose_up)
    if seen.nose_up <= 1.0 - AGREE:
        return FaultWay("nose-down", reason, seen.nose_up)
    return FaultWay("nose-down", "both", seen.nose_up)
