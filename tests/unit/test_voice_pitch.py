"""Pitch of a voice: made speech, whose pitch is known and that a general library has judged too."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import lfilter

from neutralpoint.hearing import pitch_of
from neutralpoint.study.heard.sounds import CallHeard, efforts

RATE = 8000.0
PRINTED = tomllib.loads(
    (Path(__file__).parents[2] / "authorities" / "voice_pitch.toml").read_text("utf-8")
)


def made_speech(seed: int, pitch: float, decibel: float):
    """Pulses of a gliding pitch through three resonances, with pauses and white noise.

    Returns:
        Time, pitch, whether a voice sounds, and the samples. Source: source and filter, Fant,
        Acoustic Theory of Speech Production (1960); resonances of common vowels, from memory.
    """
    rng = np.random.default_rng(seed)
    time = np.arange(0.0, 4.0, 1.0 / RATE)
    true = pitch * (1.0 + 0.12 * np.sin(2.0 * np.pi * 0.7 * time + rng.uniform(0.0, 6.0)))
    pulses = np.diff(np.floor(np.cumsum(true) / RATE), prepend=0.0)
    sound = lfilter([1.0], [1.0, -0.96], pulses)
    for middle, width in ((520.0, 80.0), (1500.0, 120.0), (2500.0, 160.0)):
        r = np.exp(-np.pi * width / RATE)
        sound = lfilter(
            [1.0 - r], [1.0, -2.0 * r * np.cos(2 * np.pi * middle / RATE), r * r], sound
        )
    on = np.sin(2.0 * np.pi * 1.9 * time) > -0.5
    sound = sound * on / np.std(sound)
    return time, true, on, sound + rng.normal(size=time.size) * 10.0 ** (-decibel / 20.0)


@pytest.mark.parametrize("case", PRINTED["speech"])
def test_pitch_of_made_speech(case):
    """Each frame within 3% of what was made; the median within 1% of what the library found."""
    time, true, on, samples = made_speech(case["seed"], case["pitch"], case["decibel"])
    voice = pitch_of(samples, RATE)
    said = voice.voiced > 0.5
    sure = np.interp(voice.time, time, on.astype(float))
    off = np.abs(voice.pitch / np.interp(voice.time, time, true) - 1.0)
    assert said[sure > 0.99].mean() > 0.95 and said[sure < 0.01].mean() < 0.05
    assert np.quantile(off[said & (sure > 0.99)], 0.95) < 0.03
    assert np.median(voice.pitch[said]) == pytest.approx(case["library_median"], rel=0.01)


def test_noise_is_no_voice():
    noise = np.random.default_rng(2026112951).normal(size=24_000)
    assert (pitch_of(noise, RATE).voiced > 0.5).mean() < 0.02


def _call(speaker: str, begin: float, pitch: float) -> CallHeard:
    return CallHeard(speaker, begin, begin + 3.0, pitch, (pitch, pitch))


def test_later_calls_are_held_against_earlier_ones_of_the_same_speaker_alone():
    calls = [_call("A", 0.0, 120.0), _call("A", 20.0, 120.0), _call("B", 30.0, 300.0)]
    calls += [_call("A", 110.0, 160.0), _call("C", 120.0, 90.0)]
    (one,) = efforts(calls, 100.0)
    assert one.speaker == "A" and one.rise == pytest.approx(12.0 * np.log2(160.0 / 120.0))
    assert one.sigma == pytest.approx(1.5 * np.sqrt(1.5)) and one.raised > 0.8
    assert efforts(calls, None) == [] and efforts(calls[:3], 100.0) == []
