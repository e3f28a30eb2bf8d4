"""What each kind of chapter shows, frame by frame."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import Event
from neutralpoint.report.figures.compose import compose_figure, compose_stage
from neutralpoint.report.figures.display import clock, printed
from neutralpoint.report.figures.figure import Panel, PlottedReadings, Strips
from neutralpoint.report.figures.look import Look
from neutralpoint.report.figures.studio import acting, flights, odds, settling
from neutralpoint.report.figures.studio.frame import Picture
from neutralpoint.report.figures.studio.lettering import shortened, width_of, wrapped
from neutralpoint.report.figures.studio.notes import moment_told, said
from neutralpoint.report.figures.studio.paths import COMPUTED, TIMES, draw_strips, shade_onset
from neutralpoint.report.film.easel import Easel, Growing
from neutralpoint.report.film.layout import SMALL, Box, FilmLayout
from neutralpoint.report.film.room import Room
from neutralpoint.report.film.storyboard import (
    Storyboard,
    StoryChapter,
    flown_in,
    span_of,
    stretch_before,
    stretch_of,
)
from neutralpoint.report.results import Results
from neutralpoint.report.words import film as words
from neutralpoint.report.words.ending import fits_worst_beyond, left_out
from neutralpoint.report.words.sections import sections_of
from neutralpoint.report.words.studio import source_line, source_words, subject_line
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.cautions import IN_BRIEF

HEAD, CAPTION, TITLE = 46, 36, 72  # pixels
HEADS = (46, 40, 36, SMALL)  # of the title of a chapter, the largest that fits
FOOT = 3  # lines over the caution, at most
CLOCK = 340  # pixels that the clock takes
SIGN, AFTER_SIGN, AFTER_WORD = 44, 10, 22  # pixels of a sign of the legend, and what follows it
ODDS_AT = 0.25  # share of the chapter from which the odds stand beside the flights
STRIPE = 8  # pixels beside words that were heard
TITLE_SHARE = 0.63  # of the width of a chart
TAG = 42  # pixels that the number of an event takes at the head of a chart
EDGE = 0.14  # of a scale, at its upper end, without a number
ABOVE = 7  # pixels from a chart up to its title
LATE = 2.0  # share of a chapter: beyond its end
LATEST = 0.97  # share of a chapter at which its last caption begins at the latest


class Page:
    """A chapter: title, captions and cautions, and what its kind adds.

    Args:
        results: A results folder, read.
        story: The whole film.
        chapter: This part of it.
        layout: Stroke.
        look: Colors.
    """

    def __init__(
        self,
        results: Results,
        story: Storyboard,
        chapter: StoryChapter,
        layout: FilmLayout,
        look: Look,
    ) -> None:
        self.results, self.story, self.chapter = results, story, chapter
        self.layout, self.look = layout, look
        self.easel = Easel(layout, look)
        self.captions = captions_of(results, story, chapter)
        self.frame()
        self.build()
        self.easel.settle()
        self._shown = -1

    def frame(self) -> None:
        """Title and, at the foot, where the film ends and the caution."""
        easel, (left, top, right, bottom) = self.easel, self.layout.safe
        title, room = said(self.chapter.title, self.results), right - left - self.beside
        size = next((s for s in HEADS if width_of(title, s, bold=True) <= room), HEADS[-1])
        *above, last = wrapped(title, room, size, bold=True)[:2]
        for text, base in ((" ".join(above), top + HEAD - SMALL - 5), (last, top + HEAD)):
            if text.strip():
                easel.write(shortened(text, room, size, bold=True), (left, base), size,
                            self.look.ink, bold=True, anchor="ls")  # fmt: skip
        quiet = wrapped(self.foot(), right - left, SMALL)[:FOOT] if self.foot() else []
        foot = [(line, self.look.quiet) for line in quiet]
        foot += [(line, self.look.caution) for line in wrapped(IN_BRIEF, right - left, SMALL)]
        y = bottom - len(foot) * round(1.25 * SMALL)
        for number, (line, color) in enumerate(foot):
            easel.write(line, (left, y + number * round(1.25 * SMALL)), SMALL, color)

    beside = 0  # pixels beside the title that are taken

    def foot(self) -> str:
        """The lines over the caution: invented, where the film ends, and where it is from."""
        findings = self.results.findings
        invented = words.INVENTED if findings.subject.invented else ""
        told = left_out(
            self.results, self.story.stop_short, self.worst if self.chapter.kind == "causes" else ""
        )
        return f"{invented} {told} {source_words(findings, named=1)}".strip()

    @property
    def worst(self) -> str:
        """The leading cause where its best flight fits worst in what is left out; else empty."""
        return fits_worst_beyond(self.results, span_of(self.results, self.story)[1])

    @property
    def told(self) -> Box:
        """Where captions stand."""
        return self.layout.told

    def build(self) -> None:
        """Draw what does not change."""

    def show(self, share: float) -> None:
        """Paint what changes."""

    def picture(self, share: float) -> np.ndarray:
        """The picture at a share of the chapter.

        Args:
            share: 0 to 1.

        Returns:
            uint8, shape (height, width, 3).
        """
        self.show(share)
        self._caption(share)
        return np.asarray(self.easel.image)

    def _caption(self, share: float) -> None:
        now = [k for k, cue in enumerate(self.captions) if cue.begin <= share + 1e-9 < cue.end]
        number = now[-1] if now else -1
        if number == self._shown:
            return
        self._shown = number
        left, top, right, bottom = self.told
        self.easel.restore(self.told)
        text = self.captions[number].text if number >= 0 else ""
        for size in (CAPTION, SMALL):  # smaller where it is long, and never cut
            lines = wrapped(text, right - left, size) if text else []
            if len(lines) <= max(1, (bottom - top) // round(1.22 * size)):
                break
        for row, line in enumerate(lines):
            self.easel.write(line, (left, top + 2 + row * round(1.22 * size)), size,
                             self.look.ink)  # fmt: skip


class CaptionCue(NamedTuple):
    """A caption and when it stands, in shares of its chapter; the last end lies beyond 1."""

    begin: float
    end: float
    text: str


def captions_of(results: Results, story: Storyboard, chapter: StoryChapter) -> list[CaptionCue]:
    """Captions of a chapter with their numbers printed, each with when it stands.

    A caption of a flight never begins before the latest moment that it speaks of, and is taken off
    when it has been read, so that no clock in words stands long beside another one of the picture.

    Args:
        results: A results folder, read.
        story: The whole film.
        chapter: Of it.

    Returns:
        The captions in order of their begin.
    """
    count = max(len(chapter.captions), 1)
    cues = []
    for number, text in enumerate(chapter.captions):
        printed_text, begin, read = said(text, results), number / count, LATE
        told = moment_told(text, results) if chapter.kind == "flight" else None
        if told is not None:
            first, last = stretch_of(results, story, chapter)
            share = (told - float(results.time[0]) - first) / (last - first)
            begin = float(np.clip(max(begin, share), 0.0, LATEST))
            read = reading_time(printed_text) / chapter.seconds
        cues.append((begin, read, printed_text))
    cues.sort(key=lambda cue: cue[0])
    nexts = [*(cue[0] for cue in cues[1:]), LATE][: len(cues)]
    return [
        CaptionCue(begin, min(begin + read, until), text)
        for (begin, read, text), until in zip(cues, nexts, strict=True)
    ]


def reading_time(text: str) -> float:
    """Seconds that a caption stands at least.

    Source: 15 characters a second and 1.5 s to find it; common practice of subtitles, no source.
    """
    return 1.5 + len(text) / 15.0


class CardPage(Page):
    """Title or end: text alone."""

    def foot(self) -> str:
        """Sources."""
        return ""

    def frame(self) -> None:
        """The caution at the foot, and no title of a chapter."""
        self.chapter = self.chapter.model_copy(update={"title": " "})
        super().frame()
        self.chapter = self.chapter.model_copy(update={"title": "Sources and limits"})

    def build(self) -> None:
        """Who, what and when; or sources and cautions."""
        findings, (left, top, right, bottom) = self.results.findings, self.layout.safe
        subject = findings.subject
        self.easel.fill((left, top, right, top + 2 * HEAD), self.look.paper)
        if self.chapter_kind == "title":
            blocks = [
                (subject.title, TITLE, self.look.ink, True),
                (subject.question, HEAD, self.look.inks[0], False),
                (f"{subject.airplane}. {findings.epoch.date().isoformat()}.", CAPTION,
                 self.look.quiet, False),
                (words.INVENTED if subject.invented else "", CAPTION, self.look.caution, False),
            ]  # fmt: skip
            y = top + (bottom - top) // 5
        else:
            blocks = [
                *((text, HEAD, self.look.ink, True) for text in self.chapter.captions),
                ("Sources and limits", CAPTION, self.look.ink, True),
                (subject_line(findings), SMALL, self.look.quiet, False),
                (source_line(findings), SMALL, self.look.quiet, False),
                (
                    left_out(self.results, self.story.stop_short, self.worst),
                    SMALL,
                    self.look.quiet,
                    False,
                ),
                *(
                    (text, SMALL, self.look.caution, False)
                    for text in findings.cautions
                    if "blame" not in text.lower()
                ),  # which stands at the foot
            ]
            y = top
        for text, size, color, bold in blocks:
            for line in wrapped(text, right - left, size, bold=bold) if text else ():
                self.easel.write(line, (left, y), size, color, bold=bold)
                y += round(1.25 * size)
            y += round(0.5 * size)

    def _caption(self, share: float) -> None:
        """An end has its captions at its head."""
        if self.chapter_kind == "title":
            super()._caption(share)

    @property
    def chapter_kind(self) -> str:
        """Title or end."""
        return self.chapter.kind


class FlightPage(Page):
    """The flight: charts that grow, the path in space with the airplane, words when heard."""

    def build(self) -> None:
        """Charts and the room of the path."""
        self.first, self.last = stretch_of(self.results, self.story, self.chapter)
        strips = self.strips()
        self.panels = strips.panels
        self._legend()
        self._start, self._time = strips.start, strips.time
        self._shift = self.shift(strips)
        span = (self.first - self._shift, self.last - self._shift)
        strips = _heard_within(strips, *span) if self.with_room else replace(strips, marks=())
        self.marked = bool(strips.marks)

        def draw(body: Picture) -> None:
            body.within = (self.first, self.last)
            draw_strips(body, strips)
            shade_onset(body, strips)
            body.handles.clear()
            for place in body.places.values():
                place.axes.set_xlim(*span)
                _free_the_title(place.axes)
                # Room over the chart, where its title and its value are written.
                size, pad = body.look.points(8.0), body.look.line(4.0)
                place.axes.set_title(" ", loc="left", fontsize=size, pad=pad)

        box = self.layout.charts if self.with_room else self.layout.whole
        self.charts = Growing(self.easel, self.results, box, draw, panels=len(self.panels))
        self._titles(box)
        self.span = span
        self.room = (
            Room(
                self.easel,
                self.results,
                (self.first, self.last),
                self.chapter.camera,
                flown_in(self.results, self.story),
                stretch_before(self.results, self.story, self.chapter),
            )
            if self.with_room
            else None
        )

    with_room = True
    _shown_words: tuple[tuple[str, str], ...] = ()

    @property
    def told(self) -> Box:
        """Under what was heard."""
        return self.layout.caption

    @property
    def beside(self) -> int:
        """The clock stands beside the title of a wide film."""
        return CLOCK if self.layout.key == "wide" else 0

    def _titles(self, box: Box) -> None:
        """Titles of the charts from the edge of the picture on, with room for their values."""
        for number, panel in enumerate(self.panels):
            unit = f" ({panel.axis.unit})" if panel.axis.unit else ""
            chart = self.charts.place(number)
            read = "" if panel.readings is not None else COMPUTED
            room = TITLE_SHARE * (chart[2] - box[0])
            title = shortened(f"{panel.title}{read}{unit}", room, SMALL)
            place = (box[0], chart[1] - ABOVE)
            self.easel.write(title, place, SMALL, self.look.ink, anchor="ls")

    def _legend(self) -> None:
        """What line, bands and rings are, over the charts."""
        x, y = self.layout.key_row
        signs = ["median", "band_50", "band_90"]
        read = [panel.readings for panel in self.panels if panel.readings is not None]
        if read:
            signs.append("ring")
        if any(self._crossed(one) for one in read):  # the line says itself what it is
            signs = [*signs[1:], "cross"]
        for sign in signs:
            self.easel.sign(sign, (x, y, x + SIGN, y))
            box = self.easel.write(words.KEYS[sign], (x + SIGN + AFTER_SIGN, y), SMALL,
                                   self.look.ink, anchor="lm")  # fmt: skip
            x = box[2] + AFTER_WORD

    def _crossed(self, read: PlottedReadings) -> bool:
        """Whether a reading of the stretch was set aside."""
        within = (read.time >= self.first) & (read.time <= self.last)
        return bool((read.suspect[within] != 0).any())

    def shift(self, strips: Strips) -> float:
        """Zero of the charts, s after the first moment of the record."""
        epoch = self.results.findings.epoch
        midnight = epoch.hour * 3600 + epoch.minute * 60 + epoch.second + epoch.microsecond * 1e-6
        return strips.start - midnight - float(self.results.time[0])

    def strips(self) -> Strips:
        """Charts of the chapter over its stretch."""
        within = (self.first - 1.0, self.last + 1.0)
        strips = compose_figure(self.results, limit=TIMES, within=within).strips
        return chosen(strips, self.chapter, self.layout.panels)

    def show(self, share: float) -> None:
        """Grow to a moment."""
        at = self.first + share * (self.last - self.first)
        for number in range(len(self.panels)):
            self.charts.takes_off(number)
        low, high = self.span
        self.charts.grow(lambda _: (at - self._shift - low) / (high - low))
        for number, panel in enumerate(self.panels):
            self.charts.cursor(number, self.look.ink, below=TAG if self.marked else 0)
            self._read(number, panel, at - self._shift)
        right, top = self.layout.safe[2], self.layout.safe[1]
        place = (right, top + 4) if self.layout.key == "wide" else (self.layout.safe[0], top + 58)
        self.easel.say("clock", f"{clock(at - self._shift + self._start)} UTC", place, 40,
                       self.look.ink, bold=True,
                       anchor="ra" if self.layout.key == "wide" else "la")  # fmt: skip
        if self.room is not None:
            self.room.paint(at, share)
        self._heard(at)

    def _read(self, number: int, panel: Panel, at: float) -> None:
        """The value at the cursor with its band, over the right end of its chart."""
        box = self.charts.place(number)
        k = int(np.argmin(np.abs(self._time - at)))
        low, _, median, _, high = panel.bands[0].quantiles[:, k]
        text = "not observable"
        if np.isfinite(median):
            values = [printed(v, panel.axis.decimals) for v in (median, low, high)]
            text = f"{values[0]} ({values[1]} to {values[2]})"
        self.easel.say(f"read {number}", text, (box[2], box[1] - ABOVE), SMALL, self.look.inks[0],
                       bold=True, anchor="rs")  # fmt: skip

    def _heard(self, at: float) -> None:
        """What the numbers on the charts stand for, once heard: in color within its error."""
        now, told = at + float(self.results.time[0]), []
        zero = self._start - self._shift - float(self.results.time[0])
        events = self.results.findings.events if self.with_room else []
        for number, event in enumerate(events, start=1):
            if not (heard_from(event) <= now < self._read_until(event)):
                continue
            text = words.event_line(clock(event.time + zero), event.half_width, event.text)
            color = self.look.event if now < event.time + event.half_width else self.look.quiet
            told.append((f"{number}   {text}", color))
        if tuple(told) != self._shown_words:
            self._shown_words = tuple(told)
            self._write_heard(told)

    def _read_until(self, event: Event) -> float:
        """As long as its number stands on a chart, and until it has been read."""
        within = self.first <= event.time - float(self.results.time[0]) <= self.last
        return np.inf if within else heard_until(event, self._pace)

    def _write_heard(self, told: list[tuple[str, str]]) -> None:
        """As many as there is room for, the last one below."""
        box, row = self.layout.words, round(1.25 * SMALL)
        self.easel.restore(box)
        room, lines = box[2] - box[0] - 3 * STRIPE, (box[3] - box[1]) // row
        rows: list[tuple[str, str]] = []
        for text, color in reversed(told):
            rows = [*((line, color) for line in wrapped(text, room, SMALL)), *rows]
            if len(rows) >= lines:
                break
        for place, (line, color) in enumerate(rows[-lines:]):
            top = box[1] + place * row
            self.easel.fill((box[0], top, box[0] + STRIPE, top + row), color)
            self.easel.write(line, (box[0] + 3 * STRIPE, top + row // 2), SMALL, color,
                             anchor="lm")  # fmt: skip

    @property
    def _pace(self) -> float:
        """Seconds of flight in a second of film."""
        return (self.last - self.first) / self.chapter.seconds


def heard_from(event: Event) -> float:
    """From when on words stand in a film, s after the epoch: they may have been said then."""
    return event.time - event.half_width


def heard_until(event: Event, pace: float) -> float:
    """Until when they stand: the error of their time, and until they have been read.

    Args:
        event: With its words.
        pace: Seconds of flight in a second of film.
    """
    return max(event.time + event.half_width, heard_from(event) + pace * reading_time(event.text))


def _free_the_title(axes: Axes) -> None:
    """Take off a number at the upper end of a scale, which the title of the chart would touch."""
    low, high = axes.get_ylim()
    axes.set_yticks([at for at in axes.get_yticks() if low <= at <= high - EDGE * (high - low)])


def _brief(variable: str, title: str) -> str:
    """A title with room for a value beside it."""
    return QUANTITIES[variable].short if variable in QUANTITIES else title


class MomentPage(FlightPage):
    """What a stage says along the flight, such as the required moment."""

    with_room = False

    def strips(self) -> Strips:
        """Charts of the stage that the chapter names."""
        for section in sections_of(self.results.findings):
            by_name = {request.variable: request for request in section.panels}
            named = [by_name[name] for name in self.chapter.panels if name in by_name]
            if named:
                strips = compose_stage(self.results, named[: self.layout.panels], limit=TIMES)
                strips = replace(strips, panels=tuple(
                    replace(panel, title=_brief(request.variable, panel.title))
                    for panel, request in zip(strips.panels, named, strict=False)
                ))  # fmt: skip
                low = self.shift(strips) + float(strips.time[0])
                self.first = max(self.first, low)
                return _without_second_scale(strips)
        raise missing(self.chapter)


def missing(
    chapter: StoryChapter, hint: str = "`neutralpoint figures CASE` lists what there is."
) -> NeutralPointError:
    """A chapter names charts that the case does not have."""
    return NeutralPointError(
        "storyboard-invalid",
        f"The case has none of the charts {', '.join(chapter.panels) or '(none named)'}.",
        where=f"film.toml: {chapter.title}",
        hint=hint,
    )


def chosen(strips: Strips, chapter: StoryChapter, count: int) -> Strips:
    """The charts that a chapter names."""
    by_key = {panel.key: panel for panel in strips.panels}
    panels = tuple(by_key[name] for name in chapter.panels if name in by_key)[:count]
    if not panels:
        raise missing(chapter, f"Charts: {', '.join(by_key)}.")
    return _without_second_scale(replace(strips, panels=panels))


def _heard_within(strips: Strips, first: float, last: float) -> Strips:
    """Marks of the stretch alone."""
    marks = tuple(mark for mark in strips.marks if first <= mark.time <= last)
    return replace(strips, marks=marks)


def _without_second_scale(strips: Strips) -> Strips:
    return replace(strips, panels=tuple(
        replace(panel, axis=replace(panel.axis, second_unit="")) for panel in strips.panels
    ))  # fmt: skip


class CausesPage(Page):
    """Candidate flights beside the data; when they are drawn, the odds."""

    def build(self) -> None:
        """Charts to the left; to the right what they are, later the odds."""
        until = float(self.results.time[0]) + span_of(self.results, self.story)[1]
        self.charts = Growing(self.easel, self.results, self.layout.charts, flights.draw_flights,
                              panels=self.layout.panels, until=until)  # fmt: skip
        box = self.layout.odds
        self.odds = Growing(self.easel, self.results, box, odds.draw_odds, panels=1,
                            lettered=True)  # fmt: skip
        self.easel.fill(box, self.look.paper)
        y = box[1] + 2 * CAPTION
        for text in words.models_said(self.results.findings):
            for line in wrapped(text, box[2] - box[0] - CAPTION, CAPTION):
                self.easel.write(line, (box[0] + CAPTION // 2, y), CAPTION, self.look.ink)
                y += round(1.25 * CAPTION)
            y += CAPTION // 2

    def show(self, share: float) -> None:
        """Grow the charts; odds appear whole, for half a bar is another number."""
        self.charts.grow(lambda _: share / ODDS_AT)
        if share >= ODDS_AT:
            self.odds.whole()
        else:
            self.easel.restore(self.layout.odds)


class ChartPage(Page):
    """One chart, whole from the first picture on; above it what it is about."""

    def build(self) -> None:
        """The chart of the kind, under the lines that every picture of it must bear."""
        draw = {"acting": acting.draw_recovery, "evidence": settling.draw_evidence}
        left, top, right, bottom = self.layout.whole
        findings = self.results.findings
        told = {
            "acting": words.acting_said(findings, acting.shown_rows(findings)),
            "evidence": words.evidence_said(findings),
        }
        for line in wrapped(told[self.chapter.kind], right - left, SMALL):
            self.easel.write(line, (left, top), SMALL, self.look.ink)
            top += round(1.25 * SMALL)
        box = (left, top + SMALL // 2, right, bottom)
        chart = Growing(self.easel, self.results, box, draw[self.chapter.kind], panels=1,
                        lettered=True)  # fmt: skip
        chart.whole()


PAGES: dict[str, type[Page]] = {
    "title": CardPage,
    "end": CardPage,
    "flight": FlightPage,
    "moment": MomentPage,
    "causes": CausesPage,
    "acting": ChartPage,
    "evidence": ChartPage,
}
