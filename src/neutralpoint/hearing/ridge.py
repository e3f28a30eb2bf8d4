"""A line and its harmonics followed in time as a hidden Markov chain, not frame by frame."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from neutralpoint.hearing.chain import chances
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
APART = 2.0  # Hz about a harmonic of a line that a second line is not looked for in; analyst's


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


def follow(
    spectra: Spectra,
    lowest: float,
    highest: float,
    *,
    wander: float = WANDER,
    strength: float = STRENGTH,
) -> Ridge:
    """Follow the fundamental of a harmonic line.

    Args:
        spectra: Whitened frames.
        lowest: Of the fundamental, Hz.
        highest: Hz.
        wander: Of the logarithm of frequency in a hop.
        strength: Power over noise that a harmonic is expected to have.

    Returns:
        The line, smoothed over the whole recording.

    Source: forward-backward algorithm (`chain`); score of a harmonic: exponential power of mean
    1 + s against mean 1. Checked against: tests/recovery/test_hearing.py.
    """
    states = np.exp(np.arange(np.log(lowest), np.log(highest), STEP))
    reach = max(REACH, round(2.0 * wander / STEP))
    kernel = np.exp(-np.abs(np.arange(-reach, reach + 1)) * STEP / wander)
    chance = chances(_scores(spectra, states, strength), kernel / kernel.sum(), LOST, FOUND)
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


def follow_second(spectra: Spectra, first: Ridge, lowest: float, highest: float) -> Ridge:
    """Follow the line of another propeller beside one that was followed.

    Args:
        spectra: The frames in which the first was followed.
        first: The line.
        lowest: Of the fundamental, Hz.
        highest: Hz.

    Returns:
        The strongest line that is no harmonic of the first. Two lines nearer than `APART` are not
        told apart; `beat_of` looks for those.
    """
    power = spectra.power.copy()
    for harmonic in range(1, HARMONICS + 2):
        middle = harmonic * first.frequency[1][:, None]
        near = np.abs(spectra.frequency[None] - middle) < APART
        power[near & (first.present[:, None] > 0.5)] = 1.0
    return follow(replace(spectra, power=power), lowest, highest)


def _scores(spectra: Spectra, states: Array, strength: float) -> Array:
    """ln of the likelihood of a line at each state over none, shape (m, n)."""
    step = spectra.frequency[1] - spectra.frequency[0]
    score = np.zeros((len(spectra.time), states.size))
    for harmonic in range(1, HARMONICS + 1):
        place = harmonic * states / step
        inside = place < spectra.frequency.size - 2
        low = np.minimum(place.astype(int), spectra.frequency.size - 2)
        power = np.maximum(spectra.power[:, low], spectra.power[:, low + 1])
        said = power * strength / (1.0 + strength) - np.log1p(strength)
        score += np.where(inside, np.minimum(said, MOST), 0.0)
    return score
