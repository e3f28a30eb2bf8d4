"""What else is in one recording: tones of warnings, a carrier, and the pitch of calls."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from neutralpoint.airplane_file.sections import ToneSection
from neutralpoint.hearing import carrier_on, pitch_of, soundings, tone_present
from neutralpoint.numerics.arrays import Array

SURE = 0.5  # chance from which a tone or a carrier counts as there
LEAST_ERROR = 5.0  # Hz that a tone may be off where the file states none; analyst's
FEWEST = 15  # voiced frames that a pitch is told from
# Pitch of one speaker from call to call, and least rise that speaks of effort, semitones.
# Analyst's; raising the voice lifts its pitch by some semitones: Traunmueller and Eriksson,
# J. Acoust. Soc. Am. 107 (2000) 3438, from memory.
CALL_SPREAD, RAISED = 1.5, 2.0
OCTAVE = 12.0  # semitones

Spans = list[tuple[float, float]]


@dataclass(frozen=True)
class ToneHeard:
    """One tone of the airplane file in one recording; times in s after the epoch.

    Attributes:
        tone: Of the file.
        time: Middle of each frame, shape (m,); empty where the recording does not reach it.
        chance: That it sounded, shape (m,).
        spans: Begin and end of what counts.
    """

    tone: ToneSection
    time: Array
    chance: Array
    spans: Spans


@dataclass(frozen=True)
class CallHeard:
    """The pitch of one call.

    Attributes:
        speaker: As the case has it.
        begin: s after the epoch.
        end: s after the epoch.
        pitch: Median over its voiced frames, Hz; NaN where too few are.
        spread: Quartiles of it, Hz.
    """

    speaker: str
    begin: float
    end: float
    pitch: float
    spread: tuple[float, float]


@dataclass(frozen=True)
class EffortHeard:
    """Calls of one speaker after the onset against those before.

    Attributes:
        speaker: As the case has it.
        time: Middle of the later calls, s after the epoch.
        rise: Of the pitch, semitones.
        sigma: Standard deviation of the rise.
        raised: Probability that it is more than `RAISED`.
    """

    speaker: str
    time: float
    rise: float
    sigma: float
    raised: float


def tones_in(tones: tuple[ToneSection, ...], samples: Array, rate: float, start: float):
    """Every tone of the airplane file in a recording.

    Args:
        tones: Of the file.
        samples: Shape (n,).
        rate: Samples a second.
        start: Of the first sample, s after the epoch.

    Returns:
        One entry a tone.
    """
    found = []
    for tone in tones:
        error = max(2.0 * tone.frequency.sigma, LEAST_ERROR)
        time, chance = tone_present(samples, rate, tone.frequency.value, error)
        found.append(ToneHeard(tone, time + start, chance, soundings(time + start, chance, SURE)))
    return found


def carrier_in(samples: Array, rate: float, start: float) -> Spans | None:
    """When a carrier was on; None where loudness does not tell.

    Args:
        samples: Shape (n,).
        rate: Samples a second.
        start: Of the first sample, s after the epoch.
    """
    time, chance = carrier_on(samples, rate)
    return soundings(time + start, chance, SURE) if time.size else None


def call_in(speaker: str, samples: Array, rate: float, begin: float) -> CallHeard:
    """The pitch of a call.

    Args:
        speaker: As the case has it.
        samples: Of the call, shape (n,).
        rate: Samples a second.
        begin: s after the epoch.
    """
    voice = pitch_of(samples, rate)
    pitch = voice.pitch[voice.voiced > SURE]
    end = begin + len(samples) / rate
    if pitch.size < FEWEST:
        return CallHeard(speaker, begin, end, float("nan"), (float("nan"), float("nan")))
    low, middle, high = (float(x) for x in np.quantile(pitch, (0.25, 0.5, 0.75)))
    return CallHeard(speaker, begin, end, middle, (low, high))


def efforts(calls: list[CallHeard], onset: float | None) -> list[EffortHeard]:
    """Later calls of each speaker against earlier ones.

    Args:
        calls: Of all recordings.
        onset: s after the epoch; None where none is known.

    Returns:
        One entry a speaker with a pitch on both sides of the onset.
    """
    if onset is None:
        return []
    found = []
    told = [call for call in calls if np.isfinite(call.pitch)]
    for speaker in dict.fromkeys(call.speaker for call in told):
        own = [call for call in told if call.speaker == speaker]
        earlier = [OCTAVE * np.log2(call.pitch) for call in own if call.end < onset]
        later = [call for call in own if call.begin >= onset]
        if not earlier or not later:
            continue
        heights = [OCTAVE * np.log2(call.pitch) for call in later]
        rise = float(np.mean(heights) - np.mean(earlier))
        sigma = CALL_SPREAD * float(np.sqrt(1.0 / len(earlier) + 1.0 / len(heights)))
        time = float(np.mean([0.5 * (call.begin + call.end) for call in later]))
        found.append(EffortHeard(speaker, time, rise, sigma, float(ndtr((rise - RAISED) / sigma))))
    return found
