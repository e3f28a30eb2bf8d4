"""Pictures to be published and single moments of the film, drawn for the page one at a time."""

from __future__ import annotations

import io
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from neutralpoint.app.figures import Shelf
from neutralpoint.app.folders import missing
from neutralpoint.app.history import read_text
from neutralpoint.report.figures import FORMATS, GROUNDS, draw_figure, figure_bytes, list_figures
from neutralpoint.report.figures.studio.notes import NAME as NOTES_FILE
from neutralpoint.report.figures.studio.notes import parse_notes, read_notes
from neutralpoint.report.film.layout import LAYOUTS
from neutralpoint.report.film.segments import page_of
from neutralpoint.report.film.story import story_of, storyboard_text
from neutralpoint.report.film.storyboard import NAME as FILM_FILE
from neutralpoint.report.film.storyboard import Storyboard, parse_storyboard, read_storyboard
from neutralpoint.report.results import Results

# Settings of the drawing library are those of the whole process: one picture at a time.
DRAWING = threading.Lock()
MEDIA = {"png": "image/png", "svg": "image/svg+xml", "pdf": "application/pdf"}
FRAME_WIDTH = 960  # pixels of a moment of the film as the page shows it


@dataclass(frozen=True)
class AskedPicture:
    """A picture as it is asked for.

    Attributes:
        key: Of the picture.
        form: Shape.
        ground: Ground.
        kind: Of file.
        within: First and last moment, s after the first of the record; None for all.
    """

    key: str
    form: str
    ground: str
    kind: str
    within: tuple[float, float] | None


def pictures_of(folder: Path, results: Results) -> dict[str, Any]:
    """Which pictures a case has, in which shapes, and the notes on them.

    Args:
        folder: The case folder.
        results: Its results, read.

    Returns:
        JSON.
    """
    return {
        "pictures": [
            {"key": one.key, "title": one.title, "timed": one.timed}
            for one in list_figures(results)
        ],
        "forms": [
            {"key": one.key, "title": one.title, "width": one.width, "height": one.height}
            for one in FORMATS.values()
        ],
        "grounds": list(GROUNDS),
        "notes": read_text(folder / NOTES_FILE) or "",
    }


def picture(folder: Path, shelf: Shelf, asked: AskedPicture) -> bytes:
    """One picture as the bytes of a file, with the notes of the analyst.

    Args:
        folder: The case folder.
        shelf: Its results.
        asked: Which.

    Returns:
        The file; the same for the same results and notes.

    Raises:
        NeutralPointError: `figure-unknown`, or `figures-invalid` for the notes.
    """
    notes = read_notes(folder)

    def draw() -> bytes:
        with DRAWING:
            sheet = draw_figure(shelf.results(), asked.key, form=asked.form, ground=asked.ground,
                                within=asked.within, notes=notes)  # fmt: skip
            return figure_bytes(sheet, asked.kind)

    return shelf.kept(("picture", asked, notes), draw)


def film_of(folder: Path, results: Results) -> dict[str, Any]:
    """The storyboard of a case: its text, its chapters and how long they are.

    Args:
        folder: The case folder.
        results: Its results, read.

    Returns:
        JSON; `own` says whether the case has one, else it is made from the findings.
    """
    story = story_at(folder, results)
    return {
        "own": (folder / FILM_FILE).is_file(),
        "text": read_text(folder / FILM_FILE) or storyboard_text(story),
        "stop_short": story.stop_short,
        "shapes": list(LAYOUTS),
        "chapters": [
            {
                "kind": chapter.kind,
                "title": chapter.title,
                "seconds": chapter.seconds,
                "captions": len(chapter.captions),
            }
            for chapter in story.chapters
        ],
    }


def story_at(folder: Path, results: Results) -> Storyboard:
    """The storyboard of a case, or the one that is made from its findings."""
    return read_storyboard(folder) or story_of(results)


def film_frame(folder: Path, shelf: Shelf, at: float, shape: str) -> bytes:
    """One moment of the film as a PNG, as the film would show it, at half its size.

    Args:
        folder: The case folder.
        shelf: Its results.
        at: s of film.
        shape: One of `LAYOUTS`.

    Returns:
        The picture.

    Raises:
        NeutralPointError: `storyboard-invalid`, or `not-found` for an unknown shape.
    """
    if shape not in LAYOUTS:
        raise missing(f"There is no shape {shape[:20]!r} of a film.", "shape")
    story = story_at(folder, shelf.results())
    place, share = _chapter_at(story, at)

    def draw() -> bytes:
        with DRAWING:
            page = page_of(shelf.results(), story, place, shape)
            return _png(page.picture(share))

    return shelf.kept(("frame", story, place, round(share, 4), shape), draw)


def _chapter_at(story: Storyboard, at: float) -> tuple[int, float]:
    """Which chapter is shown at a moment of the film, and the share of it that is over."""
    left = max(at, 0.0)
    for place, chapter in enumerate(story.chapters):
        if left < chapter.seconds or place == len(story.chapters) - 1:
            return place, min(left / chapter.seconds, 1.0)
        left -= chapter.seconds
    raise AssertionError("a storyboard has a chapter")


def _png(pixels: Any) -> bytes:
    from PIL import Image

    whole = Image.fromarray(pixels)
    size = (FRAME_WIDTH, round(FRAME_WIDTH * whole.height / whole.width))
    buffer = io.BytesIO()
    whole.resize(size, Image.Resampling.LANCZOS).save(buffer, "PNG", compress_level=4)
    return buffer.getvalue()


def checked_notes(text: str) -> None:
    """Refuse notes that no figure could be drawn with."""
    if text.strip():
        parse_notes(text)


def checked_story(text: str) -> None:
    """Refuse a storyboard that no film could be made of."""
    parse_storyboard(text)
