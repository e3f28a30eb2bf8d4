"""Recordings as files: read in pieces, refused with a reason; what they say of the causes."""

from __future__ import annotations

import io
import wave

import numpy as np
import pytest
from pydantic import ValidationError

from neutralpoint.case.recording_entry import RecordingEntry
from neutralpoint.errors import NeutralPointError
from neutralpoint.hearing.ridge import follow
from neutralpoint.hearing.spectra import spectra_of
from neutralpoint.sources.recording import read_recording
from neutralpoint.weighing.evidence import seen_in_part
from neutralpoint.weighing.items import find_item


def wav(samples: np.ndarray, rate: int = 8000, width: int = 2, channels: int = 1) -> bytes:
    out = io.BytesIO()
    whole = np.clip(samples, -1.0, 1.0 - 2.0 ** (1 - 8 * width))
    with wave.open(out, "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(width)
        file.setframerate(rate)
        if width == 1:
            file.writeframes(np.rint(whole * 127.0 + 128.0).astype(np.uint8).tobytes())
        elif width == 3:
            value = np.rint(whole * 2.0**23).astype("<i4")
            file.writeframes(value.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())
        else:
            scale = 2.0 ** (8 * width - 1)
            file.writeframes(np.rint(whole * scale).astype(f"<i{width}").tobytes())
    return out.getvalue()


@pytest.mark.parametrize("width", [1, 2, 3, 4])
def test_a_tone_keeps_its_frequency_and_size(width):
    """48 kHz, long enough for two pieces; the filter is carried from one to the next."""
    rate = 48_000 if width == 2 else 8000
    time = np.arange(0.0, 62.0 if width == 2 else 3.0, 1.0 / rate)
    found = read_recording(wav(0.5 * np.sin(2.0 * np.pi * 90.0 * time), rate, width), "a.wav")
    (samples,) = found.parts
    assert found.rate == 8000.0 and found.clipped == 0.0
    assert samples.size / found.rate == pytest.approx(time[-1], abs=0.05)
    inner = samples[50:-50]
    assert np.std(inner) == pytest.approx(0.5 / np.sqrt(2.0), rel=0.02)
    spectrum = np.abs(np.fft.rfft(inner * np.hanning(inner.size)))
    peak = np.argmax(spectrum) * found.rate / inner.size
    assert peak == pytest.approx(90.0, abs=0.5)


def test_what_lies_above_the_band_is_not_folded_into_it():
    time = np.arange(0.0, 3.0, 1.0 / 48_000)
    found = read_recording(wav(0.9 * np.sin(2.0 * np.pi * 8090.0 * time), 48_000), "a.wav")
    assert np.std(found.parts[0][50:-50]) < 0.02


@pytest.mark.parametrize(
    ("data", "code", "said"),
    [
        (b"", "file-format", "neither WAV nor FLAC"),
        (b"RIFFxxxxWAVE", "file-format", "no PCM WAV"),
        (b"RIFF" + bytes(2000), "file-format", "no PCM WAV"),
        (wav(np.zeros(0)), "file-empty", "no samples"),
        (wav(np.zeros(9000)), "file-empty", "silent"),
        (wav(np.zeros(100) + 0.1, 200), "file-format", "200 samples a second"),
        (wav(np.sign(np.sin(np.arange(9000.0)))), "file-format", "clipped"),
        (wav(np.zeros(800 * 87_000) + 0.1, 800, 1), "file-too-large", "24.2 h"),
        (
            wav(np.zeros(100) + 0.1)[:12] + b"junk\xff\xff\xff\x7f" + bytes(90),
            "file-format",
            "no PCM",
        ),
        (wav(np.zeros(330) + 0.1, channels=33), "file-format", "33 channels"),
        (b"fLaC" + bytes(100), None, ""),
    ],
)
def test_hostile_recordings_are_refused_with_a_reason(data, code, said):
    with pytest.raises(NeutralPointError) as refused:
        read_recording(data, "a.wav")
    assert refused.value.code == code or (code is None and refused.value.hint)
    assert said in refused.value.message


def test_a_header_that_promises_more_than_there_is_stops_at_the_end():
    data = bytearray(wav(0.3 * np.sin(np.arange(16_000.0))))
    data[40:44] = (2**31 - 2).to_bytes(4, "little")
    found = read_recording(bytes(data), "a.wav")
    assert found.parts[0].size < 17_000


def test_of_hours_only_what_is_wanted_is_kept():
    """Two spans of an hour; a ramp tells which samples they are."""
    count = 3600 * 800
    data = wav(np.linspace(-0.9, 0.9, count), 800)
    found = read_recording(data, "a.wav", [(1800.0, 1810.0), (3595.0, 4000.0)])
    middle, end = found.parts
    assert middle.size == 8000 and end.size == 4000
    assert middle[0] == pytest.approx(0.0, abs=1e-3)
    assert end[-1] == pytest.approx(0.9, abs=1e-3)


def test_flac_is_read_as_wav_is():
    soundfile = pytest.importorskip("soundfile")
    tone = 0.4 * np.sin(2.0 * np.pi * 90.0 * np.arange(16_000) / 8000.0)
    out = io.BytesIO()
    soundfile.write(out, tone, 8000, format="FLAC", subtype="PCM_16")
    (samples,) = read_recording(out.getvalue(), "a.flac").parts
    (same,) = read_recording(wav(tone), "a.wav").parts
    assert samples.size == same.size and np.abs(samples - same).max() < 2e-4


def flac(channels=1, count=8000, subtype="PCM_16"):
    """A hum as FLAC."""
    soundfile = pytest.importorskip("soundfile", reason="FLAC needs the extra `sound`")
    out, hum = io.BytesIO(), 0.3 * np.sin(np.arange(count * channels) / 7.0)
    soundfile.write(out, hum.reshape(-1, channels), 8000, format="FLAC", subtype=subtype)
    return out.getvalue()


@pytest.mark.parametrize(
    ("told", "code", "said"),
    [(0, "file-format", "as a stream"), (9000, "file-format", "ends before"),
     (2**36 - 1, "file-too-large", "2386.1 h")],
)  # fmt: skip
def test_a_flac_that_tells_no_length_or_a_wrong_one_is_refused(told, code, said):
    """RFC 9639, 8.2: the 36 bits before the checksum of the sound; 0 means not known."""
    good = flac()
    head = (good[21] >> 4 << 36 | told).to_bytes(5, "big")
    with pytest.raises(NeutralPointError) as refused:
        read_recording(good[:21] + head + good[26:], "a.flac")
    assert refused.value.code == code and said in refused.value.message


@pytest.mark.parametrize(("channels", "subtype"), [(1, "PCM_16"), (2, "PCM_24"), (8, "PCM_S8")])
def test_no_flac_raises_anything_but_a_clear_error(channels, subtype):
    """Cut, with bytes changed, and with its frames in another order; fixed seed."""
    good, rng = flac(channels, 6000, subtype), np.random.default_rng(2112)
    codes = set()
    for k in range(200):
        data = bytearray(good)
        at = int(rng.integers(4, (len(data), 60)[k % 2]))
        if k % 5 == 0:
            del data[at:]
        elif k % 5 == 1:
            data[at : at + 40] = data[-40:]
        else:
            data[at] ^= int(rng.integers(1, 256))
        try:
            read_recording(bytes(data), "a.flac")
        except NeutralPointError as refused:
            codes.add(refused.code)
    assert codes >= {"file-format"}


def test_no_recording_raises_anything_but_a_clear_error():
    """Bytes changed, cut out and put in at random, most of them in the header; fixed seed."""
    good, rng = wav(0.3 * np.sin(np.arange(2000.0))), np.random.default_rng(2111)
    codes = set()
    for _ in range(300):
        data = bytearray(good)
        for _ in range(int(rng.integers(1, 5))):
            at = int(rng.integers(0, min(len(data), 60)))
            kind = int(rng.integers(0, 4))
            if kind == 0:
                data[at] = int(rng.integers(0, 256))
            elif kind == 1:
                del data[at : at + int(rng.integers(1, 9))]
            elif kind == 2:
                data[at : at + 4] = b"\xff\xff\xff\x7f"
            else:
                del data[int(rng.integers(0, len(data))) :]
                data += b"\x01"
        try:
            read_recording(bytes(data), "a.wav")
        except NeutralPointError as refused:
            codes.add(refused.code)
    assert codes >= {"file-format"}


ENTRY = {
    "file": "a.wav", "kind": "cockpit", "start": "2031-11-20T15:00:00Z", "blades": 4,
    "slowest": "1000 rpm", "fastest": "2000 rpm", "source": "x",
}  # fmt: skip


@pytest.mark.parametrize("fastest", [1000.001, 1010.0, 1040.0, 1050.0])
def test_a_narrow_range_is_followed_like_a_wide_one(fastest):
    """Fewer states than the line may move in a hop, down to one."""
    time = np.arange(0.0, 12.0, 1.0 / 2000.0)
    hum = sum(np.sin(2.0 * np.pi * k * 66.8 * time) for k in (1, 2, 3))
    rough = np.random.default_rng(3).standard_normal(time.size)
    spectra = spectra_of(0.2 * hum + 0.05 * rough, 2000.0, 400.0)
    found = follow(spectra, 4.0 * 1000.0 / 60.0, 4.0 * fastest / 60.0)
    assert found.frequency.shape == (3, spectra.time.size)
    assert (found.frequency > 66.0).all() and (found.frequency < 71.0).all()
    assert np.median(found.present) > 0.9


def test_an_entry_is_whole_or_refused():
    import datetime

    entry = ENTRY | {"start": datetime.time(15, 0)}
    found = RecordingEntry.model_validate(entry)
    assert found.slowest.value == pytest.approx(1000.0 * 2.0 * np.pi / 60.0)
    with pytest.raises(ValidationError, match="no place"):
        RecordingEntry.model_validate(entry | {"kind": "ground"})
    with pytest.raises(ValidationError, match="rotation from"):
        RecordingEntry.model_validate(entry | {"slowest": "2500 rpm"})
    with pytest.raises(ValidationError, match="rotation from"):
        RecordingEntry.model_validate(entry | {"slowest": "1e-300 rpm"})


def test_a_sure_change_says_what_the_item_says_and_an_even_one_nothing():
    causes, item = ("power-loss-all", "elevator-jam"), find_item("audio-line")
    sure = seen_in_part(item, causes, (0.0, 1.0, 0.0), 0.15)
    assert sure[0] > sure[1]
    steady = seen_in_part(item, causes, (1.0, 0.0, 0.0), 0.15)
    assert steady[1] > steady[0]
    assert np.ptp(seen_in_part(item, causes, (1.0, 1.0, 1.0), 0.15)) < 1e-12
