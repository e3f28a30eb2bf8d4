"""Pictures of the flight: strip charts, the path from above and from the side, events, loads."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from neutralpoint.findings import PanelRequest
from neutralpoint.report.figures.compose import compose_figure, compose_stage
from neutralpoint.report.figures.display import clock
from neutralpoint.report.figures.draw_matplotlib import (
    LIMIT,
    draw_panel,
    draw_path,
    round_ticks,
    tick,
    under_marks,
)
from neutralpoint.report.figures.figure import Mark, Panel, Strips
from neutralpoint.report.figures.studio.frame import ChartPlace, Picture
from neutralpoint.report.figures.studio.lettering import shortened, wrapped
from neutralpoint.report.words.needs import axis_words, curve_said
from neutralpoint.report.words.titles import (
    extremes_title,
    flight_title,
    plan_title,
    profile_title,
    timeline_title,
)

TIMES = 900
FEW_TICKS = {"wide": 8, "tall": 4, "square": 4, "column": 4}
BEFORE = 25.0  # s shown before the earliest onset; analyst's
COMPUTED = ", computed"  # in the title of a chart without readings
# By unit, what a chart spans at least: else a ripple looks like an event; analyst's.
LEAST_RANGE = {"ft": 1000.0, "kt": 40.0, "ft/min": 2000.0, "\u00b0": 20.0, "g": 1.0}
ROUND = (9, 4)  # round values along a chart that stands alone; on a square picture
NARROW = ("square", "column")  # forms without room for a second unit
AMONG_OTHERS = (3, 2)  # the same along one of several charts
MOST_MARKS = 4  # events whose words have room over a chart
MARK_ROOM = 0.22  # of the height of a chart, over its curves
WHOLE = {"in": "inches"}  # units that would read as a word
DERIVED = "Charts without rings: computed from track and weather, not recorded."
LABEL_ROOM = {"square": 0.13}  # of the height of a chart, from one label of a limit to the next
TITLE_ROOM = 0.86  # of the width, for the title of a chart


def draw_flight(body: Picture, names: tuple[str, ...]) -> None:
    """Strip charts of the motion.

    Args:
        body: Where to.
        names: Variables, the most telling first; as many as fit are drawn.
    """
    whole = len(names) == 1
    if not whole and body.within is None:
        _about_onset(body)
    strips = compose_figure(body.results, limit=TIMES, within=_within(body)).strips
    by_key = {panel.key: panel for panel in strips.panels}
    panels = [by_key[name] for name in names if name in by_key][: body.form.panels]
    draw_strips(body, replace(strips, panels=tuple(panels)))
    shade_onset(body, strips)
    if not whole:
        body.title = flight_title(body.findings)


def shade_onset(body: Picture, strips: Strips) -> None:
    """Where the onset lies with 90%, in the gray of every picture.

    Args:
        body: With its charts drawn.
        strips: For the clock.
    """
    motion, look = body.findings.motion, body.look
    found = None if motion is None else motion.onset
    if found is None or not found.found:
        return
    zero = float(body.results.time[0]) + _offset(body, strips)
    ends = found.left[0] - zero, found.left[-1] - zero
    for axes in {id(place.axes): place.axes for place in body.places.values()}.values():
        axes.axvspan(*ends, color=look.onset, linewidth=0, zorder=0)
    body.handles.append((Patch(facecolor=look.onset, edgecolor=look.quiet), "onset, 90%"))


def _about_onset(body: Picture) -> None:
    """From shortly before the onset on, where one was found, so that it is not lost in hours."""
    motion = body.findings.motion
    found = None if motion is None else motion.onset
    if found is None or not found.found:
        return
    zero = float(body.results.time[0])
    last = float(body.results.time[-1]) - zero if body.last is None else body.last
    first = found.left[0] - BEFORE - zero
    if 0.0 < first < last - BEFORE:
        body.within = (first, last)
        body.said.append(f"From {BEFORE:.0f} s before the onset on; the report has the whole.")


def draw_stage_panels(body: Picture, requests: list[PanelRequest]) -> None:
    """Strip charts that a later stage asks for."""
    strips = compose_stage(body.results, requests, limit=TIMES)
    draw_strips(body, strips)
    if requests[0].variable.startswith("needed_"):
        body.title += " (computed, not recorded)"
    if body.form.key in ("wide", "tall"):
        body.said += curve_said(requests[0].variable, body.findings)


def draw_strips(body: Picture, strips: Strips) -> None:
    """Strip charts over one clock.

    Args:
        body: Where to.
        strips: As composed; each chart is scaled to what is shown.
    """
    offset = _offset(body, strips)
    span = _span(body, strips, offset)
    rows = body.sheet.subplots(len(strips.panels), 1, sharex=True, squeeze=False)[:, 0]
    for axes, panel in zip(rows, strips.panels, strict=True):
        shown = under_marks(_fitted(panel, strips, span), strips, span, MARK_ROOM)
        width = TITLE_ROOM * body.form.width
        size = body.form.pixels(body.look.points(8.0))
        levels = shown.levels
        title = panel.title if panel.readings is not None else f"{panel.title}{COMPUTED}"
        shown = replace(shown, title=shortened(title, width, size), levels=())
        if levels or body.form.key in NARROW:
            shown = replace(shown, axis=replace(shown.axis, second_unit=""))
        draw_panel(axes, shown, strips, body.look)
        draw_levels(axes, replace(shown, levels=levels), body)
        axes.set_xlim(*span)
        if len(strips.panels) == 1:  # the picture has its title
            axes.set_title(_unit_words(panel), loc="left", fontsize=body.look.points(8.0),
                           pad=body.look.line(2.0))  # fmt: skip
            axes.yaxis.set_major_locator(
                MaxNLocator(ROUND[body.form.key == "square"], steps=[1, 2, 2.5, 5, 10])
            )
        if len(strips.panels) > 1 and not body.form.tall:
            few = AMONG_OTHERS[body.form.key == "square"]
            axes.yaxis.set_major_locator(MaxNLocator(few, steps=[1, 2, 2.5, 5, 10]))
        body.places[panel.key] = ChartPlace(
            axes, offset + float(body.results.time[0]), panel.key,
            (strips.time, panel.bands[0].quantiles[2]),
        )  # fmt: skip
    if len(strips.panels) == 1:
        panel, inside = strips.panels[0], (strips.time >= span[0]) & (strips.time <= span[1])
        median = panel.bands[0].quantiles[2][inside]
        body.title = extremes_title(panel.title, panel.axis, strips.time[inside] + strips.start,
                                    median)  # fmt: skip
    clock_axis(body, rows[-1], strips, span, named=any(p.levels for p in strips.panels))
    _band_legend(body, strips, span)


def _span(body: Picture, strips: Strips, offset: float) -> tuple[float, float]:
    """First and last moment of the charts, s after their zero: as asked, else without the end."""
    first, last = float(strips.time[0]), float(strips.time[-1])
    if body.within is not None:
        return body.within[0] - offset, body.within[1] - offset
    if body.last is not None and first < body.last - offset:
        last = min(last, body.last - offset)
    return first, last


def _unit_words(panel: Panel) -> str:
    """The unit of a chart that stands alone, with its sign."""
    unit = panel.axis.unit and f"in {WHOLE.get(panel.axis.unit, panel.axis.unit)}"
    signs = axis_words(panel.key.partition("_")[2])
    return "; ".join(part for part in (unit, signs) if part)


def draw_levels(axes: Axes, panel: Panel, body: Picture) -> None:
    """Limits with their values, named in the right margin so that no label lies on a curve.

    Args:
        axes: Where to.
        panel: With its levels.
        body: The picture.
    """
    low, high, look = panel.axis.low, panel.axis.high, body.look
    levels = sorted(
        (one for one in panel.levels if low < one.value < high), key=lambda one: one.value
    )
    height, last = LABEL_ROOM.get(body.form.key, 0.075) * (high - low), -np.inf
    for level in levels:
        axes.axhline(level.value, color=look.quiet, linewidth=look.line(0.8), dashes=(9, 3, 2, 3),
                     gid=LIMIT)  # fmt: skip
        text = f"{tick(round(level.value, panel.axis.decimals))} {level.label}"
        last = max(level.value, last + height)
        axes.annotate(
            text, (1.0, level.value), xytext=(1.012, last), xycoords=("axes fraction", "data"),
            textcoords=("axes fraction", "data"), ha="left", va="center", color=look.ink,
            fontsize=look.least or look.points(6.5), gid=LIMIT, annotation_clip=False,
        )  # fmt: skip


def clock_axis(
    body: Picture, axes: Axes, strips: Strips, span: tuple[float, float], *, named: bool = False
) -> None:
    """Round moments of the clock under a chart, few enough to be read.

    Args:
        body: The picture.
        axes: The lowest chart.
        strips: For the clock.
        span: First and last moment shown, on the clock of the strips.
        named: Whether names of limits beside the charts leave them less width.
    """
    ticks = round_ticks(span[0] + strips.start, span[1] + strips.start)
    few = FEW_TICKS[body.form.key]
    step = -(-len(ticks) // (few - 1 - few // 4 if named else few))
    axes.xaxis.set_major_locator(FixedLocator((ticks[:: max(step, 1)] - strips.start).tolist()))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda x, _: clock(x + strips.start)))
    axes.set_xlabel("UTC")


def _within(body: Picture) -> tuple[float, float]:
    return body.stretch or (-np.inf, np.inf)


def _offset(body: Picture, strips: Strips) -> float:
    """Zero of the strips, s after the first moment of the motion."""
    epoch = body.findings.epoch
    midnight = epoch.hour * 3600.0 + epoch.minute * 60.0 + epoch.second + epoch.microsecond * 1e-6
    return strips.start - midnight - float(body.results.time[0])


def _fitted(panel: Panel, strips: Strips, span: tuple[float, float]) -> Panel:
    """The chart on the scale of what is shown of it."""
    inside = (strips.time >= span[0]) & (strips.time <= span[1])
    values = panel.bands[0].quantiles[:, inside]
    values = values[np.isfinite(values)]
    if not values.size:
        return panel
    limits = [level.value for level in panel.levels]
    low, high = min([values.min(), *limits]), max([values.max(), *limits])
    spare = (
        max(0.08 * (high - low), (LEAST_RANGE.get(panel.axis.unit, 0.0) - high + low) / 2.0) or 1.0
    )
    return replace(panel, axis=replace(panel.axis, low=low - spare, high=high + spare))


def _band_legend(body: Picture, strips: Strips, span: tuple[float, float]) -> None:
    look = body.look
    body.handles += [
        (Line2D([], [], color=look.inks[0], linewidth=look.line(1.2)), "median"),
        (Patch(facecolor=look.band_50, linewidth=0), "50% band"),
        (Patch(facecolor=look.band_90, edgecolor=look.edge), "90% band"),
    ]
    read = [panel.readings for panel in strips.panels if panel.readings is not None]
    if read:
        body.handles.append((_ring(body), "as received"))
    if any((one.suspect != 0).any() for one in read):
        body.handles.append((_cross(body), "set aside as an error"))
    if read and len(read) < len(strips.panels) and body.form.key in ("wide", "tall"):
        body.said.append(DERIVED)
    if any(panel.shades for panel in strips.panels):
        gone = Patch(facecolor="none", edgecolor=look.hatch, hatch="////", linewidth=0)
        body.handles.append((gone, "not observable"))
    _mark_handles(body, [m for m in strips.marks if span[0] <= m.time <= span[1]], strips.start)


def _mark_handles(body: Picture, marks: list[Mark], start: float) -> None:
    """What the numbers on a chart stand for, each with the error of its time."""
    width = 0.9 * body.form.width
    for mark in marks[:MOST_MARKS]:
        when = clock(mark.time + start)
        text = f"{when} \u00b1 {mark.half_width:.0f} s (95%): {mark.text}"
        text = shortened(text, width, body.form.pixels(body.small))
        body.handles.append((_number(body, mark.number), text))


def _ring(body: Picture) -> Line2D:
    look = body.look
    return Line2D(
        [], [], marker="o", linestyle="none", markersize=look.line(2.4), markerfacecolor="none",
        markeredgecolor=look.ink, markeredgewidth=look.line(0.5),
    )  # fmt: skip


def _cross(body: Picture) -> Line2D:
    look = body.look
    return Line2D([], [], marker="x", linestyle="none", markersize=look.line(2.4),
                  markeredgecolor=look.ink, markeredgewidth=look.line(0.5))  # fmt: skip


def _number(body: Picture, number: int) -> Line2D:
    """The number of an event as its marks bear it."""
    return Line2D(
        [], [], marker=f"${number}$", linestyle="none", color=body.look.event,
        markersize=body.look.points(6.0) * 0.8,
    )  # fmt: skip


def draw_view(body: Picture, key: str) -> None:
    """The path from above (`plan`) or from the side (`profile`)."""
    figure = compose_figure(body.results, limit=TIMES, within=_within(body))
    view = next(view for view in figure.views if view.key == key)
    within = body.stretch
    if within:
        inside = (figure.strips.time >= within[0]) & (figure.strips.time <= within[1])
        read = (view.reading_time >= within[0]) & (view.reading_time <= within[1])
        view = replace(
            view, x=view.x[inside], y=view.y[inside], sample_x=view.sample_x[:, inside],
            sample_y=view.sample_y[:, inside], reading_time=view.reading_time[read],
            reading_x=view.reading_x[read], reading_y=view.reading_y[read],
        )  # fmt: skip
        strips = replace(figure.strips, time=figure.strips.time[inside], marks=tuple(
            m for m in figure.strips.marks if within[0] <= m.time <= within[1]
        ))  # fmt: skip
    else:
        strips = figure.strips
    axes = body.sheet.subplots()
    draw_path(axes, view, strips, body.look)
    if key == "profile":
        body.title = profile_title(strips.time + strips.start, view.y)
    else:
        body.title = plan_title(view.x, view.y, _course(body, strips))
    axes.set_title("", loc="left")
    axes.margins(0.12)
    look = body.look
    body.handles += [
        (Line2D([], [], color=look.inks[0], linewidth=look.line(1.4)), "median path"),
        (Line2D([], [], color=look.band_50, linewidth=look.line(1.0)), "sample paths"),
    ]
    if len(view.reading_x):
        body.handles.append((_ring(body), "as received"))
    _mark_handles(body, list(strips.marks), strips.start)
    body.places[key] = ChartPlace(axes)


def _course(body: Picture, strips: Strips) -> np.ndarray | None:
    """Track over the ground at the times of the strips, rad."""
    band = body.results.bands.get("track_angle")
    if band is None:
        return None
    time = body.results.time - float(body.results.time[0])
    return np.interp(strips.time, time, np.unwrap(band[2]))


def draw_timeline(body: Picture) -> None:
    """Events on the corrected clock, a bar for the 95% band of each."""
    look, events = body.look, list(enumerate(body.findings.events, start=1))
    axes = body.sheet.subplots()
    low = min(event.time - event.half_width for _, event in events)
    high = max(event.time + event.half_width for _, event in events)
    spare = max(0.12 * (high - low), 10.0)
    for row, (number, event) in enumerate(events):
        axes.plot(
            [event.time - event.half_width, event.time + event.half_width], [row, row],
            color=look.event, alpha=0.4, linewidth=look.line(5.0), solid_capstyle="butt",
        )  # fmt: skip
        axes.plot(event.time, row, "o", color=look.event, markersize=look.line(3.0))
        text = f"{number}  {event.kind}: {event.text}"
        axes.annotate(
            "\n".join(wrapped(text, 0.84 * body.form.width, body.form.pixels(body.small))),
            (0.01, row), xycoords=("axes fraction", "data"),
            xytext=(0.0, look.line(5.0)), textcoords="offset points", va="bottom",
        )  # fmt: skip
    epoch = body.findings.epoch
    midnight = epoch.hour * 3600.0 + epoch.minute * 60.0 + epoch.second
    axes.set_xlim(low - spare, high + spare)
    axes.set_ylim(len(events) - 0.5, -0.8)
    axes.set_yticks([])
    ticks = round_ticks(low - spare + midnight, high + spare + midnight)
    step = -(-len(ticks) // FEW_TICKS[body.form.key])
    axes.xaxis.set_major_locator(FixedLocator((ticks[::step] - midnight).tolist()))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda x, _: clock(x + midnight)))
    axes.set_xlabel("UTC on the corrected clock")
    body.title = timeline_title(body.findings, body.findings.events)
    body.places["timeline"] = ChartPlace(axes, 0.0)
