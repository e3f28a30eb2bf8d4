"""A tone of known frequency: whether it sounded, in each moment."""

from __future__ import annotations

import numpy as np

from neutralpoint.hearing.chain import present
from neutralpoint.hearing.spectra import spectra_of
from neutralpoint.numerics.arrays import Array

FRAME, HOP = 0.25, 0.1  # s
NOISE_WIDTH = 200.0  # Hz over which the noise about the tone is looked at; analyst's
STRENGTH, MOST = 20.0, 8.0  # power over noise that a tone is expected to have; analyst's
LOST, FOUND = 0.02, 0.01  # chance in a hop that a tone ends, begins; analyst's
WHOLE = 0.8  # s, over which what begins and ends is one sounding; beepers are on and off


def tone_present(
    samples: Array, rate: float, frequency: float, error: float
) -> tuple[Array, Array]:
    """Chance that a tone sounds.

    Args:
        samples: Shape (n,).
        rate: Samples a second.
        frequency: Of the tone, Hz.
        error: Largest that it may be off, Hz.

    Returns:
        Middle of each frame, s, and the chance in it, each shape (m,); none where the recording
        does not reach the frequency.

    Source: exponential power of mean 1 + s against mean 1 at each frequency within the error, in a
    chain of two states. Checked against: tests/recovery/test_hearing.py.
    """
    if frequency + error + NOISE_WIDTH / 2.0 > 0.5 * rate:
        return np.zeros(0), np.zeros(0)
    spectra = spectra_of(
        samples, rate, frequency + error + NOISE_WIDTH, length=FRAME, hop=HOP, noise=NOISE_WIDTH
    )
    near = np.abs(spectra.frequency - frequency) <= max(error, spectra.frequency[1])
    said = spectra.power[:, near] * STRENGTH / (1.0 + STRENGTH) - np.log1p(STRENGTH)
    # Where in the error it lies is not known: the mean over the bins, and no bin says too much.
    said = np.minimum(said, MOST)
    score = np.log(np.exp(said).mean(axis=1))
    return spectra.time, present(score, LOST, FOUND)


def soundings(time: Array, chance: Array, sure: float) -> list[tuple[float, float]]:
    """Spans in which something was there.

    Args:
        time: Middle of each frame, s, shape (m,).
        chance: That it was, shape (m,).
        sure: Chance from which it counts.

    Returns:
        Begin and end of each, s; gaps shorter than `WHOLE` are closed.
    """
    on = np.flatnonzero(chance > sure)
    if not on.size:
        return []
    gaps = np.flatnonzero(np.diff(time[on]) > WHOLE)
    begins, ends = on[np.append(0, gaps + 1)], on[np.append(gaps, on.size - 1)]
    return [(float(time[b]), float(time[e])) for b, e in zip(begins, ends, strict=True)]
