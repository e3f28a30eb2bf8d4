"""Recorded sound: WAV by the standard library, FLAC by `soundfile`, decoded in pieces."""

from __future__ import annotations

import io
import wave
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.signal import firwin, oaconvolve

from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array
from neutralpoint.sources.extras import optional

KEPT = 8000.0  # samples a second that are kept: voices, and tones of warnings below 3 kHz
SLOWEST, FASTEST = 800, 400_000  # samples a second that a recording may have; analyst's
LONGEST = 86_400.0  # s
PIECE = 2_000_000  # values decoded at once, all channels together
MOST = 1_500_000_000  # values that are decoded: two hours in stereo with 96,000 samples a second
CHANNELS = 32  # that a recorder of a cockpit, a tower or a scene has at most, and more; analyst's
UNTOLD = 2**36  # samples; a FLAC tells fewer, or none where it was written as a stream (RFC 9639)
FULL, TOO_MANY = 0.998, 0.2  # of full scale; share of such samples beyond which nothing is heard
HEADER = (b"fLaC", b"RIFF")

Span = tuple[float, float]  # s after the first sample


@dataclass(frozen=True)
class Recording:
    """What was wanted of a recording, one channel, low frequencies alone.

    Attributes:
        parts: Samples of each span that was asked for, as far as the recording has them.
        rate: Samples a second.
        clipped: Share of the samples at full scale.
    """

    parts: tuple[Array, ...]
    rate: float
    clipped: float


def read_recording(data: bytes, name: str, spans: Sequence[Span] = ((0.0, LONGEST),)) -> Recording:
    """A recording from its file.

    Args:
        data: The file.
        name: What errors call it.
        spans: What is kept of it; the rest is decoded piece by piece and let go.

    Returns:
        All channels together, at some `KEPT` samples a second.

    Raises:
        NeutralPointError: `file-format`, `file-empty`, `file-too-large`, or `extra-missing` for
            FLAC without its library.
    """
    if data.startswith(HEADER[0]):
        rate, channels, frames, pieces = _flac(data, name)
    elif data.startswith(HEADER[1]):
        rate, channels, frames, pieces = _wav(data, name)
    else:
        raise _refused("The file is neither WAV nor FLAC.", name)
    if not SLOWEST <= rate <= FASTEST:
        raise _refused(f"The file has {rate} samples a second.", name)
    if frames == 0:
        raise NeutralPointError(
            "file-empty", "The recording holds no samples.", where=name,
            hint="Export it again; it must hold sound.",
        )  # fmt: skip
    if channels > CHANNELS:
        raise _refused(f"The file has {channels} channels.", name)
    if frames / rate > LONGEST or frames * channels > MOST:
        raise NeutralPointError(
            "file-too-large",
            f"The recording lasts {frames / rate / 3600.0:.1f} h: {frames * channels:,} values.",
            where=name,
            hint=f"At most {LONGEST / 3600.0:.0f} h and {MOST:,} values are read; cut it to the "
            "flight.",
        )
    found = _low(pieces, rate, spans)
    if found.clipped > TOO_MANY:
        raise _refused(f"{found.clipped:.0%} of the samples are at full scale: clipped.", name)
    if not any(part.size and np.ptp(part) > 0.0 for part in found.parts):
        raise NeutralPointError(
            "file-empty", "The recording is silent: every sample is the same.", where=name,
            hint="Export it again; it must hold sound.",
        )  # fmt: skip
    return found


def _refused(message: str, name: str) -> NeutralPointError:
    return NeutralPointError(
        "file-format",
        message,
        where=name,
        hint=f"Give PCM WAV or FLAC with {SLOWEST} to {FASTEST} samples a second, not clipped.",
    )


