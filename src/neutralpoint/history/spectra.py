"""Oscillations of the vertical speed: spectra of many windows at once, and what they tell.

Windows of all flights lie in one matrix. Their spectra are averaged by flight and phase, set
against what steps and lag alone would make, and turned into period, amplitude and damping.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import f as f_distribution

from neutralpoint.history.cutting import GRID
from neutralpoint.numerics.arrays import Array, Flags, Index

LENGTH, HOP = 128, 32  # grid points of a window, 256 s, and between windows. Analyst's choice.
SLOWEST = 2  # bin of the spectrum: 128 s; slower ones are taken by the trend
FASTEST = 42  # 6.1 s, three grid points a period
WIDE = 2  # bins on either side that belong to a peak of a Hann window
# Slope in log-log that a spectrum goes on with to slow oscillations, at most: of 0.5, 1 and 1.5 the
# one with the fewest peaks in flights without any, of two generators.
STEEPEST = 1.5
# Chance that turbulence alone makes such a peak, were spectra smooth; of generated flights
# without one 3 to 4% show a peak (decisions/0017-earlier-flights.md).
PEAK_CHANCE = 0.001
# The asymptotic error of the poles holds for an autoregression without noise; on simulated
# oscillators under noise the errors were this much larger (tests/against/test_history.py).
POLE_ERRORS = 2.0
HANN = np.hanning(LENGTH + 1)[:LENGTH]
POWER = float(np.mean(HANN**2))


@dataclass(frozen=True)
class FlightOscillation:
    """What was found in each group of windows; NaN where nothing can be said.

    Attributes:
        excess: ln of the highest peak over the spectrum around it, and its error, (2, G).
        period: s, (2, G).
        amplitude: m/s of the oscillation, (2, G); without a peak that is seen, of what there is.
        damping: Ratio of damping, (2, G).
    """

    excess: Array
    period: Array
    amplitude: Array
    damping: Array


def trend_free(windows: Array) -> Array:
    """Windows less their straight lines.

    Args:
        windows: Shape (k, LENGTH).

    Returns:
        Shape (k, LENGTH).
    """
    ramp = np.arange(LENGTH) - 0.5 * (LENGTH - 1)
    slope = windows @ ramp / np.sum(ramp**2)
    return windows - windows.mean(axis=1, keepdims=True) - slope[:, None] * ramp


def periodograms(windows: Array) -> Array:
    """One-sided spectra of windows under a Hann taper.

    Args:
        windows: Without trend, shape (k, LENGTH).

    Returns:
        Unit squared per Hz, shape (k, LENGTH // 2 + 1).

    Source: Welch, IEEE Trans. Audio Electroacoustics AU-15 (1967) 70-73.
    """
    found = np.abs(np.fft.rfft(windows * HANN, axis=1)) ** 2
    found *= 2.0 * GRID / (LENGTH * POWER)
    return found


def grouped_mean(values: Array, group: Index, groups: int) -> tuple[Array, Array]:
    """Mean of rows by group.

    Args:
        values: Shape (k, j).
        group: Of each row, rising, shape (k,).
        groups: How many there are.

    Returns:
        Means, NaN for an empty group, shape (groups, j), and rows of each, shape (groups,).
    """
    count = np.bincount(group, minlength=groups)
    mean = np.full((groups, values.shape[1]), np.nan)
    if group.size:
        filled = np.flatnonzero(count)
        at = np.concatenate([[0], np.cumsum(count[filled])[:-1]])
        mean[filled] = np.add.reduceat(values, at, axis=0) / count[filled, None]
    return mean, count.astype(float)


def background(spectrum: Array) -> Array:
    """The spectrum around each bin without the peak that may be there.

    Args:
        spectrum: Shape (G, bins).

    Returns:
        A line in log-log over the bins on both sides, `WIDE` around the bin left out, shape
        (G, bins); exact for a power law without a peak.
    """
    logs = np.log(np.maximum(spectrum, 1e-12))
    found = np.full(spectrum.shape, np.nan)
    steps = np.log(np.arange(1, spectrum.shape[1] + 1))  # of bin k at k - 1
    for k in range(SLOWEST, FASTEST + 1):  # over frequencies, never over rows
        reach = max(6, k // 2)
        high = np.arange(k + WIDE + 1, min(k + WIDE + 1 + reach, spectrum.shape[1] - 1))
        low = np.arange(max(SLOWEST, k - WIDE - reach), k - WIDE)
        right = np.median(logs[:, high], axis=1)
        if low.size < 3:  # the slope goes on to slow oscillations, where there is no other side
            away = steps[high - 1] - steps[high - 1].mean()
            slope = logs[:, high] @ away / np.sum(away**2)
            level = logs[:, high].mean(axis=1)
            on = np.clip(slope, -STEEPEST, 0.0) * (steps[k - 1] - steps[high - 1].mean())
            found[:, k] = level + on
            continue
        left = np.median(logs[:, low], axis=1)
        share = (steps[k - 1] - np.median(steps[low - 1])) / (
            np.median(steps[high - 1]) - np.median(steps[low - 1])
        )
        found[:, k] = left + share * (right - left)
    found = np.exp(found)
    found[:, :SLOWEST] = found[:, [SLOWEST]]
    return found


def oscillations(
    spectrum: Array, count: Array, floor: Array, lag: Array, slowest: Array
) -> FlightOscillation:
    """Period, amplitude and damping of the strongest oscillation of each group.

    Args:
        spectrum: Mean spectra, shape (G, LENGTH // 2 + 1), NaN rows for empty groups.
        count: Windows of each group, shape (G,).
        floor: Spectrum that steps alone would make, shape (G, LENGTH // 2 + 1).
        lag: First-order lag of the readings, s, shape (G,).
        slowest: Shortest period that the readings resolve, s, shape (G,).

    Returns:
        What was found; period and damping where a peak is seen.

    Source: a peak against its surroundings has the ratio of two chi-squared variables, Fisher's F
        with the degrees of freedom of Welch's overlapped segments (Percival and Walden, Spectral
        Analysis for Physical Applications (1993), section 6.17: 36 K^2 / (19 K - 1) at half
        overlap); amplitude from the power of the peak (Parseval); lag by |1 / (1 + i w lag)|^2.
    """
    groups, bins = spectrum.shape
    df = 1.0 / (LENGTH * GRID)
    frequency = df * np.arange(bins)
    with np.errstate(invalid="ignore", divide="ignore"):
        around = np.maximum(background(spectrum), floor)
        ratio = spectrum / around
        usable = (np.arange(bins) >= SLOWEST) & (np.arange(bins) <= FASTEST)
        usable = usable[None] & (frequency[None] <= 1.0 / slowest[:, None])
        ratio = np.where(usable & np.isfinite(ratio), ratio, 0.0)
        top = ratio.argmax(axis=1)
        rows = np.arange(groups)
        peak = ratio[rows, top]
        halves = np.maximum(count * HOP / (0.5 * LENGTH), 1.0)
        free = np.maximum(36.0 * halves**2 / (19.0 * halves - 1.0), 2.0)
        chance = f_distribution.sf(peak, free, 4.0 * free) * np.maximum(usable.sum(axis=1), 1)
        known = (count > 0) & (peak > 0.0)
        there = known & (chance < PEAK_CHANCE)
        near = top[:, None] + np.arange(-WIDE, WIDE + 1)
        near = np.clip(near, 0, bins - 1)
        power = np.take_along_axis(spectrum - around, near, axis=1)
        weight = np.where(near >= SLOWEST, np.maximum(np.nan_to_num(power), 0.0), 0.0)
        center = (weight * frequency[near]).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-30)
        passed = 1.0 / (1.0 + (2.0 * np.pi * center * lag) ** 2)
        variance = weight.sum(axis=1) * df / passed
        amplitude = np.sqrt(2.0 * variance)
        relative = np.sqrt(2.0 / free)
        # Where there is no oscillation, the highest of many bins still lies this far above.
        least = np.sqrt(df * np.nan_to_num(around[rows, top]) * relative)
    damping, damping_error = _damping(spectrum, center, count)
    with np.errstate(invalid="ignore", divide="ignore"):
        turns = np.maximum(count * HOP * GRID * center, 1.0)
        wander = np.sqrt(np.nan_to_num(damping) / (2.0 * np.pi * turns))
        period_error = np.hypot(0.5 * df / np.sqrt(halves) / center, wander) / center
    return FlightOscillation(
        excess=_pair(np.log(np.maximum(peak, 1e-12)), relative, known),
        period=_pair(1.0 / np.maximum(center, 1e-6), period_error, there),
        amplitude=_pair(amplitude, np.hypot(0.5 * relative * amplitude, least), known),
        damping=_pair(damping, damping_error, there),
    )  # fmt: skip


def _pair(value: Array, error: Array, known: Flags) -> Array:
    return np.where(known, np.stack([value, error]), np.nan)


def _damping(spectrum: Array, center: Array, count: Array) -> tuple[Array, Array]:
    """Damping ratio near a frequency, from the decay of the band-passed autocorrelation.

    The spectrum within half to twice the frequency is turned into an autocorrelation, divided by
    that of the taper, and its envelope fitted by exp(-zeta w t).

    Source: the autocorrelation of a lightly damped oscillator under broad excitation decays as its
        free response (random decrement; Cole, NASA CR-2005 (1973)); error by Bartlett's formula.
    """
    bins = spectrum.shape[1]
    frequency = np.arange(bins) / (LENGTH * GRID)
    inside = np.abs(np.log2(np.maximum(frequency, 1e-9)[None] / np.maximum(center, 1e-9)[:, None]))
    band = np.where(inside <= 1.0, np.nan_to_num(spectrum), 0.0)
    # Analytic signal of the autocorrelation: its modulus is the envelope.
    whole = np.zeros((spectrum.shape[0], LENGTH), complex)
    whole[:, :bins] = band
    envelope = np.abs(np.fft.ifft(whole, axis=1))
    taper = np.correlate(HANN, HANN, "full")[LENGTH - 1 :]
    taper = taper / taper[0]
    with np.errstate(invalid="ignore", divide="ignore"):
        lags = np.arange(LENGTH // 2)
        level = envelope[:, : LENGTH // 2] / taper[: LENGTH // 2]
        level = level / level[:, :1]
        period = 1.0 / np.maximum(center, 1e-6) / GRID
        use = (lags[None] >= 0.25 * period[:, None]) & (lags[None] <= 1.5 * period[:, None])
        weight = np.where(use, np.minimum(level, 1.0) ** 2, 0.0)
        x = GRID * lags[None] * 2.0 * np.pi * center[:, None]
        y = np.where(use, np.log(np.maximum(level, 1e-6)), 0.0)
        total = np.maximum(weight.sum(axis=1), 1e-12)
        mx, my = (weight * x).sum(axis=1) / total, (weight * y).sum(axis=1) / total
        spread = (weight * (x - mx[:, None]) ** 2).sum(axis=1)
        slope = (weight * (x - mx[:, None]) * (y - my[:, None])).sum(axis=1) / spread
        zeta = np.maximum(-slope, 0.0)
        periods = np.maximum(count, 1) * HOP / np.maximum(period, 1e-6)
        error = POLE_ERRORS * np.sqrt((zeta + 0.02) / (2.0 * np.pi * periods))
    return zeta, error
