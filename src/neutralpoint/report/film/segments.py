"""Film in parts: each part is encoded by itself, kept, and joined without encoding again.

Parts are drawn side by side by processes. A part that is whole stays until the film is whole, so
that a film that was stopped goes on where it was.
"""

from __future__ import annotations

import hashlib
import itertools
import math
from collections.abc import Callable, Iterator
from concurrent.futures import as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from neutralpoint.files import own_file, own_folder, written
from neutralpoint.report.figures.studio.formats import GROUNDS
from neutralpoint.report.film.chapters import PAGES, Page
from neutralpoint.report.film.encoder import encode, joined
from neutralpoint.report.film.layout import LAYOUTS
from neutralpoint.report.film.storyboard import Storyboard
from neutralpoint.report.results import Results, load_results
from neutralpoint.spawned import spawned_pool, submit_part

PART = 8.0  # s of film in a part: long against drawing the fixed picture, short against waiting
Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class FilmPart:
    """Frames of one chapter that are encoded together.

    Attributes:
        number: In the film.
        chapter: Place of its chapter.
        first: Its first frame, counted within the chapter.
        last: The frame after its last.
        frames: Of the whole chapter.
    """

    number: int
    chapter: int
    first: int
    last: int
    frames: int


def parts_of(story: Storyboard) -> list[FilmPart]:
    """The parts of a film in order."""
    parts: list[FilmPart] = []
    for place, chapter in enumerate(story.chapters):
        frames = max(1, round(chapter.seconds * story.rate))
        count = max(1, math.ceil(chapter.seconds / PART))
        edges = [round(k * frames / count) for k in range(count + 1)]
        for first, last in itertools.pairwise(edges):
            parts.append(FilmPart(len(parts), place, first, last, frames))
    return parts


def page_of(results: Results, story: Storyboard, place: int, shape: str) -> Page:
    """The painter of a chapter."""
    chapter = story.chapters[place]
    look = GROUNDS[story.ground]
    return PAGES[chapter.kind](results, story, chapter, LAYOUTS[shape], look)


def frames_of(page: Page, part: FilmPart) -> Iterator[np.ndarray]:
    """The frames of a part; each is overwritten by the next."""
    for frame in range(part.first, part.last):
        yield page.picture(frame / max(part.frames - 1, 1))


@dataclass(frozen=True)
class Shooting:
    """What a process needs to draw parts.

    Attributes:
        folder: The results folder.
        story: The storyboard.
        shape: Of the film.
        codec: Of the encoder.
        parts: Where parts are kept.
    """

    folder: Path
    story: Storyboard
    shape: str
    codec: str
    parts: Path

    def file(self, part: FilmPart) -> Path:
        """Where a part is kept."""
        return self.parts / f"part-{part.number:04d}.mp4"


_held: dict[str, object] = {}  # of a process: results and the last page, for the next part


def shoot_part(shooting: Shooting, part: FilmPart) -> None:
    """Draw and encode one part.

    Args:
        shooting: What is drawn.
        part: Which part.
    """
    results = _held.get("results")
    if not isinstance(results, Results) or results.folder != shooting.folder:
        results = load_results(shooting.folder)
        _held.clear()
        _held["results"] = results
    key = f"{part.chapter} {shooting.shape} {hash(shooting.story)}"
    page = _held.get("page") if _held.get("key") == key else None
    if not isinstance(page, Page):
        page = page_of(results, shooting.story, part.chapter, shooting.shape)
        _held["page"], _held["key"] = page, key
    layout = LAYOUTS[shooting.shape]
    target = shooting.file(part)
    with written(target, ending=target.suffix) as fresh:
        encode(frames_of(page, part), fresh, (layout.width, layout.height), shooting.story.rate,
               shooting.codec)  # fmt: skip


def shoot(shooting: Shooting, out: Path, tell: Progress, *, jobs: int) -> tuple[int, int]:
    """Draw all parts that are not there yet, and join them.

    Args:
        shooting: What is drawn.
        out: The file, new.
        tell: Told what is being done, and the share that is done.
        jobs: Processes; 1 draws in this one.

    Returns:
        Frames of the film, and those that were drawn now.
    """
    own_folder(shooting.parts, make=True)
    parts = parts_of(shooting.story)
    total = sum(part.last - part.first for part in parts)
    missing = [part for part in parts if own_file(shooting.parts, shooting.file(part).name) is None]
    drawn = 0
    for count in _shot(shooting, missing, jobs):
        drawn += count
        done = total - sum(p.last - p.first for p in missing) + drawn
        tell(f"{done} frames of {total}", 0.98 * done / total)
    joined([shooting.file(part) for part in parts], out)
    return total, drawn


def _shot(shooting: Shooting, parts: list[FilmPart], jobs: int) -> Iterator[int]:
    """Side by side; where a process is ended from outside, the rest is drawn in this one."""
    shot: list[FilmPart] = []
    if jobs > 1 and len(parts) > 1:
        for part in _side_by_side(shooting, parts, jobs):
            shot.append(part)
            yield part.last - part.first
    for part in parts:
        if part in shot:
            continue
        if own_file(shooting.parts, shooting.file(part).name) is None:
            shoot_part(shooting, part)
        yield part.last - part.first


def _side_by_side(shooting: Shooting, parts: list[FilmPart], jobs: int) -> Iterator[FilmPart]:
    with suppress(BrokenProcessPool), spawned_pool(min(jobs, len(parts))) as pool:
        waiting = {submit_part(pool, shoot_part, shooting, part): part for part in parts}
        for done in as_completed(waiting):
            done.result()
            yield waiting[done]


def digest_of(results: Results, story: Storyboard, shape: str, codec: str, version: str) -> str:
    """What a film is made of, in short: parts of another film are not taken for its own."""
    made = hashlib.sha256(version.encode())
    for text in (
        results.findings.model_dump_json(),
        story.model_dump_json(),
        shape,
        codec,
    ):
        made.update(text.encode())
    return made.hexdigest()[:16]
