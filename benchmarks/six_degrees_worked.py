"""One flight of the judge as it is kept: what was done to it, and what the smoother made of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.airplane.model import Airplane


@dataclass(frozen=True)
class Worked:
    """One flight worked out; times in s on the motion's clock, paths on its grid.

    Attributes:
        kind: What was done to it, a key of `KINDS`.
        fitting: Causes of the list that fit.
        name: Of the airplane.
        strata: What it was seen with, who flew, what was going on.
        onset: When the motion parts from its twin's; NaN where nothing failed.
        fault: When the fault began; NaN likewise.
        flap: Share of full flap, as the analyst is told.
        airplane: As documented.
        system: What it was seen with.
        time: Of the motion.
        is_fix: Rows at a fix.
        paths: Sample paths.
        truth: True path angle, bank, speed, load factor and height on the motion's clock.
    """

    kind: str
    fitting: tuple[str, ...]
    name: str
    strata: tuple[str, ...]
    onset: float
    fault: float
    flap: float
    airplane: Airplane
    system: str
    time: np.ndarray
    is_fix: np.ndarray
    paths: dict[str, np.ndarray]
    truth: dict[str, np.ndarray]
