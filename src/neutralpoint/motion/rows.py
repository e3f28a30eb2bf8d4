"""Fixes as rows of a linear observation of the chain's states.

Quantization is part of the model. A reading rounded to a step carries a uniform error of variance
step^2/12. A run of equal readings carries that error once, not once per reading, so each reading
of a run of `m` counts 1/m. Where two runs meet one step apart, the true value crossed the boundary
between the two readings, and that crossing is an observation of its own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array, Index

KINDS = (
    "position_along",
    "position_cross",
    "position_rounded",
    "ground_speed",
    "track_angle",
    "altitude",
    "altitude_crossing",
    "vertical_rate",
)


@dataclass(frozen=True)
class Rows:
    """Scalar observations `value = design . x[node] + noise`, `noise ~ N(0, kappa variance)`.

    Attributes:
        kind: Index into `KINDS`, shape (n,).
        node: Grid node, shape (n,).
        design: Shape (n, d).
        value: Shape (n,).
        variance: Variance before the estimated factor kappa of the kind, shape (n,).
        weight: How much the row counts as an independent reading, at most 1, shape (n,).
        origin: Row of the source file, shape (n,).
    """

    kind: Index
    node: Index
    design: Array
    value: Array
    variance: Array
    weight: Array
    origin: Index

    def predict(self, states: Array) -> Array:
        """What the states say each row should read.

        Args:
            states: Shape (..., m, d).

        Returns:
            Shape (..., n).
        """
        return np.einsum("ni,...ni->...n", self.design, states[..., self.node, :])


def stack(parts: list[Rows]) -> Rows:
    """Join groups of rows over the same states.

    Args:
        parts: Groups, at least one.

    Returns:
        All rows, in the order given.
    """
    return Rows(*(np.concatenate([getattr(p, f) for p in parts]) for f in Rows.__annotations__))


def interval(time: Array) -> float:
    """Usual time between readings taken at different times.

    Args:
        time: Times of the readings, s, shape (n,).

    Returns:
        Median, s; 1 for a single time.
    """
    distinct = np.unique(time)
    return float(np.median(np.diff(distinct))) if distinct.size > 1 else 1.0


def run_lengths(values: Array, step: float) -> Index:
    """Length of the run of equal readings that each reading stands in.

    Args:
        values: Readings in time order, shape (n,).
        step: Quantization step; 0 for a continuous channel.

    Returns:
        Shape (n,), at least 1.
    """
    if step <= 0.0 or values.size == 0:
        return np.ones(values.size, dtype=np.intp)
    starts = np.flatnonzero(np.r_[True, np.abs(np.diff(values)) > 0.5 * step])
    lengths = np.diff(np.r_[starts, values.size])
    return np.repeat(lengths, lengths)


def crossings(time: Array, values: Array, step: float) -> tuple[Array, Array, Array, Index]:
    """Boundaries crossed between two runs of readings that lie one step apart.

    Args:
        time: Times of the readings, s, shape (n,).
        values: Readings, shape (n,).
        step: Quantization step.

    Returns:
        Time, value and variance of the crossings, and the index of the reading before each.
        The variance is that of a time uniform between the two readings, at the rate of one step
        per run; where they lie further apart than a run lasts, nothing is said of the time between.
    """
    lengths = run_lengths(values, step)
    jump = np.diff(values)
    single = np.abs(np.abs(jump) - step) < 0.1 * step
    before = np.flatnonzero(single & (lengths[:-1] >= 2) & (lengths[1:] >= 2))
    duration = np.minimum(lengths[before], lengths[before + 1]) * interval(time)
    soon = time[before + 1] - time[before] <= duration
    before, duration = before[soon], duration[soon]
    gap = time[before + 1] - time[before]
    variance = (step * gap / duration) ** 2 / 12.0
    return (
        0.5 * (time[before] + time[before + 1]),
        values[before] + 0.5 * jump[before],
        variance,
        before,
    )


def taylor(offset: Array) -> tuple[Array, Array]:
    """Position and velocity a short time from a node, as rows over (p, v, a).

    Args:
        offset: Time from the node, s, shape (n,).

    Returns:
        Position rows and velocity rows, each shape (n, 3). The jerk neglected over half a grid
        step of 0.125 s moves a position by less than 2 mm at 5 m/s^3.
    """
    one, zero = np.ones_like(offset), np.zeros_like(offset)
    position = np.stack([one, offset, 0.5 * offset**2], axis=-1)
    velocity = np.stack([zero, one, offset], axis=-1)
    return position, velocity
