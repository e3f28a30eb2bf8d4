"""Why a quantity is hatched in a stretch, and what would make it observable there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.report import Results
from neutralpoint.report.words.hatches import Help, helps_for, reason_words
from neutralpoint.study.motion.hatches import failed_test
from neutralpoint.vocabulary import QUANTITIES

LONGEST = 4  # stretches of one quantity that are explained
NEAR = 1.0  # s that two stretches may lie apart and count as one


@dataclass(frozen=True)
class Hatch:
    """A stretch in which a quantity is not observable.

    Attributes:
        quantity: Key of the panel.
        start: s after the record begins.
        end: The same.
        why: In words.
        helps: What would help, each with where in the case it is given.
    """

    quantity: str
    start: float
    end: float
    why: str
    helps: tuple[Help, ...]


def hatches(results: Results) -> list[Hatch]:
    """The longest hatched stretches of every quantity that has some.

    Args:
        results: With the motion.

    Returns:
        By quantity, in order of time within it.
    """
    time = results.time - results.time[0]
    ground = _on_ground(results)
    found = []
    for name, seen in results.observable.items():
        limit = QUANTITIES[name].limit
        if limit is None:
            continue
        for first, last in _stretches(time, ~seen):
            inside = slice(first, last + 1)
            band = results.bands[name][:, inside]
            lift = results.bands["normal_load_factor"][2, inside]
            reason = failed_test(name, band, lift, ground[inside])
            wide = float(np.median(0.5 * (band[4] - band[0])))
            found.append(
                Hatch(
                    name,
                    float(time[first]),
                    float(time[last]),
                    reason_words(reason, name, wide, limit),
                    helps_for(reason, name),
                )
            )
    return found


def _on_ground(results: Results) -> Flags:
    """Where the findings say that the airplane stood or rolled."""
    motion = results.findings.motion
    flags = np.zeros(len(results.time), dtype=bool)
    for stretch in motion.on_ground if motion is not None else ():
        flags |= (results.time >= stretch.start) & (results.time <= stretch.end)
    return flags


def _stretches(time: Array, flags: Flags) -> list[tuple[int, int]]:
    """First and last index of the longest runs of True, in order of time."""
    edges = np.flatnonzero(np.diff(np.r_[False, flags, False].astype(int)))
    runs: list[tuple[int, int]] = []
    for first, after in zip(edges[::2], edges[1::2], strict=True):
        if runs and time[first] - time[runs[-1][1]] < NEAR:
            runs[-1] = (runs[-1][0], int(after) - 1)
        else:
            runs.append((int(first), int(after) - 1))
    longest = sorted(runs, key=lambda run: time[run[0]] - time[run[1]])[:LONGEST]
    return sorted(longest)
