"""The step of readings that were rounded: the widest lattice that they can have come from.

An airplane keeps one level for an hour and passes the others in a minute, so counting readings
would let the hour decide. What speaks of the lattice are the values that differ, each with little
more than the usual number of readings; a few readings may lie off it (wrong bits, a receiver of
another resolution).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.track.record import Flags, Floats, Ints

FEWEST = 6  # readings below which a step is not looked for
# Analyst's choices, tried on recorded and invented channels (tests/unit/test_track_steps.py).
ON_LATTICE = 0.9  # share of the readings that must lie on the lattice
MOVING = 0.85  # the same, where no level counts for more than a few times the usual one
KEPT_LONG = 3.0  # times the median of what the levels were kept
CHANCE = 0.02  # expected number of wider lattices that chance alone would offer
TRIALS = 300.0  # spacings that are tried, for that number
# Rounding of readings that were converted and printed, as shares of the step, finest first.
TOLERANCES = (1e-7, 1e-5, 1e-3, 0.01, 0.03, 0.06, 0.1, 0.16)
NEAREST_MULTIPLE = 0.25  # of a step, within which a value helps to refine the spacing
MOST_VALUES = 1600  # distinct values looked at
BLOCKS = 4  # stretches of time that they are taken from
KEPT = 24  # distances from which spacings are made
ALIKE = 1e-3  # spacings closer than this are one
SAME = 1e-9  # of the largest value: differences below are rounding of the computer
LONGEST_MULTIPLE = 100  # of the fine step that a coarse stretch may have
FEWEST_ALIKE = 8  # arrivals in a row that show a coarse stretch
# Even motion read at even times gives even distances too. Where hardly a reading ever comes back
# to a value, only a close lattice with strides of different lengths counts.
RETURNING = 0.05  # share of the readings that do
CLOSE = 1e-3  # of a step
SAME_STRIDE = 0.8  # share of the strides that may have one length


@dataclass(frozen=True)
class _Arrivals:
    """Readings that differ from the one before, and the distinct values among them.

    Attributes:
        distinct: Distinct values, rising, shape (d,).
        which: Index into `distinct` of each arrival in order of time, shape (n,).
        held: Readings from each arrival to the next, shape (n,).
    """

    distinct: Floats
    which: Ints
    held: Floats


def quantization_step(values: Floats) -> float:
    """The spacing of the lattice that the readings lie on.

    Args:
        values: Readings of one quantity in order of time, in the unit they were printed in,
            shape (n,).

    Returns:
        The largest spacing accepted; 0 for continuous readings, a constant, or fewer than six.
        Of a channel in two resolutions, one after the other, that of the larger part.

    Source: greatest common divisor by the nearest-integer form of Euclid's algorithm, refined by
    least squares; the widest spacing wins because each value is as many times likelier on a lattice
    as that is wider. Checked against: tests/unit/test_track_steps.py.
    """
    finite = np.asarray(values, dtype=np.float64)
    finite = finite[np.isfinite(finite)]
    if finite.size < FEWEST:
        return 0.0
    seen = _arrivals(finite)
    if seen.distinct.size < 2:
        return 0.0
    if seen.distinct.size == 2:
        # Taken for neighbours unless one is a single reading; too wide a step claims too little.
        alternate = seen.which.size > 2 or seen.held.min() > 1
        return float(np.ptp(seen.distinct)) if alternate else 0.0
    for rough in _spacings(seen)[::-1]:
        step, start = _refined(seen, float(rough))
        if step > 0.0 and _lies_on(seen, step, start):
            return step * _coarser(seen, step, start)
    return 0.0


def _arrivals(values: Floats) -> _Arrivals:
    least = SAME * max(float(np.abs(values).max()), 1e-300)
    first = np.flatnonzero(np.r_[True, np.abs(np.diff(values)) > least])
    held = np.diff(np.r_[first, values.size]).astype(np.float64)
    kept = _blocks(first.size)
    first, held = first[kept], held[kept]
    order = np.argsort(values[first], kind="stable")
    rising = values[first][order]
    new = np.r_[True, np.diff(rising) > least]
    which = np.empty(first.size, dtype=np.int64)
    which[order] = np.cumsum(new) - 1
    return _Arrivals(rising[new], which, held)


def _blocks(count: int) -> Ints:
    """Indices of some stretches of time, where there are too many arrivals to look at all."""
    if count <= MOST_VALUES:
        return np.arange(count)
    length = MOST_VALUES // BLOCKS
    starts = np.linspace(0, count - length, BLOCKS).astype(np.int64)
    return np.unique(starts[:, None] + np.arange(length))


def _spacings(seen: _Arrivals) -> Floats:
    """Spacings worth trying, rising: distances of values, and what they have in common."""
    span = float(seen.distinct[-1] - seen.distinct[0])
    apart = np.diff(seen.distinct)
    moved = np.abs(np.diff(seen.distinct[seen.which]))
    first = _picked(np.r_[apart, moved[moved > 0.0]])
    second = _picked(np.r_[first, _remainders(first, span)])
    every = np.r_[first, second, _remainders(second, span)]
    every = every[(every > SAME * 10.0 * np.abs(seen.distinct).max()) & (every <= span)]
    return _unlike(every)[0]


def _unlike(values: Floats) -> tuple[Floats, Ints]:
    """Values that differ by more than `ALIKE`, rising, and how many stand for each."""
    ordered = np.sort(values)
    if not ordered.size:
        return ordered, np.zeros(0, dtype=np.int64)
    new = np.r_[True, np.diff(ordered) > ALIKE * ordered[1:]]
    group = np.cumsum(new) - 1
    return np.bincount(group, ordered) / np.bincount(group), np.bincount(group)


def _picked(values: Floats) -> Floats:
    """A few of many distances: the smallest, the most frequent, and some of the others."""
    unlike, count = _unlike(values)
    if unlike.size <= KEPT:
        return unlike
    third = KEPT // 3
    frequent = np.argsort(-count, kind="stable")[:third]
    others = np.linspace(third, unlike.size - 1, third).astype(np.int64)
    return unlike[np.unique(np.r_[np.arange(third), frequent, others])]


def _remainders(lengths: Floats, span: float) -> Floats:
    """What is left of each length by each other, down to the common measure of the pair."""
    found = []
    long, short = (x.ravel() for x in np.meshgrid(lengths, lengths))
    least = 1e-6 * span
    for _ in range(8):
        use = (long > short) & (short > least)
        long, short = long[use], short[use]
        left = np.abs(long - np.rint(long / short) * short)
        found.append(left)
        long, short = short, left
    every = np.concatenate(found)
    return every[every > least]


def _refined(seen: _Arrivals, rough: float) -> tuple[float, float]:
    """The spacing near a rough one on which the values lie best, and a value of its lattice.

    It is fitted to the values about the one visited most, then to more and more of them, and at
    last without those that lie off it.
    """
    value = seen.distinct
    weight = np.bincount(seen.which, minlength=value.size).astype(np.float64)
    start = float(value[np.argmax(weight)])
    weight = np.minimum(weight, np.ceil(KEPT_LONG * np.median(weight)))
    step, reach = rough, 8.0 * rough
    span = float(np.abs(value - start).max())
    good = np.zeros(value.size, dtype=bool)
    for last in (False, True, True, True):
        while True:
            near = np.abs(value - start) <= reach
            off = np.abs(value - start - np.rint((value - start) / step) * step)
            good = near & (off <= NEAREST_MULTIPLE * step)
            if weight[good].sum() < 0.6 * weight[near].sum():
                return 0.0, start
            if last:
                usual = np.median(np.repeat(off[good], weight[good].astype(int)))
                good &= off <= 4.0 * usual + SAME * step
            step, start = _fitted(value[good], weight[good], step, start)
            if not 0.5 * rough < step < 1.5 * rough:
                return 0.0, start
            if reach >= span:
                break
            reach *= 4.0
    return step, start


def _fitted(value: Floats, weight: Floats, step: float, start: float) -> tuple[float, float]:
    """Spacing and a value of the lattice by weighted least squares."""
    cell = np.rint((value - start) / step)
    off = value - start - cell * step
    middle, mean = np.average(cell, weights=weight), np.average(off, weights=weight)
    spread = float((weight * (cell - middle) ** 2).sum())
    slope = float((weight * (cell - middle) * off).sum()) / spread if spread > 0.0 else 0.0
    return step + slope, start + mean - slope * middle


def _lies_on(seen: _Arrivals, step: float, start: float) -> bool:
    """Whether the readings lie on the lattice, equal within each cell, and not by chance."""
    cell = np.rint((seen.distinct - start) / step).astype(np.int64)
    off = np.abs(seen.distinct - start - cell * step) / step
    fresh = seen.held.sum() - seen.distinct.size <= RETURNING * seen.held.sum()
    if fresh and _one_stride(seen, cell):
        return False
    for tolerance in TOLERANCES:
        if fresh and tolerance > CLOSE:
            return False
        on = off <= tolerance
        cells = np.unique(cell[on]).size
        chance = TRIALS * (2.0 * tolerance) ** (cells - 2)
        if cells > 2 and chance < CHANCE and _mostly(seen, on) and _equal(seen, on, cell):
            return True
    return False


def _one_stride(seen: _Arrivals, cell: Ints) -> bool:
    """Whether nearly all readings differ from the one before by the same number of cells."""
    moved = np.abs(np.diff(cell[seen.which]))
    return bool(np.bincount(moved).max(initial=0) > SAME_STRIDE * moved.size)


def _mostly(seen: _Arrivals, on: Flags) -> bool:
    """Whether nearly all readings lie on the lattice, also where levels kept long count little."""
    held = np.bincount(seen.which, seen.held, minlength=on.size)
    capped = np.minimum(held, KEPT_LONG * np.median(held[on]))
    return bool(
        held[on].sum() >= ON_LATTICE * held.sum() and capped[on].sum() >= MOVING * capped.sum()
    )


def _equal(seen: _Arrivals, on: Flags, cell: Ints) -> bool:
    """Whether the readings of one cell are equal: levels kept at round distances are not."""
    value = seen.which[on[seen.which]]
    visits = np.bincount(value, minlength=on.size)[on]
    _, group = np.unique(cell[on], return_inverse=True)
    largest = np.zeros(group.max() + 1)
    np.maximum.at(largest, group, visits)
    return bool(largest.sum() >= ON_LATTICE * visits.sum() or np.bincount(group).max() == 1)


def _coarser(seen: _Arrivals, step: float, start: float) -> int:
    """How many steps a coarser lattice has on which the larger part of the record lies."""
    cell = np.rint((seen.distinct - start) / step).astype(np.int64)[seen.which]
    moved = np.abs(np.diff(cell))
    largest = int(min(LONGEST_MULTIPLE, moved.max(initial=1)))
    for multiple in range(largest, 1, -1):
        alike = np.r_[moved % multiple == 0, False]
        ends = np.flatnonzero(~alike)
        starts = np.r_[0, ends[:-1] + 1]
        long = (ends - starts) >= FEWEST_ALIKE
        chance = moved.size * float(multiple) ** -FEWEST_ALIKE
        held = sum(
            seen.held[a : b + 1].sum()
            for a, b in zip(starts[long], ends[long], strict=True)
            if np.unique(cell[a : b + 1]).size >= FEWEST_ALIKE // 2
        )
        if chance < 1.0 and held > 0.5 * seen.held.sum():
            return multiple
    return 1
