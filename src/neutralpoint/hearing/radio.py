"""When the carrier of a radio channel was on, by its loudness alone."""

from __future__ import annotations

import numpy as np

from neutralpoint.hearing.chain import present
from neutralpoint.numerics.arrays import Array

FRAME = 0.1  # s
LEAST_STEP = 6.0  # dB between the two levels, below which no two are told apart; analyst's
SPREAD = 3.0  # dB: least standard deviation of a level; analyst's
MOST = 6.0  # nats that a frame may say; analyst's
LOST, FOUND = 0.02, 0.01  # chance in a frame that a carrier goes, comes; analyst's
DARK = 1e-12  # power of digital silence beside full scale


def carrier_on(samples: Array, rate: float) -> tuple[Array, Array]:
    """Chance that a carrier was on.

    Args:
        samples: Shape (n,).
        rate: Samples a second.

    Returns:
        Middle of each frame, s, and the chance, each shape (m,); none where the recording has not
        two levels of loudness: squelch was open, or nobody called.

    Source: with its squelch a receiver is silent until a carrier opens it; two normal levels of
    the logarithm of power by expectation-maximization, Dempster, Laird and Rubin, J. R. Stat. Soc.
    B 39 (1977) 1, in a chain of two states. Checked against: tests/recovery/test_hearing.py.
    """
    length = round(FRAME * rate)
    count = len(samples) // length
    frames = samples[: count * length].reshape(count, length)
    level = 10.0 * np.log10(frames.var(axis=1) + DARK) if count else np.zeros(0)
    if count < 10 or np.ptp(level) < LEAST_STEP:
        return np.zeros(0), np.zeros(0)
    low, high = _two_levels(level)
    if high[0] - low[0] < LEAST_STEP:
        return np.zeros(0), np.zeros(0)
    # Louder than the upper level is no less a carrier; quieter than the lower none.
    said = _log_normal(np.minimum(level, high[0]), high) - _log_normal(
        np.maximum(level, low[0]), low
    )
    time = (np.arange(count) + 0.5) * length / rate
    return time, present(np.clip(said, -MOST, MOST), LOST, FOUND)


def _log_normal(value: Array, level: tuple[float, float]) -> Array:
    return -0.5 * ((value - level[0]) / level[1]) ** 2 - np.log(level[1])


def _two_levels(value: Array) -> tuple[tuple[float, float], tuple[float, float]]:
    """Mean and deviation of the lower and the upper level."""
    middle = 0.5 * (value.min() + value.max())
    share = (value > middle).astype(float)
    levels = ((0.0, 1.0), (0.0, 1.0))
    for _ in range(30):
        levels = tuple(_level(value, weight) for weight in (1.0 - share, share))
        odds = _log_normal(value, levels[1]) - _log_normal(value, levels[0])
        odds += np.log((share.mean() + 1e-3) / (1.0 - share.mean() + 1e-3))
        share = 1.0 / (1.0 + np.exp(-np.clip(odds, -60.0, 60.0)))
    return levels[0], levels[1]


def _level(value: Array, weight: Array) -> tuple[float, float]:
    total = weight.sum() + 1e-9
    mean = float((weight * value).sum() / total)
    return mean, max(SPREAD, float(np.sqrt((weight * (value - mean) ** 2).sum() / total)))
