"""Is there a slow oscillation in a path, how long is it, and does it trade height for speed?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import GRAVITY

PERIODS = 80  # tried
FEWEST_CYCLES = 1.5  # of them that must lie in the record; analyst's
EXPLAINED = 0.7  # share of what a parabola leaves that one sine must explain; analyst's


@dataclass(frozen=True)
class Oscillation:
    """The sine that explains most of what a parabola leaves of the path angle, path by path.

    Attributes:
        period: s, shape (S,).
        explained: Share of it that it explains, shape (S,).
        exchange: Kinetic height gained for height lost at that period: 1 where energy is kept, as
            in a phugoid; shape (S,).
        cycles: Of the median period that the record holds.
        span: Length of the record, s.
    """

    period: Array
    explained: Array
    exchange: Array
    cycles: float
    span: float

    @property
    def found(self) -> bool:
        """Whether an oscillation is seen at all."""
        enough = float(np.median(self.explained)) >= EXPLAINED
        return enough and self.cycles >= FEWEST_CYCLES


def oscillation(
    time: Array, path_angle: Array, height: Array, speed: Array, *, shortest: float
) -> Oscillation:
    """Look for one.

    Args:
        time: s, uniform, shape (m,).
        path_angle: rad, shape (S, m).
        height: m, shape (S, m).
        speed: True airspeed, m/s, shape (S, m).
        shortest: Period that is tried first, s; the longest has `FEWEST_CYCLES` in the record.

    Returns:
        The best on each path.

    Source: least squares on trend and sine, the periodogram of Lomb, Astrophysics and Space Science
    39 (1976) 447-462, with a parabola beside it.
    Checked against: tests/unit/test_hand_checks.py.
    """
    span = float(time[-1] - time[0])
    longest = max(span / FEWEST_CYCLES, 1.01 * shortest)
    tried = np.geomspace(shortest, longest, PERIODS)
    unit = (time - time.mean()) / max(span, 1e-9)
    trend = np.stack([np.ones_like(unit), unit, unit**2], axis=1)
    left = _residual(trend, path_angle)
    total = np.sum(left**2, axis=1)
    shares = np.empty((tried.size, path_angle.shape[0]))
    for number, period in enumerate(tried):
        shares[number] = (
            1.0 - np.sum(_residual(_basis(trend, time, period), left) ** 2, axis=1) / total
        )
    best = shares.argmax(axis=0)
    kinetic = speed**2 / (2.0 * GRAVITY)
    return Oscillation(
        tried[best],
        shares.max(axis=0),
        np.array(
            [
                _exchange(_basis(trend, time, float(tried[at])), kinetic[row], height[row])
                for row, at in enumerate(best)
            ]
        ),
        span / float(np.median(tried[best])),
        span,
    )


def _basis(trend: Array, time: Array, period: float) -> Array:
    turn = 2.0 * np.pi * time / period
    return np.column_stack([trend, np.cos(turn), np.sin(turn)])


def _residual(basis: Array, values: Array) -> Array:
    q, _ = np.linalg.qr(basis)
    return values - (values @ q) @ q.T


def _exchange(basis: Array, kinetic: Array, height: Array) -> float:
    """Minus the part of the kinetic height that goes with the height, per metre of height."""
    sines = np.linalg.lstsq(basis, np.stack([kinetic, height], axis=1), rcond=None)[0][-2:]
    power = float(sines[:, 1] @ sines[:, 1])
    return -float(sines[:, 0] @ sines[:, 1]) / power if power > 0.0 else 0.0
