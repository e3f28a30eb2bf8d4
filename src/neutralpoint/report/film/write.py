"""Make a film of a case: the MP4, its captions, the script, and short forms of it."""

from __future__ import annotations

import shutil
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

import neutralpoint
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import write_whole, written
from neutralpoint.report.film.segments import (
    Progress,
    Shooting,
    digest_of,
    frames_of,
    page_of,
    parts_of,
    shoot,
)
from neutralpoint.report.film.spoken import script_text, srt_text, vtt_text
from neutralpoint.report.film.storyboard import Storyboard, StoryChapter, onset_of
from neutralpoint.report.results import Results

CLIP = 15.0  # s of the short form
LOOP_WIDTH, LOOP_RATE = 640, 10.0  # pixels, frames a second, of GIF and WebP
TOLD = 100  # frames between two tellings


@dataclass(frozen=True)
class Film:
    """A film that was made.

    Attributes:
        path: The film, or the folder of frames.
        frames: How many.
        drawn: How many of them were drawn now; the others were kept from before.
        seconds: Of film.
        left_out: Seconds at the end of the record that are not shown.
        took: Seconds that it took.
    """

    path: Path
    frames: int
    drawn: int
    seconds: float
    left_out: float
    took: float


def write_film(
    results: Results,
    story: Storyboard,
    out: Path,
    tell: Progress = lambda _text, _share: None,
    *,
    shape: str = "wide",
    codec: str = "vp9",
    jobs: int = 1,
) -> Film:
    """Write a film as MP4, with captions (WebVTT and SubRip) and the script beside it.

    Args:
        results: A results folder, read.
        story: The storyboard.
        out: The file; an older one is replaced whole.
        tell: Told in words what is being done, and the share that is done.
        shape: One of `LAYOUTS`.
        codec: One of `CODECS`.
        jobs: Processes that draw.

    Returns:
        The film.

    Raises:
        NeutralPointError: `encoder-missing` without an encoder, or where it fails.
    """
    began = time.perf_counter()
    name = digest_of(results, story, shape, codec, neutralpoint.__version__)
    parts = out.parent / f".{out.stem}-{name}"
    shooting = Shooting(results.folder, story, shape, codec, parts)
    with written(out, ending=out.suffix) as fresh:
        frames, drawn = shoot(shooting, fresh, timed(tell), jobs=jobs)
    shutil.rmtree(parts, ignore_errors=True)
    for ending, text in (
        (".vtt", vtt_text(results, story)),
        (".srt", srt_text(results, story)),
        (".md", script_text(results, story)),
    ):
        write_whole(out.with_suffix(ending), text.encode("utf-8"))
    return Film(out, frames, drawn, frames / story.rate, story.stop_short,
                time.perf_counter() - began)  # fmt: skip


def timed(tell: Progress) -> Progress:
    """Tells the time that is left as well."""
    began = time.perf_counter()

    def told(text: str, share: float) -> None:
        spent = time.perf_counter() - began
        left = spent * (1.0 - share) / share if share > 0.02 else None
        tell(text if left is None else f"{text}, about {left:.0f} s left", share)

    return told


def clip_of(results: Results, story: Storyboard) -> Storyboard:
    """Fifteen seconds about the onset, or the first of the flight without one.

    Args:
        results: A results folder, read.
        story: The whole film.

    Returns:
        A storyboard of one chapter.
    """
    flown = [chapter for chapter in story.chapters if chapter.kind == "flight"]
    if not flown:
        raise NeutralPointError(
            "argument-invalid",
            "The storyboard has no chapter of the flight to make a clip of.",
            where="film",
            hint="Add a chapter of the kind `flight`.",
        )
    has_onset = onset_of(results.findings) is not None and len(flown) > 1
    chosen: StoryChapter = flown[1 if has_onset and len(flown) > 2 else 0]
    return story.model_copy(update={"chapters": (chosen.model_copy(update={"seconds": CLIP}),)})


def write_loop(results: Results, story: Storyboard, out: Path, *, shape: str = "wide") -> Film:
    """Write a short film as GIF or WebP, small enough for a message.

    Args:
        results: A results folder, read.
        story: The storyboard, short.
        out: The file; its ending says which.
        shape: One of `LAYOUTS`.

    Returns:
        The film.
    """
    began = time.perf_counter()
    slow = story.model_copy(update={"rate": LOOP_RATE})
    pictures = [_small(picture) for picture in _pictures(results, slow, shape)]
    if out.suffix == ".gif":
        pictures = [picture.quantize(96, dither=Image.Dither.NONE) for picture in pictures]
    with written(out, ending=out.suffix) as fresh:
        pictures[0].save(fresh, save_all=True, append_images=pictures[1:], loop=0,
                         duration=round(1000.0 / LOOP_RATE))  # fmt: skip
    return Film(out, len(pictures), len(pictures), len(pictures) / LOOP_RATE, story.stop_short,
                time.perf_counter() - began)  # fmt: skip


def _small(picture: Image.Image) -> Image.Image:
    scale = LOOP_WIDTH / max(picture.size)
    size = (round(picture.width * scale), round(picture.height * scale))
    return picture.resize(size, Image.Resampling.LANCZOS)


def _pictures(results: Results, story: Storyboard, shape: str) -> Iterator[Image.Image]:
    page, place = None, -1
    for part in parts_of(story):
        if page is None or part.chapter != place:
            page, place = page_of(results, story, part.chapter, shape), part.chapter
        for picture in frames_of(page, part):
            yield Image.fromarray(picture)


def write_frames(
    results: Results,
    story: Storyboard,
    folder: Path,
    tell: Progress = lambda _text, _share: None,
    *,
    shape: str = "wide",
) -> Film:
    """Write a film as numbered PNG files; no encoder is needed.

    Args:
        results: A results folder, read.
        story: The storyboard.
        folder: Where to; it is made and must be empty.
        tell: Told in words what is being done, and the share that is done.
        shape: One of `LAYOUTS`.

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
    began, count = time.perf_counter(), 0
    total = sum(part.last - part.first for part in parts_of(story))
    told = timed(tell)
    for picture in _pictures(results, story, shape):
        picture.save(folder / f"frame-{count:06d}.png", compress_level=1)
        count += 1
        if count % TOLD == 0:
            told(f"{count} frames of {total}", count / total)
    return Film(folder, count, count, count / story.rate, story.stop_short,
                time.perf_counter() - began)  # fmt: skip