def _wav(data: bytes, name: str) -> tuple[int, int, int, Iterator[Array]]:
    try:
        file = wave.open(io.BytesIO(data))  # noqa: SIM115  # read piece by piece below
    except (wave.Error, EOFError, ValueError, RuntimeError) as broken:
        said = str(broken)[:80] or "a part is longer than the file"
        raise _refused(f"The file is no PCM WAV: {said}.", name) from broken
    width, channels, rate = file.getsampwidth(), file.getnchannels(), file.getframerate()
    if width not in (1, 2, 3, 4) or channels == 0:
        raise _refused(f"Samples of {width} bytes in {channels} channels.", name)
    # A header may promise more than there is.
    frames = min(file.getnframes(), len(data) // (width * channels))

    def pieces() -> Iterator[Array]:
        while raw := file.readframes(PIECE // channels):
            whole = len(raw) // (width * channels) * width * channels
            yield _numbers(raw[:whole], width).reshape(-1, channels)

    return rate, channels, frames, pieces()


def _numbers(raw: bytes, width: int) -> Array:
    """PCM as numbers from -1 to 1."""
    if width == 1:
        return np.frombuffer(raw, np.uint8).astype(float) / 128.0 - 1.0
    if width == 3:
        parts = np.frombuffer(raw, np.uint8).reshape(-1, 3).astype(np.int32)
        value = parts[:, 0] << 8 | parts[:, 1] << 16 | parts[:, 2] << 24  # the sign is the top bit
        return value.astype(float) / 2.0**31
    return np.frombuffer(raw, "<i2" if width == 2 else "<i4").astype(float) / 2.0 ** (8 * width - 1)


def _flac(data: bytes, name: str) -> tuple[int, int, int, Iterator[Array]]:
    soundfile = optional("soundfile", "sound", name)
    try:
        file = soundfile.SoundFile(io.BytesIO(data))
    except (RuntimeError, ValueError) as broken:
        raise _refused(f"The file is no FLAC: {str(broken)[:80]}", name) from broken
    if file.frames >= UNTOLD:
        raise NeutralPointError(
            "file-format", "The FLAC does not say how long it is: it was written as a stream.",
            where=name, hint="Decode it and encode it anew from a file, or give it as WAV.",
        )  # fmt: skip

    def pieces() -> Iterator[Array]:
        try:
            yield from file.blocks(PIECE // file.channels, always_2d=True)
        except RuntimeError as broken:
            raise NeutralPointError(
                "file-format", "The FLAC is damaged, or ends before the length that it tells.",
                where=name, hint="Give the file as it was received, or decode what there is to "
                "WAV.",
            ) from broken  # fmt: skip

    return file.samplerate, file.channels, file.frames, pieces()


def _low(pieces: Iterator[Array], rate: int, spans: Sequence[Span]) -> Recording:
    """Every piece filtered and thinned, the filter carried over; what no span wants is let go."""
    every = max(1, int(rate // KEPT))
    taps = np.asarray(firwin(16 * every + 1, 0.8 / every)) if every > 1 else np.ones(1)
    delay = 8 if every > 1 else 0  # of the filter, in samples that are kept
    last, passed, full, count = np.zeros(taps.size - 1), 0, 0, 0
    wanted = [tuple(round(end * rate / every) + delay for end in span) for span in spans]
    kept: list[list[Array]] = [[] for _ in spans]
    for piece in pieces:
        if not len(piece):  # bytes of a part of a frame
            continue
        full += int((np.abs(piece) >= FULL).sum())
        count += piece.size
        mono = piece.mean(axis=1)
        low = mono
        if every > 1:
            whole = np.concatenate([last, mono])
            low = np.asarray(oaconvolve(whole, taps, mode="valid"))
            last = whole[-(taps.size - 1) :]
        thin, first = low[-passed % every :: every], -(-passed // every)
        for part, (begin, end) in zip(kept, wanted, strict=True):
            part.append(thin[max(0, begin - first) : max(0, end - first)].astype(np.float32))
        passed += len(low)
    parts = tuple(np.concatenate(part) if part else np.zeros(0) for part in kept)
    return Recording(parts, rate / every, full / max(count, 1))
