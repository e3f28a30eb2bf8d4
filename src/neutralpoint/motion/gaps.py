"""Long gaps with long steps: a chain of short ones through a long gap loses all its digits.

The precision form adds up information step by step; over a gap of n steps it must hold numbers
that differ by n^5. So the nodes inside a gap are thinned, the chain is fitted on what is left, and
the states between are filled in along the smooth curve that the states at both ends define.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from neutralpoint.motion.rows import Rows, interval
from neutralpoint.numerics.arrays import Array, Index

# A gap: this long, and this many usual intervals. Its ends keep all nodes for this long. Analyst's
# choices; at 0.25 s and 10 s between the ends of a gap, 7 of the 16 digits are left.
SHORTEST, INTERVALS, MARGIN = 30.0, 4.0, 10.0
PARTS = 100  # steps that a gap is cut into at most, 5th power below 1e10
LEAST = 8  # grid steps of a long step at least


@dataclass(frozen=True)
class Thinning:
    """The nodes of a uniform grid that a chain is fitted on.

    Attributes:
        kept: Their indices, ascending, shape (k,).
        nodes: Of the uniform grid, m.
        step: Grid step, s.
    """

    kept: Index
    nodes: int
    step: float

    @property
    def spacing(self) -> Index:
        """Grid steps from each kept node to the next, powers of two, shape (k - 1,)."""
        return np.diff(self.kept)

    @property
    def whole(self) -> bool:
        """Whether every node is kept."""
        return self.kept.size == self.nodes

    def level(self, jerk: Array) -> Array:
        """Mean jerk level of each step between kept nodes. Source: variances of increments add.

        Args:
            jerk: Of each grid step, shape (m - 1,).

        Returns:
            Shape (k - 1,).
        """
        if self.whole:
            return jerk
        return np.add.reduceat(jerk, self.kept[:-1]) / self.spacing

    def rows(self, rows: Rows) -> Rows:
        """Rows over the kept nodes; one at a node left out goes to the nearest kept one.

        Args:
            rows: Over the uniform grid.

        Returns:
            The same rows.
        """
        if self.whole:
            return rows
        after = np.clip(np.searchsorted(self.kept, rows.node), 1, self.kept.size - 1)
        nearer = rows.node - self.kept[after - 1] < self.kept[after] - rows.node
        return replace(rows, node=after - nearer)

    def filled(self, states: Array) -> Array:
        """States on the whole grid.

        Args:
            states: Groups of (value, rate, acceleration), others after them, shape (..., k, d).

        Returns:
            Shape (..., m, d); between kept nodes the quintic through value, rate and acceleration
            at both ends, others straight.

        Source: quintic Hermite interpolation; the spread about it within one part of a gap is
        below `PARTS`^-5 of that of the gap.
        Checked against: tests/unit/test_motion_gaps.py.
        """
        if self.whole:
            return states
        full = np.empty((*states.shape[:-2], self.nodes, states.shape[-1]))
        full[..., self.kept, :] = states
        missing = np.setdiff1d(np.arange(self.nodes), self.kept, assume_unique=True)
        after = np.searchsorted(self.kept, missing)
        left, right = states[..., after - 1, :], states[..., after, :]
        span = (self.kept[after] - self.kept[after - 1]) * self.step
        s = (missing - self.kept[after - 1]) * self.step / span
        result = left + s[:, None] * (right - left)
        for first in range(0, states.shape[-1] - 2, 3):
            group = slice(first, first + 3)
            result[..., group] = _quintic(left[..., group], right[..., group], s, span)
        full[..., missing, :] = result
        return full


def _quintic(left: Array, right: Array, s: Array, span: Array) -> Array:
    """Value, rate and acceleration at the share `s` of a step of `span` seconds."""
    p0, v0, a0 = left[..., 0], left[..., 1] * span, left[..., 2] * span**2
    p1, v1, a1 = right[..., 0], right[..., 1] * span, right[..., 2] * span**2
    d = p1 - p0 - v0 - 0.5 * a0
    e, f = v1 - v0 - a0, a1 - a0
    c3, c4, c5 = 10.0 * d - 4.0 * e + 0.5 * f, -15.0 * d + 7.0 * e - f, 6.0 * d - 3.0 * e + 0.5 * f
    value = p0 + s * (v0 + s * (0.5 * a0 + s * (c3 + s * (c4 + s * c5))))
    rate = v0 + s * (a0 + s * (3.0 * c3 + s * (4.0 * c4 + s * 5.0 * c5)))
    turn = a0 + s * (6.0 * c3 + s * (12.0 * c4 + s * 20.0 * c5))
    return np.stack([value, rate / span, turn / span**2], axis=-1)


def thinning(rows: Rows, nodes: int, step: float) -> Thinning:
    """Which nodes to keep.

    Args:
        rows: All that was read.
        nodes: Of the uniform grid, m.
        step: Grid step, s.

    Returns:
        All nodes but those well inside gaps.
    """
    seen = np.unique(rows.node)
    longest = max(SHORTEST, INTERVALS * interval(seen * step)) / step
    margin = round(MARGIN / step)
    keep = np.ones(nodes, bool)
    for k in np.flatnonzero(np.diff(seen) > longest):
        first, last = int(seen[k]) + margin, int(seen[k + 1]) - margin
        if last - first >= 2 * LEAST:
            keep[first : last + 1] = False
            keep[first + _places(last - first)] = True
    return Thinning(np.flatnonzero(keep), nodes, step)


def _places(length: int) -> Index:
    """Places from 0 to `length` that lie powers of two apart."""
    stride = LEAST
    while length / stride > PARTS:
        stride *= 2
    places = [*range(0, length + 1, stride)]
    while places[-1] < length:
        places.append(places[-1] + (1 << ((length - places[-1]).bit_length() - 1)))
    return np.array(places)
