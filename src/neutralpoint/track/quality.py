"""What a channel can show: its rate, gaps, clock and quantization step."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.track.record import Floats, Observations

# Below this share of readings on a lattice no step is claimed. Analyst's choice: receivers mix a
# few readings of another resolution into a channel.
ON_LATTICE = 0.9
TOLERANCE = 0.06  # of a step: covers readings converted and printed with two decimals
FEWEST = 6  # readings below which a step is not looked for
GAP_FACTOR = 3.5  # a gap is this many median intervals long
HOPELESS = 0.6  # score below which a spacing is not followed further
MOST_SAMPLES = 2000
MOST_CANDIDATES = 60


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
    whole = np.minimum(fraction, 1.0 - fraction).max() < 1e-6
    return quantization_step(time - time[0]) if whole else quantization_step(fraction)


def quantization_step(values: Floats) -> float:
    """The spacing of the lattice that the readings lie on.

    A candidate spacing is accepted where nearly all readings lie on it, and where readings in one
    cell are equal: levels that an airplane happens to keep at round distances are no lattice.

    Args:
        values: Readings of one quantity, in the unit they were printed in, shape (n,).

    Returns:
        The largest spacing accepted; 0 for continuous readings, a constant, or fewer than six.

    Source: the score is the first characteristic-function modulus of the readings, as in period
    search by phase folding (common practice, no source).
    """
    finite = np.asarray(values, dtype=np.float64)
    finite = finite[np.isfinite(finite)]
    if finite.size < FEWEST:
        return 0.0
    if finite.size > MOST_SAMPLES:
        finite = finite[np.linspace(0, finite.size - 1, MOST_SAMPLES).astype(int)]
    distinct, counts = _distinct(finite)
    if distinct.size < 2:
        return 0.0
    if distinct.size == 2:
        return float(distinct[1] - distinct[0]) if counts.min() > 1 else 0.0
    for rough in _candidates(distinct, counts)[::-1]:
        step = _refined(distinct, counts, float(rough))
        if _lies_on(distinct, counts, step):
            return step
    return 0.0


def _distinct(values: Floats) -> tuple[Floats, Floats]:
    """Distinct values and their counts; values that differ by rounding only are one."""
    ordered = np.sort(values)
    least = 1e-9 * max(float(np.abs(ordered).max()), 1e-300)
    first = np.flatnonzero(np.r_[True, np.diff(ordered) > least])
    counts = np.diff(np.r_[first, ordered.size]).astype(np.float64)
    return ordered[first], counts


def _candidates(distinct: Floats, counts: Floats) -> Floats:
    """Spacings worth trying: distances of neighbouring frequent values, and their differences."""
    frequent = distinct[counts >= np.quantile(counts, 0.5)]
    pool = np.r_[np.diff(distinct), np.diff(frequent)]
    pool = pool[pool > 0.0]
    pool = pool[pool <= 0.5 * (distinct[-1] - distinct[0]) * (1.0 + 1e-9)]
    if not pool.size:
        return pool
    common = np.unique(
        np.quantile(pool, np.linspace(0.0, 1.0, MOST_CANDIDATES // 3), method="lower")
    )
    between = np.abs(common[:, None] - common[None, :]).ravel()
    between = between[between > 1e-6 * common.max()]
    every = np.sort(np.r_[common, between])
    apart = every[np.r_[True, np.diff(every) > 1e-3 * every[1:]]]
    picked = np.linspace(0, apart.size - 1, min(apart.size, 3 * MOST_CANDIDATES)).astype(int)
    return apart[picked]


def _score(distinct: Floats, counts: Floats, steps: Floats) -> Floats:
    """How well values lie on lattices, 0 to 1, shape (k,)."""
    phase = np.exp(2j * np.pi * (distinct - distinct[0])[None, :] / steps[:, None])
    return np.abs(phase @ counts) / counts.sum()


def _refined(distinct: Floats, counts: Floats, rough: float) -> float:
    """The spacing near a rough one on which the values lie best.

    Spacings are tried within 3 %, closer together the more steps the values span, first on the
    values near the most frequent one, then on all of them.
    """
    step, width = rough, 0.03
    centre = distinct[np.argmax(counts)]
    span = max(float(distinct[-1] - centre), float(centre - distinct[0]))
    reach = 10.0 * step
    while True:
        near = np.abs(distinct - centre) <= reach
        trial = step * (1.0 + width * np.linspace(-1.0, 1.0, 41))
        score = _score(distinct[near], counts[near], np.r_[step, trial])
        best = int(np.argmax(score))
        if score[best] > score[0] + 1e-9:
            step = float(np.r_[step, trial][best])
        if reach >= span or score[best] < HOPELESS:
            return step
        reach, width = 4.0 * reach, width / 4.0


def _lies_on(distinct: Floats, counts: Floats, step: float) -> bool:
    """Whether nearly all readings lie on the lattice, equal within each cell."""
    turn = np.exp(2j * np.pi * (distinct - distinct[0]) / step)
    offset = distinct[0] + np.angle(turn @ counts) * step / (2.0 * np.pi)
    cell = np.rint((distinct - offset) / step)
    near = np.abs(distinct - offset - cell * step) <= TOLERANCE * step
    if counts[near].sum() < ON_LATTICE * counts.sum():
        return False
    _, where = np.unique(cell[near], return_inverse=True)
    largest = np.zeros(where.max() + 1)
    np.maximum.at(largest, where, counts[near])
    return bool(largest.size >= 2 and largest.sum() >= ON_LATTICE * counts.sum())
