"""Altitudes and vertical rates as rows over the vertical chain, in pressure altitude."""

from __future__ import annotations

import numpy as np

from neutralpoint.motion.horizontal import Guide, doubt_of, nominal
from neutralpoint.motion.rows import KINDS, Rows, crossings, run_lengths, stack, taylor
from neutralpoint.numerics.arrays import Array
from neutralpoint.track import Observations

ALTITUDE_SIGMA = 1.0  # m, nominal, on top of quantization: encoder and static-port noise
RATE_SIGMA = 0.3  # m/s, nominal, on top of quantization


def _altitude_axes(offset: Array) -> Array:
    position, _ = taylor(offset)
    return np.concatenate([position, np.zeros((offset.size, 2))], axis=1)


def altitude_rows(observations: Observations, guide: Guide) -> Rows:
    """Altitudes, each run of equal readings counting once, and the steps between runs.

    Args:
        observations: Altitude, m, shape (n,).
        guide: Grid.

    Returns:
        One row a reading and one a boundary crossed.
    """
    node, offset = guide.locate(observations.time)
    count = run_lengths(observations.value, observations.step)
    doubt = doubt_of(observations)
    readings = Rows(
        np.full(node.size, KINDS.index("altitude")),
        node,
        _altitude_axes(offset),
        observations.value,
        (nominal(observations, ALTITUDE_SIGMA) ** 2 + count * observations.step**2 / 12.0) * doubt,
        1.0 / count,
        observations.row,
    )
    if observations.step <= 0.0:
        return readings
    time, value, variance, before = crossings(
        observations.time, observations.value, observations.step
    )
    node, offset = guide.locate(time)
    boundary = Rows(
        np.full(node.size, KINDS.index("altitude_crossing")),
        node,
        _altitude_axes(offset),
        value,
        (ALTITUDE_SIGMA**2 + variance) * np.maximum(doubt[before], doubt[before + 1]),
        np.ones(node.size),
        observations.row[before],
    )
    return stack([readings, boundary])


def rate_rows(observations: Observations, guide: Guide, *, lag: float, scale: Array) -> Rows:
    """Vertical rates as the lagged state of the chain.

    Args:
        observations: Vertical rate, m/s up, shape (n,).
        guide: Grid.
        lag: Time constant of the lag, s.
        scale: Rate read per rate of pressure altitude on the grid, shape (m,): 1 for a barometric
            rate, the ratio of the heights for a geometric one.

    Returns:
        One row a reading.
    """
    node, offset = guide.locate(observations.time)
    count = run_lengths(observations.value, observations.step)
    doubt = doubt_of(observations)
    design = np.zeros((node.size, 5))
    design[:, 1] = scale[node] * offset / lag
    design[:, 3] = scale[node] * (1.0 - offset / lag)
    return Rows(
        np.full(node.size, KINDS.index("vertical_rate")),
        node,
        design,
        observations.value,
        (nominal(observations, RATE_SIGMA) ** 2 + count * observations.step**2 / 12.0) * doubt,
        1.0 / count,
        observations.row,
    )
