"""The story that is told where the analyst wrote none: made from what the findings hold."""

from __future__ import annotations

import math
from datetime import time as Clock
from datetime import timedelta

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import Findings
from neutralpoint.report.figures.display import clock
from neutralpoint.report.figures.studio import acting
from neutralpoint.report.film.storyboard import (
    Storyboard,
    StoryChapter,
    onset_of,
    span_of,
    stretch_of,
)
from neutralpoint.report.results import Results
from neutralpoint.report.words import film as words
from neutralpoint.report.words.acting import recovery_title
from neutralpoint.report.words.ending import STOP_SHORT

MOST_FRAMES = 1_000_000  # eleven hours of film at 25 a second; more is a slip of the pen
BEFORE, AFTER = 60.0, 8.0  # s shown before the onset, and about it; analyst's
QUIET = ("pressure_altitude", "calibrated_airspeed", "vertical_speed")
UPSET = ("pitch_angle", "normal_load_factor", "pressure_altitude")
DIVE = ("pressure_altitude", "calibrated_airspeed", "flight_path_angle")
LENGTHS = {"title": 5.0, "before": 10.0, "onset": 12.0, "after": 18.0, "moment": 12.0,
           "causes": 22.0, "acting": 20.0, "evidence": 9.0, "end": 8.0}  # s; analyst's  # fmt: skip


def story_of(results: Results, *, stop_short: float = STOP_SHORT) -> Storyboard:
    """The default storyboard.

    Args:
        results: A results folder, read.
        stop_short: Seconds at the end of the record that are not shown.

    Returns:
        The storyboard.
    """
    findings = results.findings
    chapters = [
        _chapter("title", "title", findings.subject.title[:80], (), ()),
        *_flown(results, stop_short),
        *_computed(results, stop_short),
        _chapter("end", "end", "Sources and limits", (), (words.END,)),
    ]
    return Storyboard(schema=1, stop_short=stop_short, chapters=tuple(chapters))


def changed(
    results: Results,
    story: Storyboard,
    *,
    left_out: float | None = None,
    rate: float | None = None,
    speed: float = 1.0,
    last: float | None = None,
) -> Storyboard:
    """A storyboard with what a command asks for.

    Args:
        results: A results folder, read.
        story: The storyboard.
        left_out: Seconds at the end of the record that are not shown; None as it stands.
        rate: Frames in a second of film; None as it stands.
        speed: Times as fast as it stands.
        last: Show no more than so many seconds of the flight before its end; None for all.

    Returns:
        The storyboard; chapters of the flight of which nothing is left are gone.

    Raises:
        NeutralPointError: `argument-invalid` where nothing would be left.
    """
    # Written so that what is no number is refused too.
    given = (speed, 1.0 if rate is None else rate, 1.0 if last is None else last)
    shown = all(0.0 < number < math.inf for number in given)
    left = story.stop_short if left_out is None else left_out
    pace = (story.rate if rate is None else rate) / speed if shown else math.inf
    frames = pace * sum(chapter.seconds for chapter in story.chapters)
    if not shown or not 0.0 <= left < math.inf or not frames <= MOST_FRAMES:
        raise NeutralPointError(
            "argument-invalid",
            f"Rate {rate}, speed {speed:g}, last {last} and seconds left out {left_out} do not "
            "make a film.",
            where="film",
            hint="Give rate, speed and last above 0, leave out 0 s or more, "
            f"for {MOST_FRAMES:,} frames at most.",
        )
    story = story.model_copy(update={
        "stop_short": story.stop_short if left_out is None else left_out,
        "rate": story.rate if rate is None else rate,
    })  # fmt: skip
    _, end = span_of(results, story)
    begin = 0.0 if last is None else max(0.0, end - last)
    chapters = [_cut(results, story, chapter, begin, speed) for chapter in story.chapters]
    return story.model_copy(update={"chapters": tuple(c for c in chapters if c is not None)})


def _cut(
    results: Results, story: Storyboard, chapter: StoryChapter, begin: float, speed: float
) -> StoryChapter | None:
    """A chapter from a moment on, as much shorter as less of the flight is shown."""
    seconds = chapter.seconds / speed
    if chapter.kind == "flight" and begin > 0.0:
        first, last = stretch_of(results, story, chapter)
        if last - begin < 1.0:
            return None
        if begin > first:
            seconds *= (last - begin) / (last - first)
            zero = float(results.time[0])
            ends = [_time(results.findings, zero + at) for at in (begin, last)]
            return chapter.model_copy(update={"seconds": seconds, "first": ends[0],
                                              "last": ends[1]})  # fmt: skip
    return chapter.model_copy(update={"seconds": seconds})


def _time(findings: Findings, seconds: float) -> Clock:
    """The clock of a time of the document, to the microsecond."""
    return (findings.epoch + timedelta(seconds=seconds)).time()


def _chapter(
    kind: str, length: str, title: str, panels: tuple[str, ...], captions: tuple[str, ...],
    **more: object,
) -> StoryChapter:  # fmt: skip
    return StoryChapter.model_validate({
        "kind": kind, "title": title, "seconds": LENGTHS[length], "panels": panels,
        "captions": captions, **more,
    })  # fmt: skip


