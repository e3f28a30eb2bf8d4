"""A film of a case: a fixed background, drawn once, over which cursors move.

Frames are 1920 by 1080. By default the film ends before the last seconds of the record, and says
so on the screen.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import written
from neutralpoint.report.film.encoder import open_encoder
from neutralpoint.report.film.scene import HEIGHT, WIDTH, Scene
from neutralpoint.report.results import Results

STOP_SHORT = 10.0  # s before the last moment; common practice out of respect, no source
MOST_FRAMES = 1_000_000  # eleven hours of film at 25 a second; more is a slip of the pen
TOLD = 100  # frames between two tellings
Progress = Callable[[str, float], None]  # what is being done, and the share that is done


@dataclass(frozen=True)
class Film:
    """A film that was made.

    Attributes:
        path: The film, or the folder of frames.
        frames: How many.
        shown: Seconds of flight shown.
        left_out: Seconds at the end that are not shown.
        took: Seconds that rendering took.
    """

    path: Path
    frames: int
    shown: float
    left_out: float
    took: float


@dataclass(frozen=True)
class Cut:
    """What of the record is shown, s after its first moment, and how.

    Attributes:
        first: First moment shown.
        last: Last moment shown.
        left_out: Seconds at the end that are not shown.
        rate: Frames in a second of film.
        speed: Seconds of flight in a second of film.
    """

    first: float
    last: float
    left_out: float
    rate: float = 25.0
    speed: float = 1.0

    def times(self) -> np.ndarray:
        """Time of each frame, s after the first moment of the record."""
        count = int((self.last - self.first) / self.speed * self.rate) + 1
        return self.first + np.arange(count) * self.speed / self.rate


def cut_of(
    results: Results,
    *,
    until_end: bool = False,
    stop_short: float = STOP_SHORT,
    last: float | None = None,
    rate: float = 25.0,
    speed: float = 1.0,
) -> Cut:
    """What of a record is shown.

    Args:
        results: A results folder, read.
        until_end: True to show the last seconds as well.
        stop_short: Seconds at the end that are left out otherwise.
        last: Show no more than this many seconds before the end of the film; None for all.
        rate: Frames in a second of film.
        speed: Seconds of flight in a second of film.

    Returns:
        The cut.

    Raises:
        NeutralPointError: `argument-invalid` where nothing would be left.
    """
    span = float(results.time[-1] - results.time[0])
    left_out = 0.0 if until_end else stop_short
    end = span - left_out
    first = 0.0 if last is None else max(0.0, end - last)
    # Written so that what is no number is refused too.
    shown = all(0.0 < x < math.inf for x in (end, rate, speed, 1.0 if last is None else last))
    if not shown or not left_out >= 0.0 or (end - first) * rate / speed > MOST_FRAMES:
        raise NeutralPointError(
            "argument-invalid",
            f"Of {span:.0f} s nothing is left to show after leaving out {left_out:.0f} s "
            f"(rate {rate:g}, speed {speed:g}).",
            where="film",
            hint="Leave out less, and give rate and speed above 0, "
            f"for {MOST_FRAMES:,} frames at most.",
        )
    return Cut(first, end, left_out, rate, speed)


def frames(results: Results, cut: Cut) -> Iterator[np.ndarray]:
    """The frames of a film in order.

    Args:
        results: A results folder, read.
        cut: What is shown.

    Yields:
        Pictures, uint8, shape (1080, 1920, 3); each is overwritten by the next.
    """
    scene = Scene(results, cut.first, cut.last, cut.left_out)
    for at in cut.times():
        yield scene.picture(float(at))


def write_film(
    results: Results, cut: Cut, out: Path, tell: Progress = lambda _text, _share: None
) -> Film:
    """Write a film as MP4.

    Args:
        results: A results folder, read.
        cut: What is shown.
        out: The file; an older one is replaced whole.
        tell: Told in words what is being done, and the share that is done.

    Returns:
        The film.

    Raises:
        NeutralPointError: `encoder-missing` without an encoder, or where it fails.
    """
    began, count, total = time.perf_counter(), 0, len(cut.times())
    with (
        written(out, ending=out.suffix) as fresh,
        open_encoder(fresh, (WIDTH, HEIGHT), cut.rate) as write,
    ):
        for picture in frames(results, cut):
            write(picture)
            count += 1
            if count % TOLD == 0:
                tell(f"{count} frames of {total}", count / total)
    return _film(out, count, cut, began)


def write_frames(
    results: Results, cut: Cut, folder: Path, tell: Progress = lambda _text, _share: None
) -> Film:
    """Write a film as numbered PNG files; no encoder is needed.

    Args:
        results: A results folder, read.
        cut: What is shown.
        folder: Where to; it is made and must be empty.
        tell: Told in words what is being done, and the share that is done.

    Returns:
        The film.

    Raises:
        NeutralPointError: `argument-invalid` where the folder holds something.
    """
    folder.mkdir(parents=True, exist_ok=True)
    if any(folder.iterdir()):
        raise NeutralPointError(
            "argument-invalid",
            "The folder of frames is not empty; nothing was written.",
            where=str(folder),
            hint="Name an empty or a new folder.",
        )
    began, count, total = time.perf_counter(), 0, len(cut.times())
    for picture in frames(results, cut):
        Image.fromarray(picture).save(folder / f"frame-{count:06d}.png", compress_level=1)
        count += 1
        if count % TOLD == 0:
            tell(f"{count} frames of {total}", count / total)
    return _film(folder, count, cut, began)


def _film(path: Path, count: int, cut: Cut, began: float) -> Film:
    return Film(path, count, cut.last - cut.first, cut.left_out, time.perf_counter() - began)
