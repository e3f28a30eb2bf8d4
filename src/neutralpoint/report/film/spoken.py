"""What a film says, as captions (WebVTT, SubRip) and as a script to be read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from neutralpoint.report.figures.display import clock
from neutralpoint.report.film.chapters import captions_of, heard_from, heard_until
from neutralpoint.report.film.storyboard import Storyboard, stretch_of
from neutralpoint.report.results import Results
from neutralpoint.report.words import film as words
from neutralpoint.report.words.studio import source_line
from neutralpoint.vocabulary.cautions import IN_BRIEF


@dataclass(frozen=True)
class Cue:
    """Text that stands for a while.

    Attributes:
        start: s of film.
        end: s of film.
        text: What it says.
    """

    start: float
    end: float
    text: str


def cues_of(results: Results, story: Storyboard) -> list[Cue]:
    """Captions and heard words of a film, in order of their start.

    Args:
        results: A results folder, read.
        story: The storyboard.

    Returns:
        The cues; their numbers are those of the findings.
    """
    cues: list[Cue] = []
    begin = 0.0
    for chapter in story.chapters:
        cues += [
            Cue(begin + one.begin * chapter.seconds, begin + min(one.end, 1.0) * chapter.seconds,
                one.text)
            for one in captions_of(results, story, chapter)
        ]  # fmt: skip
        if chapter.kind == "flight":
            cues += _heard(results, story, chapter, begin)
        begin += chapter.seconds
    return sorted(cues, key=lambda cue: cue.start)


def _heard(results: Results, story: Storyboard, chapter, begin: float) -> Iterator[Cue]:
    first, last = stretch_of(results, story, chapter)
    pace = chapter.seconds / (last - first)
    epoch = results.findings.epoch
    for event in results.findings.events:
        zero = float(results.time[0])
        at, until = heard_from(event) - zero, heard_until(event, pace=1.0 / pace) - zero
        if first <= event.time - zero <= last:
            when = clock(event.time + epoch.hour * 3600 + epoch.minute * 60 + epoch.second)
            start = begin + max(at - first, 0.0) * pace
            end = min(begin + (until - first) * pace, begin + chapter.seconds)
            yield Cue(start, end, words.event_line(when, event.half_width, event.text))


def vtt_text(results: Results, story: Storyboard) -> str:
    """Captions as WebVTT.

    Source: W3C, WebVTT: The Web Video Text Tracks Format, 2019, section 4.1, from memory.
    """
    blocks = [
        f"{_stamp(cue.start, '.')} --> {_stamp(cue.end, '.')}\n{_escaped(cue.text)}"
        for cue in cues_of(results, story)
    ]
    return "\n\n".join(["WEBVTT", f"NOTE {IN_BRIEF}", *blocks]) + "\n"


def srt_text(results: Results, story: Storyboard) -> str:
    """Captions as SubRip (common practice, no standard)."""
    blocks = [
        f"{number}\n{_stamp(cue.start, ',')} --> {_stamp(cue.end, ',')}\n{cue.text}"
        for number, cue in enumerate(cues_of(results, story), start=1)
    ]
    return "\n\n".join(blocks) + "\n"


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _stamp(seconds: float, point: str) -> str:
    total = round(seconds * 1000)
    return (
        f"{total // 3600000:02d}:{total // 60000 % 60:02d}:{total // 1000 % 60:02d}"
        f"{point}{total % 1000:03d}"
    )


def script_text(results: Results, story: Storyboard) -> str:
    """The script of the film: what is said and when, its numbers as the findings have them."""
    findings = results.findings
    lines = [f"# {findings.subject.title}: script", "", IN_BRIEF, ""]
    if findings.subject.invented:
        lines += [words.INVENTED, ""]
    begin = 0.0
    for chapter in story.chapters:
        lines += [f"## {_stamp(begin, '.')[3:8]} {chapter.title}", ""]
        for one in captions_of(results, story, chapter):
            lines += [one.text, ""]
        if chapter.kind == "flight":
            lines += [f"> {cue.text}\n" for cue in _heard(results, story, chapter, begin)]
        begin += chapter.seconds
    return "\n".join([*lines, source_line(findings)]) + "\n"
