"""The video encoder: a program of its own, given raw pictures through a pipe."""

from __future__ import annotations

import importlib
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, cast

import numpy as np

from neutralpoint.errors import NeutralPointError

HINT = "Install `neutralpoint[film]`, or an `ffmpeg` on the path; `--frames FOLDER` needs neither."


def find_encoder() -> str | None:
    """Path of the encoder: the optional extra first, then the path; None without one."""
    try:
        return str(importlib.import_module("imageio_ffmpeg").get_ffmpeg_exe())
    except (ImportError, RuntimeError):
        return shutil.which("ffmpeg")


@contextmanager
def open_encoder(
    out: Path, size: tuple[int, int], rate: float
) -> Iterator[Callable[[np.ndarray], None]]:
    """An encoder that takes pictures one by one.

    Args:
        out: The MP4 to write.
        size: Width and height.
        rate: Frames a second.

    Yields:
        A function that takes one picture, uint8, shape (height, width, 3).

    Raises:
        NeutralPointError: `encoder-missing` without one, or where it fails; no file is left.
    """
    encoder = find_encoder()
    if encoder is None:
        raise _missing("No video encoder was found.", out)
    command = [
        *(encoder, "-y", "-loglevel", "error"),
        *("-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{size[0]}x{size[1]}", "-r", f"{rate:g}"),
        *("-i", "-", "-an", "-c:v", "libx264", "-preset", "ultrafast", "-crf", "20"),
        *("-tune", "animation", "-pix_fmt", "yuv420p", "-movflags", "+faststart", str(out)),
    ]
    with tempfile.TemporaryFile() as said:
        process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=said
        )
        pictures = cast(IO[bytes], process.stdin)  # a pipe was asked for
        try:
            yield lambda picture: _write(pictures, picture)
            pictures.close()
            code = process.wait()
        except BrokenPipeError:
            with suppress(OSError):
                pictures.close()
            code = process.wait() or 1
        except BaseException:
            process.kill()
            process.wait()
            out.unlink(missing_ok=True)
            raise
        said.seek(0)
        lines = said.read().decode("utf-8", "replace").strip().splitlines()
    if code != 0:
        out.unlink(missing_ok=True)
        raise _missing(f"The encoder failed: {lines[-1] if lines else f'code {code}'}.", out)


def _write(pictures: IO[bytes], picture: np.ndarray) -> None:
    pictures.write(np.ascontiguousarray(picture).data.cast("B"))


def _missing(message: str, out: Path) -> NeutralPointError:
    return NeutralPointError("encoder-missing", message, where=str(out), hint=HINT)
