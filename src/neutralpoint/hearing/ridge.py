"""A line and its harmonics followed in time as a hidden Markov chain, not frame by frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.hearing.spectra import Spectra
from neutralpoint.numerics.arrays import Array

STEP = 0.0025  # of the logarithm of frequency between states: a quarter of a percent
# Line over noise that a harmonic is expected to have, and most that one may say: one loud line of
# something else must not outvote the others. Analyst's, chosen by tests/recovery/test_hearing.py.
STRENGTH, MOST = 4.0, 6.0
HARMONICS = 5
# Wander of the logarithm of frequency in a hop, chance of losing and of finding a line in a hop.
# Analyst's: a governor holds rotation within half a percent from one second to the next.
WANDER, LOST, FOUND = 0.004, 0.02, 0.05
REACH = 8  # states that a line may move in a hop
LEVELS = (0.05, 0.5, 0.95)  # ends and middle of a 90% band


@dataclass(frozen=True)
class Ridge:
    """A line in time, each of shape (m,).

    Attributes:
        time: Middle of each frame, s.
        frequency: 5, 50 and 95% given that there is one, Hz, shape (3, m).
        present: Probability that there is one.
    """

    time: Array
    frequency: Array
    present: Array


def follow(spectra: Spectra, lowest: float, highest: float) -> Ridge:
    """Follow the fundamental of a harmonic line.

    Args:
        spectra: Whitened frames.
        lowest: Of the fundamental, Hz.
        highest: Hz.

    Returns:
        The line, smoothed over the whole recording.

    Source: forward-backward algorithm, Rabiner, Proc. IEEE 77 (1989) 257, section III; score of a
    harmonic: exponential power of mean 1 + s against mean 1. Checked against:
    tests/recovery/test_hearing.py.
    """
    states = np.exp(np.arange(np.log(lowest), np.log(highest), STEP))
    score = _scores(spectra, states)
    chance = _smoothed(score)
    line = chance[:, :-1]
    total = np.maximum(line.sum(axis=1, keepdims=True), 1e-300)
    share = np.cumsum(line / total, axis=1)
    bands = [states[np.minimum((share < level).sum(axis=1), states.size - 1)] for level in LEVELS]
    # Within a state any frequency is as likely: the band is no narrower than that.
    half = np.exp(0.5 * STEP)
    return Ridge(
        spectra.time,
        np.stack([bands[0] / half, bands[1], bands[2] * half]),
        1.0 - chance[:, -1],
    )


def _scores(spectra: Spectra, states: Array) -> Array:
    """ln of the likelihood of a line at each state over none, shape (m, n)."""
    step = spectra.frequency[1] - spectra.frequency[0]
    score = np.zeros((len(spectra.time), states.size))
    for harmonic in range(1, HARMONICS + 1):
        place = harmonic * states / step
        inside = place < spectra.frequency.size - 2
        low = np.minimum(place.astype(int), spectra.frequency.size - 2)
        power = np.maximum(spectra.power[:, low], spectra.power[:, low + 1])
        said = power * STRENGTH / (1.0 + STRENGTH) - np.log1p(STRENGTH)
        score += np.where(inside, np.minimum(said, MOST), 0.0)
    return score


def _moved(chance: Array) -> Array:
    """Chance of each state after a hop; the last is no line."""
    line, none = chance[:-1], chance[-1]
    steps = np.arange(-REACH, REACH + 1)
    kernel = np.exp(-np.abs(steps) * STEP / WANDER)
    moved = np.convolve(line, kernel / kernel.sum(), mode="same")
    lost = LOST * line.sum()
    found = FOUND * none
    return np.append((1.0 - LOST) * moved + found / line.size, none - found + lost)


def _smoothed(score: Array) -> Array:
    """Chance of each state in each frame given all frames, shape (m, n + 1)."""
    frames, count = score.shape
    evidence = np.zeros((frames, count + 1))
    evidence[:, :-1] = score
    evidence = np.exp(evidence - evidence.max(axis=1, keepdims=True, initial=0.0))
    forward = np.empty_like(evidence)
    now = np.append(np.full(count, 0.5 / count), 0.5)
    for frame in range(frames):
        now = (_moved(now) if frame else now) * evidence[frame]
        now = now / now.sum()
        forward[frame] = now
    later = np.ones(count + 1)
    found = np.empty_like(forward)
    for frame in range(frames - 1, -1, -1):
        found[frame] = forward[frame] * later
        found[frame] /= found[frame].sum()
        later = _before(evidence[frame] * later)
        later = later / later.max()
    return found


def _before(chance: Array) -> Array:
    """The transpose of `_moved`."""
    line, none = chance[:-1], chance[-1]
    steps = np.arange(-REACH, REACH + 1)
    kernel = np.exp(-np.abs(steps) * STEP / WANDER)
    kept = np.convolve(line, kernel / kernel.sum(), mode="same")
    return np.append((1.0 - LOST) * kept + LOST * none, FOUND * line.mean() + (1.0 - FOUND) * none)
