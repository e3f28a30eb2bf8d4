"""The storyboard of a film: chapters in order, each with what it shows, how fast and what is said.

`film.toml` lies in the case folder. Without one, a story is made from the findings. Captions may
hold bound numbers, as notes on figures do.
"""

from __future__ import annotations

from datetime import datetime as Moment
from datetime import time as Clock
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from neutralpoint.documents.fields import When
from neutralpoint.documents.own_toml import parse_document, read_document
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import Findings
from neutralpoint.report.figures.studio.notes import seconds_of
from neutralpoint.report.results import Results
from neutralpoint.report.words.ending import STOP_SHORT

NAME = "film.toml"
GUIDE = "`film CASE --storyboard` writes one to start from; docs/how-to/make-a-film.md explains it."
Kind = Literal["title", "flight", "moment", "causes", "acting", "evidence", "end"]
View = Literal["still", "orbit", "above", "side"]
Seconds = Annotated[float, Field(gt=0.0, le=3600.0)]


class StoryPart(BaseModel):
    """A table of the file: no key that is not named."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)


class StoryChapter(StoryPart):
    """A stretch of the film."""

    kind: Kind
    title: Annotated[str, Field(min_length=1, max_length=160, description="May hold keys.")]
    seconds: Seconds = Field(description="Of film.")
    first: When | None = Field(default=None, alias="from", description="UTC; of a flight.")
    last: When | None = Field(default=None, alias="to", description="UTC; of a flight.")
    panels: tuple[str, ...] = Field(default=(), description="Charts, the most telling first.")
    camera: View = Field(default="still", description="How the path in space is looked at.")
    captions: tuple[str, ...] = Field(default=(), description="One after another, equally long.")

    @model_validator(mode="after")
    def timed(self) -> StoryChapter:
        """Both ends or none."""
        if (self.first is None) != (self.last is None):
            raise ValueError("give both `from` and `to`, or neither")
        return self


class Storyboard(StoryPart):
    """The whole file."""

    schema_version: Literal[1] = Field(alias="schema")
    rate: Annotated[float, Field(ge=1.0, le=60.0)] = Field(default=25.0, description="Frames a s.")
    stop_short: Annotated[float, Field(ge=0.0)] = Field(
        default=STOP_SHORT,
        description="Seconds at the end of the record that are not shown.",
    )
    ground: Literal["light", "dark"] = "dark"
    chapters: tuple[StoryChapter, ...] = Field(min_length=1)


def read_storyboard(case: Path) -> Storyboard | None:
    """The storyboard of a case.

    Args:
        case: The case folder.

    Returns:
        The storyboard; None without a file.

    Raises:
        NeutralPointError: `storyboard-invalid` for the first thing wrong.
    """
    return read_document(case / NAME, Storyboard, kind="storyboard", hint=GUIDE)


def parse_storyboard(text: str, where: str = NAME) -> Storyboard:
    """The storyboard in a TOML text.

    Args:
        text: TOML.
        where: What errors call it.

    Returns:
        The storyboard.

    Raises:
        NeutralPointError: `storyboard-invalid` for the first thing wrong.
    """
    return parse_document(text, Storyboard, where=where, kind="storyboard", hint=GUIDE)


def _invalid(message: str, where: str) -> NeutralPointError:
    return NeutralPointError("storyboard-invalid", message, where=where, hint=GUIDE)


def span_of(results: Results, story: Storyboard) -> tuple[float, float]:
    """First and last moment that a film may show, s after the first of the record.

    Raises:
        NeutralPointError: `argument-invalid` where nothing would be left.
    """
    span = float(results.time[-1] - results.time[0])
    if span - story.stop_short <= 0.0:
        raise NeutralPointError(
            "argument-invalid",
            f"Of {span:.0f} s nothing is left to show after leaving out {story.stop_short:.0f} s.",
            where="film",
            hint="Leave out less: `--stop-short`, or `stop_short` of the storyboard.",
        )
    return 0.0, span - story.stop_short


def stretch_of(results: Results, story: Storyboard, chapter: StoryChapter) -> tuple[float, float]:
    """First and last moment of a chapter, s after the first of the record.

    Args:
        results: A results folder, read.
        story: Which says how far the film goes.
        chapter: Of it.

    Returns:
        The stretch, cut to what the film may show.

    Raises:
        NeutralPointError: `storyboard-invalid` where nothing of it may be shown.
    """
    low, high = span_of(results, story)
    first = low if chapter.first is None else _since(results, chapter.first)
    last = high if chapter.last is None else _since(results, chapter.last)
    first, last = max(first, low), min(last, high)
    if last - first <= 0.0:
        raise _invalid(
            f"Nothing of the chapter {chapter.title!r} lies within what the film shows "
            f"({high:.0f} s from the first reading on).",
            NAME,
        )
    return first, last


def flown_in(results: Results, story: Storyboard) -> tuple[float, float]:
    """First and last moment of all chapters of the flight, s after the first of the record."""
    ends = [stretch_of(results, story, c) for c in story.chapters if c.kind == "flight"]
    return (min(e[0] for e in ends), max(e[1] for e in ends)) if ends else span_of(results, story)


def stretch_before(
    results: Results, story: Storyboard, chapter: StoryChapter
) -> tuple[float, float] | None:
    """The stretch of the chapter of the flight before one; None before the first."""
    flown = [one for one in story.chapters if one.kind == "flight"]
    place = next((k for k, one in enumerate(flown) if one is chapter or one == chapter), 0)
    return stretch_of(results, story, flown[place - 1]) if place > 0 else None


def _since(results: Results, at: Clock | Moment) -> float:
    middle = float(results.time.mean())
    return seconds_of(results.findings, at, middle) - float(results.time[0])


def onset_of(findings: Findings) -> tuple[float, float, float] | None:
    """5, 50 and 95% of the onset, s after the epoch; None where none was found."""
    motion = findings.motion
    found = None if motion is None else motion.onset
    return None if found is None or not found.found else (found.left[0], found.left[2],
                                                           found.left[-1])  # fmt: skip
