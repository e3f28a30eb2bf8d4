"""Kinds of airplanes, and what a world to learn in is kept as."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.explanations import Cause
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.simulate import FLOWN

CAUSE_NAMES = (*(cause.name for cause in FLOWN), CauseName.UNLISTED)
SPLITS = ("train", "held out", "catalogue", "outside")


@dataclass(frozen=True)
class Kind:
    """A kind of airplane: which file it is drawn around and what is made otherwise.

    Args:
        base: Name in the catalogue.
        engines: How many.
        trim: "stabilizer", "tab" or "none".
        engine: Kind of engine.
        reversible: Whether air loads on the elevator reach the column.
        size: Length over that of the base, in the middle.
        spread: Of the logarithm of that.
    """

    base: str
    engines: int
    trim: str
    engine: str
    reversible: bool = True
    size: float = 1.0
    spread: float = 0.18


KINDS = (
    Kind("velmar-c7", 2, "stabilizer", "turboprop"),
    Kind("ostrel-7", 2, "stabilizer", "turbofan"),
    Kind("tarnley-180", 1, "tab", "piston"),
    Kind("velmar-c7", 2, "tab", "turboprop"),
    Kind("tarnley-180", 2, "tab", "piston"),
    Kind("tarnley-180", 1, "tab", "turboprop"),
    Kind("ostrel-7", 2, "stabilizer", "turbofan", reversible=False, size=1.5, spread=0.35),
)


@dataclass(frozen=True)
class Place:
    """Airplanes of one structure with their starts.

    Attributes:
        kind: Of airplane.
        causes: That can act on at least one of them, by place in `FLOWN`.
        airplanes: Leaves (a, ...).
        sigma: Standard deviations of the multipliers, as documented, shape (a, multipliers).
        other: The same of the other model.
        allowed: Whether each of `CAUSE_NAMES` can act, shape (a, causes).
        split: Place of each airplane in `SPLITS`, shape (a,).
        start: Speed and so on of each start, leaves (s,).
        of: Airplane of each start, shape (s,).
        told: What the networks are told of each, shape (s, e); `weighing.effects`, by name.
    """

    kind: Kind
    causes: tuple[int, ...]
    airplanes: Airplane
    sigma: np.ndarray
    other: np.ndarray
    allowed: np.ndarray
    split: np.ndarray
    start: dict[str, np.ndarray]
    of: np.ndarray
    told: np.ndarray

    @property
    def acts(self) -> tuple[Cause, ...]:
        """The causes."""
        return tuple(FLOWN[number] for number in self.causes)
