"""`figures.toml` of a case: the analyst's own arrows, brackets and texts, bound to values.

A note names a moment and a chart, never a place on the picture: it stands where the curve is, and
moves with it when the study is run again. Its text may hold `{value}`, `{time}` and the key of any
finding, such as `{weighing.rows.0.probability}`.
"""

from __future__ import annotations

import re
from datetime import UTC
from datetime import datetime as Moment
from datetime import time as Clock
from pathlib import Path
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, model_validator

from neutralpoint.documents.fields import When
from neutralpoint.documents.own_toml import parse_document, read_document
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import Findings, printed_probability
from neutralpoint.quantities import DEGREE, FOOT, KNOT, POUND_FORCE
from neutralpoint.report.figures.display import SHOWN, clock
from neutralpoint.report.figures.studio.frame import ChartPlace, Picture
from neutralpoint.report.results import Results, band_lookup
from neutralpoint.report.sheet.said import Bound
from neutralpoint.report.words.phrases import time_of_day
from neutralpoint.report.words.sheet_numbers import figures

NAME = "figures.toml"
GUIDE = "docs/how-to/make-figures.md shows one."
DAY = 86400.0
BOUND = re.compile(r"\{([^{}]+)\}")
Where = Literal["onset", "highest", "lowest", "last"]
Share = Annotated[float, Field(ge=-0.9, le=0.9)]


