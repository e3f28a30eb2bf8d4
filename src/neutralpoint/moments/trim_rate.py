"""The fastest trim movement that was needed, beside what the motor can do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import norm

from neutralpoint.moments.required import Required
from neutralpoint.numerics.arrays import Array, Flags

SPAN = 4.0  # s over which a rate is taken: two smoothing windows


@dataclass(frozen=True)
class TrimRate:
    """The fastest needed movement over `SPAN` seconds.

    Attributes:
        time: Middle of the span, s.
        median: rad/s, signed.
        low: 5% quantile, rad/s.
        high: 95% quantile, rad/s.
        beyond: Probability that it was faster than a rate, by rate as given.
    """

    time: float
    median: float
    low: float
    high: float
    beyond: tuple[float, ...]


def trim_rate(
    required: Required, paths: Array, rates: tuple[float, ...], judged: Flags
) -> TrimRate | None:
    """How fast the trim would have had to move, had it supplied the moment.

    The span is the one with the fastest mean movement, so that noise of single paths does not
    raise the rate. With the movement spread over less than the span the true rate is higher: a
    step shows as its size over the span.

    Args:
        required: What it took.
        paths: Needed stabilizer or tab angle, rad, shape (S, m).
        rates: Rates of the drive to compare with, rad/s, positive.
        judged: True in the time that is looked at, shape (m,).

    Returns:
        The rate, or None where the window after the reference is shorter than the span or has no
        values.
    """
    inside = judged & ~required.stalled
    time, values = required.time[inside], paths[:, inside]
    step = float(required.time[1] - required.time[0])
    apart = round(SPAN / step)
    if time.size <= apart:
        return None
    moved = (values[:, apart:] - values[:, :-apart]) / SPAN
    known = np.isfinite(moved).all(axis=0) & (np.abs(time[apart:] - time[:-apart] - SPAN) < step)
    if not known.any():
        return None
    at = int(np.argmax(np.where(known, np.abs(moved.mean(axis=0)), -1.0)))
    fastest = moved[:, at] * np.sign(moved[:, at].mean())
    low, median, high = np.quantile(moved[:, at], (0.05, 0.5, 0.95))
    spread = max(float(fastest.std()), 1e-12)
    return TrimRate(
        time=float(time[at] + 0.5 * SPAN),
        median=float(median),
        low=float(low),
        high=float(high),
        beyond=tuple(float(norm.cdf((fastest.mean() - rate) / spread)) for rate in rates),
    )
