"""Stretches of a flight that a page offers to look at: what the path itself shows, and the onset.

Nothing is concluded from them: they name parts of the time axis.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import FOOT_PER_MINUTE
from neutralpoint.report import Results

# Vertical speeds that make a climb or descent, and a dive, m/s; analyst's choices.
STEADY, DIVE = 300.0 * FOOT_PER_MINUTE, -4000.0 * FOOT_PER_MINUTE
SMOOTHED = 10.0  # s that the vertical speed is averaged over before it is divided
SHORTEST, SHORTEST_DIVE = 20.0, 4.0  # s of a stretch that is offered
ABOUT_ONSET = (30.0, 45.0)  # s shown before and after an onset
MOST = 6  # stretches of one kind; the longest are kept
LAST = 90.0  # s at the end of the record


@dataclass(frozen=True)
class FoundStretch:
    """A part of the time axis with a name.

    Attributes:
        name: In a word or two.
        start: s after the record begins.
        end: The same.
        why: What makes it one.
    """

    name: str
    start: float
    end: float
    why: str


def found_stretches(results: Results) -> list[FoundStretch]:
    """Climbs, descents, dives, the onset and the end of a record, in order of time.

    Args:
        results: With the motion.

    Returns:
        The stretches; they may overlap.
    """
    time = results.time - results.time[0]
    rate = _smooth(time, results.bands["vertical_speed"][2])
    found = [
        *_runs("Climb", "vertical speed above 300 ft/min", time, rate > STEADY, SHORTEST),
        *_runs("Descent", "vertical speed below -300 ft/min", time, rate < -STEADY, SHORTEST),
        *_runs("Dive", "vertical speed below -4,000 ft/min", time, rate < DIVE, SHORTEST_DIVE),
        *_onset(results),
    ]
    last = float(time[-1])
    if last > 2.0 * LAST:
        found.append(FoundStretch("Last 90 s", last - LAST, last, "the end of the record"))
    return sorted(found, key=lambda one: (one.start, one.end))


def _smooth(time: Array, value: Array) -> Array:
    """A running mean over `SMOOTHED` seconds, whatever the steps."""
    area = np.concatenate([[0.0], np.cumsum(np.diff(time) * 0.5 * (value[1:] + value[:-1]))])
    ends = [np.clip(time + side * SMOOTHED / 2.0, time[0], time[-1]) for side in (-1.0, 1.0)]
    low, high = (np.interp(end, time, area) for end in ends)
    return (high - low) / np.maximum(ends[1] - ends[0], 1e-9)


def _runs(name: str, why: str, time: Array, flags: Flags, shortest: float) -> list[FoundStretch]:
    """Runs of True that last long enough; the longest of them."""
    edges = np.flatnonzero(np.diff(np.r_[False, flags, False].astype(int)))
    runs = [
        (float(time[a]), float(time[b - 1])) for a, b in zip(edges[::2], edges[1::2], strict=True)
    ]
    long = sorted((run for run in runs if run[1] - run[0] >= shortest), key=lambda r: r[0] - r[1])
    return [FoundStretch(name, start, end, why) for start, end in long[:MOST]]


def _onset(results: Results) -> list[FoundStretch]:
    """The stretch about the departure that the motion shows."""
    motion = results.findings.motion
    onset = None if motion is None else motion.onset
    if onset is None or not onset.found or not onset.left:
        return []
    low, _, _, _, high = (float(t - results.time[0]) for t in onset.left)
    last = float(results.time[-1] - results.time[0])
    start, end = max(low - ABOUT_ONSET[0], 0.0), min(high + ABOUT_ONSET[1], last)
    return [FoundStretch("Onset", start, end, "the motion left ordinary flight here, 90% band")]
