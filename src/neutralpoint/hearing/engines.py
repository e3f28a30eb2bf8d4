"""Two propellers in one recording, and how the rate of one went: beats, changes, stops."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from scipy.signal import resample_poly

from neutralpoint.hearing.ridge import HARMONICS, Ridge, follow
from neutralpoint.hearing.spectra import spectra_of
from neutralpoint.numerics.arrays import Array, Flags

SLOWEST, FASTEST = 0.4, 3.0  # Hz: differences of blade rates that are heard as a beat; analyst's
ENVELOPE = 40  # samples a second of the envelope: five harmonics of the fastest beat and a margin
FRAME, HOP = 8.0, 4.0  # s; frames that overlap more would say the same noise again
STRENGTH = 12.0  # power over noise that a beat is expected to have; analyst's
NOISE_WIDTH = 6.0  # Hz over which the noise about a beat is looked at; analyst's
WANDER = 0.05  # of the logarithm of a beat in a hop; analyst's
SIDE = 3.0  # s on either side of a change that are compared
LEAST_CHANGE = 0.015  # of the rate, a share, that counts as a change; analyst's
LASTING = 2.0  # s that a line must be gone or there for; analyst's
SURE = 0.5  # chance of a line from which it counts as there


@dataclass(frozen=True)
class LineEvent:
    """Something that happened to a line.

    Attributes:
        kind: What.
        time: s after the first sample.
        share: Of a change of the rate, its size over the rate before; 0 for a begin or an end.
    """

    kind: Literal["begins", "ends", "rises", "falls"]
    time: float
    share: float


def beat_of(samples: Array, rate: float, ridge: Ridge) -> Ridge:
    """Beats of two propellers whose lines are too near to be told apart.

    Args:
        samples: Shape (n,).
        rate: Samples a second.
        ridge: The line that was followed in them.

    Returns:
        Difference of the two blade rates, Hz, with the chance that there is one; no frames where
        the recording is shorter than `FRAME`.

    Source: the squared envelope of two tones varies with the difference of their frequencies; of
    the harmonic h with h times that, so that all of them together are a harmonic line themselves.
    Checked against: tests/recovery/test_hearing.py.
    """
    phase = _phase(ridge, len(samples), rate)
    every = max(1, round(rate / ENVELOPE))
    total = np.zeros(0)
    for harmonic in range(1, HARMONICS + 1):
        if harmonic * ridge.frequency[1].max() > 0.45 * rate:
            break
        base = resample_poly(samples * np.exp(-1j * harmonic * phase), 1, every)
        power = np.abs(base) ** 2
        level = np.convolve(power, np.full(2 * ENVELOPE, 0.5 / ENVELOPE), mode="same")
        total = power / np.maximum(level, 1e-30) + (total if total.size else 0.0)
    step = rate / every
    spectra = spectra_of(total, step, 0.5 * step, length=FRAME, hop=HOP, noise=NOISE_WIDTH)
    if not spectra.time.size:
        return Ridge(spectra.time, np.zeros((3, 0)), np.zeros(0))
    return follow(spectra, SLOWEST, FASTEST, wander=WANDER, strength=STRENGTH)


def _phase(ridge: Ridge, count: int, rate: float) -> Array:
    """Phase of the line in every sample, the frequency of unsure frames taken from the others."""
    known = ridge.present > SURE
    if not known.any():
        known = np.ones_like(known)
    time = np.arange(count) / rate
    frequency = np.interp(time, ridge.time[known], ridge.frequency[1][known])
    return 2.0 * np.pi * np.cumsum(frequency) / rate


def line_events(ridge: Ridge) -> list[LineEvent]:
    """When a line begins, ends, rises or falls.

    Args:
        ridge: The line.

    Returns:
        In order of time; what lies at the ends of the recording is none.
    """
    if ridge.time.size < 2:
        return []
    hop = float(ridge.time[1] - ridge.time[0])
    there = _lasting(ridge.present > SURE, round(LASTING / hop))
    found = [
        LineEvent("begins" if there[i] else "ends", float(ridge.time[i]), 0.0)
        for i in np.flatnonzero(np.diff(there.astype(int))) + 1
    ]
    return sorted(found + _changes(ridge, there, round(SIDE / hop)), key=lambda one: one.time)


def _lasting(there: Flags, least: int) -> Flags:
    """Runs shorter than `least` frames take the value of what is about them."""
    found = there.copy()
    edges = np.concatenate([[0], np.flatnonzero(np.diff(there.astype(int))) + 1, [there.size]])
    for begin, end in pairwise(edges):
        if end - begin < least and begin > 0:
            found[begin:end] = found[begin - 1]
    return found


def _changes(ridge: Ridge, there: Flags, side: int) -> list[LineEvent]:
    """Steps of the rate: middle of the frames after against that of those before."""
    log = np.log(ridge.frequency)
    step = np.zeros(there.size)
    for i in range(side, there.size - side):
        if there[i - side : i + side].all():
            before, after = log[:, i - side : i], log[:, i : i + side]
            size = float(np.median(after[1]) - np.median(before[1]))
            width = float(np.hypot(*(np.median(part[2] - part[0]) for part in (before, after))))
            step[i] = size if abs(size) > max(LEAST_CHANGE, width) else 0.0
    found = []
    while step.any():
        at = int(np.argmax(np.abs(step)))
        kind = "rises" if step[at] > 0.0 else "falls"
        found.append(LineEvent(kind, float(ridge.time[at]), float(np.expm1(step[at]))))
        step[max(0, at - 2 * side) : at + 2 * side + 1] = 0.0
    return found