class NotesPart(BaseModel):
    """A table of the file: no key that is not named."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Note(NotesPart):
    """One note on one chart."""

    figure: Annotated[str, Field(min_length=1, description="Key, as `figures` lists it.")]
    chart: str = Field(default="", description="Of its charts; empty for the first.")
    kind: Literal["arrow", "bracket", "text"] = "arrow"
    at: When | Where | None = Field(default=None, description="UTC, or a moment of the record.")
    until: When | Where | None = Field(default=None, description="End of a bracket.")
    x: float | None = Field(default=None, description="Where no time runs along the chart.")
    y: float | None = Field(default=None, description="In the unit of the chart.")
    text: Annotated[str, Field(min_length=1, max_length=200)]
    across: Share = Field(default=0.06, description="Of the text, in shares of the chart.")
    up: Share = Field(default=0.18, description="Of the text, in shares of the chart.")

    @model_validator(mode="after")
    def placed(self) -> Note:
        """A note stands at a moment or at a place of the axes."""
        if (self.at is None) == (self.x is None):
            raise ValueError("give either `at` or `x`")
        if (self.kind == "bracket") != (self.until is not None):
            raise ValueError("`until` and the kind bracket go together")
        if self.x is not None and self.y is None:
            raise ValueError("`x` needs `y`")
        return self


class NotesDocument(NotesPart):
    """The whole file."""

    schema_version: Literal[1] = Field(alias="schema")
    notes: tuple[Note, ...] = ()


def read_notes(case: Path) -> tuple[Note, ...]:
    """The notes of a case.

    Args:
        case: The case folder.

    Returns:
        The notes; none without a file.

    Raises:
        NeutralPointError: `figures-invalid` for the first thing wrong.
    """
    document = read_document(case / NAME, NotesDocument, kind="figures", hint=GUIDE)
    return () if document is None else document.notes


def parse_notes(text: str, where: str = NAME) -> tuple[Note, ...]:
    """The notes in a TOML text.

    Args:
        text: TOML.
        where: What errors call it.

    Returns:
        The notes.

    Raises:
        NeutralPointError: `figures-invalid` for the first thing wrong.
    """
    return parse_document(text, NotesDocument, where=where, kind="figures", hint=GUIDE).notes


def _invalid(message: str, where: str) -> NeutralPointError:
    return NeutralPointError("figures-invalid", message, where=where, hint=GUIDE)


def draw_notes(body: Picture, key: str, notes: tuple[Note, ...]) -> None:
    """Draw the notes of one picture.

    Args:
        body: With its chart drawn.
        key: Of the picture.
        notes: Of the case.

    Raises:
        NeutralPointError: `figures-invalid` where a note names what is not there.
    """
    for note in notes:
        if note.figure == key:
            _draw(body, note)


def _draw(body: Picture, note: Note) -> None:
    place = _place(body, note)
    x, y = _point(body, place, note)
    text = said(note.text, body.results, place, x)
    look = body.look
    style: dict[str, Any] = {
        "fontsize": body.small, "color": look.ink, "ha": "left", "va": "center",
        "bbox": {"facecolor": look.paper, "edgecolor": "none", "pad": look.line(1.0)},
        "zorder": 9, "annotation_clip": False,
    }  # fmt: skip
    shift = place.axes.transAxes.transform((note.across, note.up))
    shift = (shift - place.axes.transAxes.transform((0.0, 0.0))) * 72.0 / body.form.dots
    text = body.wrapped(text, 0.4)
    if note.kind == "bracket" and note.until is not None:
        end = _moment(body.results, place, note.until)
        place.axes.annotate("", (x, y), (end, y), zorder=9, arrowprops=_ends(body))
        place.axes.annotate(text, ((x + end) / 2.0, y), xytext=(0.0, look.line(4.0)),
                            textcoords="offset points", **{**style, "ha": "center",
                            "va": "bottom"})  # fmt: skip
        return
    if note.kind == "arrow":
        style["arrowprops"] = {
            "arrowstyle": "-|>", "color": look.ink, "linewidth": look.line(1.0),
            "mutation_scale": look.line(9.0),
        }  # fmt: skip
    offset = tuple(shift) if note.kind == "arrow" else (look.line(3.0), look.line(3.0))
    place.axes.annotate(text, (x, y), xytext=offset, textcoords="offset points", **style)


def _ends(body: Picture) -> dict[str, Any]:
    return {
        "arrowstyle": "|-|", "color": body.look.ink, "linewidth": body.look.line(1.0),
        "mutation_scale": body.look.line(3.0), "shrinkA": 0.0, "shrinkB": 0.0,
    }  # fmt: skip


def _place(body: Picture, note: Note) -> ChartPlace:
    if not note.chart:
        return next(iter(body.places.values()))
    if note.chart not in body.places:
        raise _invalid(
            f"The figure {note.figure} has no chart {note.chart!r} in this form; it has "
            f"{', '.join(body.places)}.",
            NAME,
        )
    return body.places[note.chart]


def _point(body: Picture, place: ChartPlace, note: Note) -> tuple[float, float]:
    """Where a note stands, in the units of the chart."""
    if note.at is None:
        return float(note.x or 0.0), float(note.y or 0.0)
    x = _moment(body.results, place, note.at)
    if note.y is not None:
        return x, note.y
    if place.series is None:
        return x, float(np.mean(place.axes.get_ylim()))
    return x, float(np.interp(x, *place.series))


def _moment(results: Results, place: ChartPlace, at: Clock | Moment | str) -> float:
    """A moment along the axis of a chart."""
    if place.start is None:
        raise _invalid("Time does not run along that chart: give `x` and `y`.", NAME)
    if isinstance(at, str):
        return _named(results, place, at)
    return seconds_of(results.findings, at, float(results.time.mean())) - place.start


def _named(results: Results, place: ChartPlace, at: str) -> float:
    if at == "onset":
        motion = results.findings.motion
        found = None if motion is None else motion.onset
        if found is None or not found.found or place.start is None:
            raise _invalid("No onset was found, so no note can stand at it.", NAME)
        return found.left[2] - place.start
    if place.series is None:
        raise _invalid(f"That chart has no curve that could be {at}.", NAME)
    time, value = place.series
    left, right = place.axes.get_xlim()
    inside = np.isfinite(value) & (time >= left) & (time <= right)
    picked = {"highest": np.argmax, "lowest": np.argmin}.get(at)
    return float(time[inside][-1 if picked is None else int(picked(value[inside]))])


def seconds_of(findings: Findings, at: Clock | Moment, middle: float) -> float:
    """A moment as the analyst writes it.

    Args:
        findings: For the epoch.
        at: With or without a date; a clock alone is the one nearest to the record.
        middle: Of the record, s after the epoch.

    Returns:
        s after the epoch.
    """
    if isinstance(at, Moment):
        aware = at if at.tzinfo is not None else at.replace(tzinfo=UTC)
        return (aware - findings.epoch).total_seconds()
    epoch = findings.epoch
    midnight = epoch.hour * 3600 + epoch.minute * 60 + epoch.second + epoch.microsecond * 1e-6
    seconds = at.hour * 3600 + at.minute * 60 + at.second + at.microsecond * 1e-6 - midnight
    return seconds + DAY * round((middle - seconds) / DAY)


def said(
    text: str, results: Results, place: ChartPlace | None = None, x: float | None = None
) -> str:
    """A text with its bound values printed.

    Args:
        text: With keys in braces.
        results: A results folder, read.
        place: The chart, for `{value}` and `{time}`.
        x: The moment along it.

    Returns:
        The text.

    Raises:
        NeutralPointError: `figures-invalid` where a key names no number.
    """
    return BOUND.sub(lambda found: _bound(found[1], results, place, x), text)


def moment_told(text: str, results: Results) -> float | None:
    """The latest moment that the bound values of a text speak of.

    Args:
        text: With keys in braces.
        results: A results folder, read.

    Returns:
        s after the epoch; None where no key has a moment.
    """
    told = []
    for key in BOUND.findall(text):
        name, _, clocked = key.partition("@")
        if clocked and name in results.bands:
            at = Clock.fromisoformat(clocked)
            told.append(seconds_of(results.findings, at, float(results.time.mean())))
        elif key.endswith("|clock"):
            told.append(float(Bound(results.findings).value(key.removesuffix("|clock"))))
    return max(told, default=None)


def _bound(key: str, results: Results, place: ChartPlace | None, x: float | None) -> str:
    if key in ("value", "time") and place is not None and x is not None and place.start is not None:
        time = x + place.start
        if key == "time":
            epoch = results.findings.epoch
            return clock(time + epoch.hour * 3600 + epoch.minute * 60 + epoch.second)
        if place.quantity in results.bands:
            return banded_text(results, place.quantity, time)
    if "@" in key:
        return _of_motion(key, results)
    key, _, unit = key.partition("|")
    try:
        value = Bound(results.findings).value(key)
    except (AttributeError, KeyError, IndexError, ValueError, TypeError) as broken:
        raise _invalid(f"{{{key}}} names no finding.", NAME) from broken
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise _invalid(f"{{{key}}} is neither a number nor a text.", NAME)
    return _printed(value, unit, results.findings)


# How a bound number is printed when its key has one of these behind a bar: size of what is printed.
UNITS = {"ft": FOOT, "kt": KNOT, "deg": DEGREE, "lb": POUND_FORCE, "s": 1.0, "%": 0.01}


def _printed(value: float | str, unit: str, findings: Findings) -> str:
    """A finding as people read it."""
    if isinstance(value, str):
        return value
    if unit == "clock":
        return time_of_day(findings, value)[:-2]
    if unit in UNITS:
        return f"{figures(value / UNITS[unit])}{'' if unit == '%' else ' '}{unit}"
    if unit:
        raise _invalid(f"A number is not printed in {unit!r}: {', '.join(UNITS)}, clock.", NAME)
    if isinstance(value, int):
        return str(value)
    return printed_probability(value) if 0.0 < value < 1.0 else figures(value)


def _of_motion(key: str, results: Results) -> str:
    """A quantity of the motion at a time of the clock, with its band."""
    name, _, clocked = key.partition("@")
    try:
        at = Clock.fromisoformat(clocked)
    except ValueError as broken:
        raise _invalid(f"{{{key}}}: {clocked!r} is no time such as 18:54:30.", NAME) from broken
    if name not in results.bands:
        raise _invalid(f"{{{key}}}: the motion has no {name!r}.", NAME)
    return banded_text(results, name, seconds_of(results.findings, at, float(results.time.mean())))


def banded_text(results: Results, quantity: str, time: float) -> str:
    """A value of the motion with its 90% band, or that it is not observable."""
    band, shown = band_lookup(results)(quantity, time), SHOWN[quantity]
    if band is None or not band.observable:
        return "not observable"
    low, high = shown.number(band.low90), shown.number(band.high90)
    return f"{shown.with_unit(shown.number(band.median))} (90%: {low} to {high})"
