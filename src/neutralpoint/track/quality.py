"""What a channel can show: its rate, gaps, clock and quantization step."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.track.record import Floats, Observations
from neutralpoint.track.steps import quantization_step

GAP_FACTOR = 3.5  # a gap is this many median intervals long


@dataclass(frozen=True)
class Gap:
    """A stretch without readings, s after the epoch."""

    start: float
    end: float


@dataclass(frozen=True)
class Quality:
    """What one channel can show.

    Attributes:
        count: Number of readings.
        interval: Median interval between distinct times, s; NaN with fewer than two.
        step: Quantization step of the values, in their unit; 0 where none is visible.
        clock: Step of the time stamps, s; 0 where none is visible.
        gaps: Stretches without readings.
    """

    count: int
    interval: float
    step: float
    clock: float
    gaps: tuple[Gap, ...]


def assess(channel: Observations) -> Quality:
    """Rate, gaps, clock and step of one channel.

    Args:
        channel: The readings.

    Returns:
        Its quality.
    """
    time = np.unique(channel.time)
    intervals = np.diff(time)
    interval = float(np.median(intervals)) if intervals.size else float("nan")
    long = np.flatnonzero(intervals > GAP_FACTOR * interval) if intervals.size else ()
    gaps = tuple(Gap(float(time[k]), float(time[k + 1])) for k in long)
    return Quality(len(channel), interval, channel.step, clock_step(time), gaps)


def clock_step(time: Floats) -> float:
    """The step of time stamps.

    Args:
        time: Distinct times, s, shape (n,).

    Returns:
        Step, s; 0 where none is visible. Steps below a second are looked for in the fractions of
        a second, where they stand closer together.
    """
    if not time.size:
        return 0.0
    fraction = np.mod(time, 1.0)
    if np.minimum(fraction, 1.0 - fraction).max() < 1e-6:
        return float(np.gcd.reduce(np.rint(np.diff(time)).astype(np.int64)))
    return quantization_step(fraction)
