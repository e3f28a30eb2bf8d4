"""What a study that is told no onset makes of a motion, for flights that no case describes."""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import numpy as np

from neutralpoint.moments import (
    MotionFlight,
    Reference,
    Window,
    compared_windows,
    flight_from_paths,
    references,
)
from neutralpoint.motion import ONSET_SIGNALS, Onsets, fault_begin, upset_onsets
from neutralpoint.study.weighing.windows import Inquiry

HEAD = (
    "| flights | how many | log score | leads | below 1% | 90% set holds |",
    "|---|---|---|---|---|---|",
)


@dataclass(frozen=True)
class Looked:
    """A motion as a study has it before it weighs.

    Attributes:
        motion: Time, rows at a fix, and sample paths.
        smoothing: Window of the data's own smoothing, s.
        onsets: Found in it.
        flight: As the moments read it.
        chosen: Stretches that may be the last before the fault.
    """

    motion: SimpleNamespace
    smoothing: float
    onsets: Onsets
    flight: MotionFlight
    chosen: list[Reference]

    @property
    def last(self) -> float:
        """End of the flight, s on the motion's clock."""
        return float(self.flight.time[-1])

    def windows(self, chosen: list[Reference] | None = None) -> list[Window]:
        """Windows of all references, or of those given."""
        return compared_windows(chosen or self.chosen, self.onsets.interval[1], self.last)

    def inquiry(self, names: tuple[str, ...], flap: float = 0.0, gear: float = 0.0) -> Inquiry:
        """What every window is asked with."""
        case = SimpleNamespace(analysis=SimpleNamespace(flap=flap, gear=gear))
        return Inquiry(case, self.motion, self.smoothing, names)  # type: ignore[arg-type]


def look(motion: Any) -> Looked:
    """Look at a motion by the functions of a study.

    Args:
        motion: Has `time`, `is_fix` and `paths`.
    """
    grid = ~motion.is_fix
    signals = {name: motion.paths[name][:, grid] for name in ONSET_SIGNALS}
    onsets = upset_onsets(motion.time[grid], signals)
    wide = {name: np.asarray(values, float) for name, values in motion.paths.items()}
    smoothing = max(2.0, 2.0 * float(np.median(np.diff(motion.time[motion.is_fix]))))
    flight = flight_from_paths(motion.time, motion.is_fix, wide, smoothing)
    begun = fault_begin(onsets)
    return Looked(
        SimpleNamespace(time=motion.time, is_fix=motion.is_fix, paths=wide),
        smoothing,
        onsets,
        flight,
        references(flight, begun.time, begun.weight),
    )


class Rated:
    """Odds of one flight whose causes that fit are known."""

    names: tuple[str, ...]
    probability: np.ndarray

    @property
    def fitting(self) -> tuple[str, ...]:
        """Causes that fit."""
        raise NotImplementedError

    @property
    def given(self) -> float:
        """Probability of the causes that fit."""
        told = dict(zip(self.names, self.probability, strict=True))
        return float(sum(told.get(cause, 0.0) for cause in self.fitting))

    @property
    def leads(self) -> bool:
        """Whether the most probable cause fits."""
        return self.names[int(self.probability.argmax())] in self.fitting

    @property
    def held(self) -> bool:
        """Whether the smallest set with 90% holds a cause that fits."""
        order = np.argsort(-self.probability)
        size = int(np.searchsorted(np.cumsum(self.probability[order]), 0.9)) + 1
        return any(self.names[k] in self.fitting for k in order[:size])


def row(label: str, chosen: list[Any], digits: int = 0) -> str:
    """One row of a table of `HEAD`.

    Args:
        label: Of the row.
        chosen: Flights, each a `Rated`.
        digits: After the point, of the share below 1 %.
    """
    if not chosen:
        return f"| {label} | 0 | | | | |"
    given = np.array([one.given for one in chosen])
    score = np.log(np.maximum(given, 1e-9))
    error = score.std() / np.sqrt(score.size)
    return (
        f"| {label} | {score.size} | {score.mean():.2f} ± {error:.2f} | "
        f"{np.mean([one.leads for one in chosen]):.0%} | {np.mean(given < 0.01):.{digits}%} | "
        f"{np.mean([one.held for one in chosen]):.0%} |"
    )