def _flown(results: Results, stop_short: float) -> list[StoryChapter]:
    """Before, at and after the onset; one chapter where there is none."""
    findings = results.findings
    first, last = float(results.time[0]), float(results.time[-1]) - stop_short
    onset = onset_of(findings)
    if onset is None or not first < onset[0] <= onset[2] < last:
        told = words.flight_captions(findings, first, last)
        return [
            _chapter(
                "flight",
                "after",
                "No onset found: the flight as it was",
                _have(results, QUIET),
                told,
            )
        ]
    begin, turn, settle = (
        max(first, onset[0] - BEFORE),
        onset[0] - AFTER,
        onset[2] + AFTER,
    )
    parts = []
    if turn - begin > AFTER:
        title = words.before_title(findings)
        parts.append(_part(results, "before", title, QUIET, begin, turn, "still",
                           words.before_captions(findings, begin, turn)))  # fmt: skip
    settle, extremes = min(settle, last), words.extremes_of(results)
    begin = max(turn, first)
    title = words.onset_title(findings)
    parts.append(_part(results, "onset", title, UPSET, begin, settle, "still",
                       words.onset_captions(findings, extremes, begin, settle)))  # fmt: skip
    if last - settle > 1.0:
        title, told = words.after_title(findings, extremes, settle, last)
        panels = DIVE if told in ("", *DIVE) else (*DIVE[:2], told)
        parts.append(_part(results, "after", title, panels, settle, last, "still",
                           words.after_captions(findings, extremes, settle, last)))  # fmt: skip
    return parts


def _part(
    results: Results, length: str, title: str, panels: tuple[str, ...], first: float,
    last: float, camera: str, captions: tuple[str, ...],
) -> StoryChapter:  # fmt: skip
    ends = {"from": _utc(results.findings, first), "to": _utc(results.findings, last)}
    return _chapter("flight", length, title, _have(results, panels), captions, camera=camera,
                    **ends)  # fmt: skip


def _utc(findings: Findings, seconds: float) -> str:
    epoch = findings.epoch
    return clock(seconds + epoch.hour * 3600 + epoch.minute * 60 + epoch.second)


def _have(results: Results, names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(name for name in names if name in results.bands)


def _computed(results: Results, stop_short: float) -> list[StoryChapter]:
    """Required moment, candidate causes, time to act, next evidence."""
    findings, chapters = results.findings, []
    if findings.moments is not None:
        onset, last = onset_of(findings), float(results.time[-1]) - stop_short
        ends = {}
        if onset is not None and onset[0] - AFTER < last - 1.0:
            first = max(onset[0] - AFTER, float(results.time[0]))
            ends = {"from": _utc(findings, first), "to": _utc(findings, last)}
        chapters.append(_chapter("moment", "moment", words.moment_title(findings),
                                 ("needed_column_force",),
                                 words.moment_captions(findings), **ends))  # fmt: skip
    if findings.weighing is not None:
        chapters.append(_chapter("causes", "causes", words.causes_title(findings), (),
                                 words.cause_captions(findings)))  # fmt: skip
    if findings.response is not None and findings.response.delays and findings.response.rows:
        rows = acting.shown_rows(findings)
        counts = [acting.pilots_of(results, row) for row in rows]
        title = recovery_title(rows, findings.response, next(iter(counts), None))[: words.LONGEST]
        chapters.append(_chapter("acting", "acting", title, (),
                                 words.acting_captions(findings, rows, counts)))  # fmt: skip
    if findings.evidence is not None and findings.evidence.items:
        chapters.append(_chapter("evidence", "evidence", words.evidence_title(findings), (),
                                 words.evidence_captions(findings)))  # fmt: skip
    return chapters


def storyboard_text(story: Storyboard) -> str:
    """A storyboard as TOML, to be changed by hand."""
    lines = [
        "# The storyboard of the film. docs/how-to/make-a-film.md explains every key. Numbers in",
        "# braces are bound: they are printed from the findings when the film is made.",
        "",
        "schema = 1",
        f"rate = {story.rate:g}",
        f"stop_short = {story.stop_short:g}",
        f'ground = "{story.ground}"',
    ]
    for chapter in story.chapters:
        lines += ["", "[[chapters]]", f'kind = "{chapter.kind}"']
        lines += [f"title = {_quoted(chapter.title)}", f"seconds = {chapter.seconds:g}"]
        if chapter.first is not None and chapter.last is not None:
            lines += [
                f"from = {chapter.first.isoformat()}",
                f"to = {chapter.last.isoformat()}",
            ]
        if chapter.panels:
            lines.append(f"panels = [{', '.join(_quoted(name) for name in chapter.panels)}]")
        if chapter.kind == "flight":
            lines.append(f'camera = "{chapter.camera}"')
        if chapter.captions:
            lines += [
                "captions = [",
                *(f"  {_quoted(text)}," for text in chapter.captions),
                "]",
            ]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'
