"""The video encoder: PyAV, which comes with the package; pictures in, MP4 out.

Codecs: `vp9` (libvpx, BSD-3-Clause) is the default, for it may be shipped by anyone and plays in
browsers and on video sites; `h264` (libx264, which is GPL-2.0-or-later and comes with PyAV's wheel,
not with this program) is for editing programs that read nothing else. THIRD-PARTY.md says more.
"""

from __future__ import annotations

import importlib
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import system_refusal

HINT = "`--frames FOLDER` writes pictures and needs no encoder; `pip install av` brings one."
KEYFRAMES = 250  # frames between two pictures that stand alone
BT709 = 1  # of FFmpeg's numbers for matrix, primaries and transfer of HD video


@dataclass(frozen=True)
class Codec:
    """An encoder and how it is set.

    Attributes:
        library: As FFmpeg names it.
        options: Of it.
    """

    library: str
    options: dict[str, str]


CODECS = {
    "vp9": Codec("libvpx-vp9", {"deadline": "realtime", "cpu-used": "8", "crf": "30", "b": "0",
                                "row-mt": "0", "lag-in-frames": "0"}),
    "h264": Codec("libx264", {"preset": "veryfast", "crf": "20", "tune": "animation"}),
}  # fmt: skip


def find_encoder() -> str | None:
    """Version of the encoder; None without one."""
    try:
        return str(importlib.import_module("av").__version__)
    except ImportError:
        return None


def _library(out: Path) -> Any:
    try:
        return importlib.import_module("av")
    except ImportError as missing:
        raise _failed("No video encoder was found.", out) from missing


def _failed(message: str, out: Path) -> NeutralPointError:
    return NeutralPointError("encoder-missing", message, where=str(out), hint=HINT)


def encode(
    pictures: Iterable[np.ndarray],
    out: Path,
    size: tuple[int, int],
    rate: float,
    codec: str,
) -> int:
    """Encode pictures.

    Args:
        pictures: uint8, shape (height, width, 3), each.
        out: The MP4 to write.
        size: Width and height.
        rate: Frames a second.
        codec: One of `CODECS`.

    Returns:
        How many there were.

    Raises:
        NeutralPointError: `encoder-missing` without an encoder, or where it fails; no file is left.
    """
    av, made, count = _library(out), CODECS[codec], 0
    try:
        with av.open(str(out), "w", format="mp4") as box:
            stream = box.add_stream(made.library, rate=Fraction(rate).limit_denominator(1000),
                                    options=made.options)  # fmt: skip
            stream.width, stream.height = size
            stream.pix_fmt = "yuv420p"
            context = stream.codec_context
            context.thread_count, context.gop_size = 1, KEYFRAMES
            context.color_range, context.colorspace = 1, BT709
            context.color_primaries, context.color_trc = BT709, BT709
            for picture in pictures:
                frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(picture), format="rgb24")
                flat = frame.reformat(format="yuv420p", dst_colorspace=BT709)
                flat.pts = count
                box.mux(stream.encode(flat))
                count += 1
            box.mux(stream.encode())
    except av.FFmpegError as broken:
        out.unlink(missing_ok=True)
        if isinstance(broken, OSError):
            raise system_refusal(broken, out) from broken
        raise _failed(f"The encoder failed: {broken}.", out) from broken
    except BaseException:
        out.unlink(missing_ok=True)
        raise
    return count


def joined(parts: list[Path], out: Path) -> None:
    """Join parts of one encoder, one after another, without encoding again.

    Args:
        parts: In order; all of one size, rate and codec.
        out: The MP4 to write.

    Raises:
        NeutralPointError: `encoder-missing` where a part cannot be read; no file is left.
    """
    av = _library(out)
    try:
        with av.open(str(out), "w", format="mp4", options={"movflags": "faststart"}) as box:
            target, start = None, Fraction(0)
            for path in parts:
                with av.open(str(path)) as part:
                    source = part.streams.video[0]
                    target = target or box.add_stream_from_template(source)
                    start += _copied(part, source, box, target, start)
    except av.FFmpegError as broken:
        out.unlink(missing_ok=True)
        raise _failed(f"The parts cannot be joined: {broken}.", out) from broken


def _copied(part: Any, source: Any, box: Any, target: Any, start: Fraction) -> Fraction:
    """Copy the packets of a part behind what is there; returns its length, s."""
    shift = round(start / source.time_base)
    end = 0
    for packet in part.demux(source):
        if packet.dts is None:  # the mark of the end
            continue
        end = max(end, packet.pts + packet.duration)
        packet.pts += shift
        packet.dts += shift
        packet.stream = target
        box.mux(packet)
    return end * source.time_base
