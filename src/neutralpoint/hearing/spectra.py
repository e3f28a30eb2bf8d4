"""Short-time spectra, whitened: every bin over the noise about it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import median_filter

from neutralpoint.numerics.arrays import Array

LENGTH, HOP = 1.0, 0.25  # s of a frame, and between frames; a line of 1 s is 2 Hz wide
PADDING = 4  # bins of a frame, over those without padding
NOISE_WIDTH = 24.0  # Hz over which the noise about a line is looked at; analyst's
LN2 = 0.6931471805599453  # median of an exponential of mean 1


@dataclass(frozen=True)
class Spectra:
    """Frames of a recording.

    Attributes:
        time: Middle of each frame, s after the first sample, shape (m,).
        frequency: Of the bins, Hz, shape (k,).
        power: Over the noise about each bin, shape (m, k); noise alone has mean 1.
    """

    time: Array
    frequency: Array
    power: Array


def spectra_of(
    samples: Array,
    rate: float,
    highest: float,
    *,
    length: float = LENGTH,
    hop: float = HOP,
    noise: float = NOISE_WIDTH,
) -> Spectra:
    """Whitened power of overlapping frames.

    Args:
        samples: Shape (n,).
        rate: Samples a second.
        highest: Last frequency wanted, Hz.
        length: Of a frame, s.
        hop: Between frames, s.
        noise: Width over which the noise about a bin is looked at, Hz.

    Returns:
        The frames; none where the recording is shorter than one.

    Source: Hann periodogram; noise level by a running median, whose ratio to the mean of an
    exponential is ln 2.
    """
    count, step = round(length * rate), round(hop * rate)
    starts = np.arange(0, max(len(samples) - count + 1, 0), step)
    size = PADDING * count
    frequency = np.fft.rfftfreq(size, 1.0 / rate)
    kept = frequency <= min(highest, 0.5 * rate)
    window = np.hanning(count)
    rows = np.empty((len(starts), int(kept.sum())))
    for row, start in enumerate(starts):
        part = samples[start : start + count]
        rows[row] = np.abs(np.fft.rfft((part - part.mean()) * window, size)[kept]) ** 2
    # Bins between those of an unpadded frame say nothing new of the noise.
    width = max(3, round(noise / (PADDING * (frequency[1] - frequency[0]))) | 1)
    coarse = median_filter(rows[:, ::PADDING], size=(5, width), mode="nearest") / LN2
    level = np.repeat(coarse, PADDING, axis=1)[:, : rows.shape[1]]
    floor = max(float(level.max(initial=0.0)) * 1e-9, 1e-30)
    power = rows / np.maximum(level, floor)
    return Spectra((starts + 0.5 * count) / rate, frequency[kept], power)
