"""Pictures of time and strength: who recovers by delay, how late, and the force it takes."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import LatestAction, ProcedureRow, ResponseFindings, ResponseRow
from neutralpoint.quantities import POUND_FORCE
from neutralpoint.report.figures.palette import DASHES
from neutralpoint.report.figures.studio.codes import answer_of
from neutralpoint.report.figures.studio.frame import HANDLE, ChartPlace, Picture
from neutralpoint.report.figures.studio.lettering import width_of
from neutralpoint.report.results import Results, opened
from neutralpoint.report.words.acting import (
    COUNTED,
    PAIRED,
    count_of,
    direction_words,
    flat_reasons,
    recovered_words,
)

SIGNS = "osD^"
ROW_SHARE = 0.94  # of the width, for a row of the legend
DODGE = 0.012  # how far intervals stand apart, of the width


def draw_recovery(body: Picture) -> None:
    """Simulated pilots who recover against the delay of the first action, with their number."""
    look, shown = body.look, answer_of(body.findings).recovery
    found = body.findings.response
    row = None if shown is None or found is None else _row(found, shown.title)
    if found is None or row is None:
        return
    pilots = pilots_of(body.results, row)
    axes = body.sheet.subplots()
    flown = [one for one in row.procedures if len(one.by_delay) == len(found.delays)]
    for number, one in enumerate(flown[:4]):
        idle = one.procedure == row.nothing  # nothing is begun: a level to compare with, no curve
        style = {
            "color": _tone(body, number), "dashes": DASHES[number] or (None, None),
            "linewidth": look.line(1.6), "marker": "" if idle else SIGNS[number],
            "markersize": look.line(3.0),
        }  # fmt: skip
        shares = 100.0 * np.array([each.share for each in one.by_delay])
        axes.plot(found.delays, shares, clip_on=False, **style)
        _interval(axes, body, found, one, number)
        told = _narrowed(body, count_of(one, row, found, pilots))
        body.handles.append((Line2D([], [], **style), told))
    body.handles.append((Line2D([], [], color=look.quiet, linewidth=look.line(1.0), marker="_",
                                markersize=look.line(4.0)), COUNTED))  # fmt: skip
    axes.set_ylim(0.0, 104.0)
    spare = 2.0 * DODGE * (found.delays[-1] - found.delays[0])
    axes.set_xlim(found.delays[0] - spare, found.delays[-1] + spare)
    axes.set_xlabel("delay from recognition to the first action, s")
    count = "simulated pilots" if pilots is None else f"{pilots} simulated pilots"
    axes.set_title(f"recovered, % of {count}", loc="left", fontsize=body.small)
    axes.yaxis.set_major_locator(FixedLocator([0, 25, 50, 75, 100]))
    axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
    body.said += [
        f"If it was: {row.cause.title.split(' (')[0].lower()}. {direction_words(row)}",
        recovered_words(row),
        *flat_reasons(row, found)[: None if body.form.key in ("wide", "tall") else 1],
    ]
    if body.form.key in ("wide", "tall"):
        body.said.append(PAIRED)
    body.places["recovery"] = ChartPlace(axes)


def _narrowed(body: Picture, told: str) -> str:
    """What a legend says, shorter where a row of it has no room; its numbers are never cut."""
    pixels = body.form.pixels(body.small)
    room = ROW_SHARE * body.form.width - HANDLE * pixels
    return told.replace(" (nothing else is begun)", "") if width_of(told, pixels) > room else told


def _row(found: ResponseFindings, title: str) -> ResponseRow | None:
    return next((row for row in found.rows if row.cause.title == title), None)


def pilots_of(results: Results, row: ResponseRow) -> int | None:
    """How many pilots were flown at each delay; None where the file does not say."""
    found = results.findings.response
    path = None if found is None else results.folder / found.file
    if path is None or not path.is_file():
        return None
    try:
        with opened(path, group=row.cause.value) as data:
            return int(data["saved_over_height_low"].attrs["pilots"])
    except (KeyError, NeutralPointError):  # made before the number was kept
        return None


def _tone(body: Picture, number: int) -> str:
    """Colors of actions are none of those of causes and data."""
    look = body.look
    return (look.ink, look.event, look.caution, look.quiet)[number % 4]


def _interval(
    axes: Axes, body: Picture, found: ResponseFindings, one: ProcedureRow, number: int
) -> None:
    """The 95% interval at every delay, beside those of the others."""
    look, span = body.look, found.delays[-1] - found.delays[0]
    for at, share in zip(found.delays, one.by_delay, strict=True):
        x = at + DODGE * (number - 1.0) * span
        axes.plot([x] * 2, [100.0 * share.low95, 100.0 * share.high95], marker="_",
                  color=_tone(body, number), markersize=look.line(3.0),
                  linewidth=look.line(0.9))  # fmt: skip


def draw_latest(body: Picture) -> None:
    """Latest effective action of 5, 50 and 95% of simulated pilots, by cause."""
    look, found = body.look, body.findings.response
    if found is None:
        return
    rows = latest_rows(found)[: body.form.rows]
    axes = body.sheet.subplots()
    axes.set_ylim(len(rows) - 0.6, -1.0)
    axes.set_yticks([])
    axes.grid(visible=False, axis="y")
    longest = found.longest
    for place, (title, procedure, latest) in enumerate(rows):
        ends = [_number(one, longest) for one in latest]
        axes.annotate(
            body.wrapped(f"{title}: {procedure}", 0.88), (0.0, place - 0.16),
            xycoords=("axes fraction", "data"), va="bottom", fontsize=body.small,
        )  # fmt: skip
        axes.plot([ends[0], ends[2]], [place, place], color=look.inks[0],
                  linewidth=look.line(2.4), solid_capstyle="butt")  # fmt: skip
        for end, one in zip(ends, latest, strict=True):
            sign = {"known": "|", "later-than-tested": ">"}.get(one.end, "x")
            axes.plot(end, place, sign, color=look.ink, markersize=look.line(5.0),
                      markeredgewidth=look.line(1.2))  # fmt: skip
    axes.set_xlim(-0.04 * longest, 1.04 * longest)
    axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
    axes.set_xlabel("s after the fault began")
    body.handles += [
        (Line2D([], [], color=look.inks[0], linewidth=look.line(2.4), marker="|",
                markersize=look.line(5.0)), "5th, 50th and 95th percentile"),
        (Line2D([], [], color=look.ink, marker="x", linestyle="none",
                markersize=look.line(4.0)), "not recoverable even with immediate action"),
        (Line2D([], [], color=look.ink, marker=">", linestyle="none",
                markersize=look.line(4.0)), f"later than {longest:.0f} s"),
    ]  # fmt: skip
    body.places["latest"] = ChartPlace(axes)


def latest_rows(found: ResponseFindings) -> list[tuple[str, str, list[LatestAction]]]:
    """The procedure that saves most of each cause, with its latest effective action."""
    rows = []
    for row in found.rows:
        usable = [p for p in row.procedures if len(p.latest) == 3]
        if usable:
            best = max(usable, key=lambda p: p.saved.share)
            rows.append((row.cause.title.split(" (")[0], best.procedure, best.latest))
    return rows


def _number(action: LatestAction, longest: float) -> float:
    if action.time is not None:
        return action.time
    return longest if action.end == "later-than-tested" else 0.0


def draw_holding(body: Picture) -> None:
    """Column force that holding level flight takes against time, with the limit of rules."""
    look, found = body.look, body.findings.response
    rows = [] if found is None else [row for row in found.rows if row.holding]
    if found is None or not rows:
        return
    axes = body.sheet.subplots()
    for number, row in enumerate(rows[:4]):
        held = row.holding.rows if row.holding else []
        style = {
            "color": look.inks[number], "dashes": DASHES[number] or (None, None),
            "linewidth": look.line(1.6), "marker": SIGNS[number], "markersize": look.line(3.0),
        }  # fmt: skip
        axes.plot([h.time for h in held], [h.pull / POUND_FORCE for h in held], **style)
        body.handles.append((Line2D([], [], **style), row.cause.title.split(" (")[0].lower()))
    limit = found.short_term / POUND_FORCE
    for sign in (-1.0, 1.0):
        axes.axhline(sign * limit, color=look.limit, linewidth=look.line(1.4),
                     dashes=(9, 3, 2, 3))  # fmt: skip
    axes.set_xlabel("s after the fault began")
    axes.set_title("column pull, lb (push negative)", loc="left", fontsize=body.small)
    axes.yaxis.set_major_formatter(FuncFormatter(lambda y, _: f"{y:.0f}".replace("-", "\u2212")))
    limited = Line2D([], [], color=look.limit, linewidth=look.line(1.4), dashes=(9, 3, 2, 3))
    body.handles.append((limited, f"short-term limit of rules, two hands, {limit:.0f} lb"))
    body.places["holding"] = ChartPlace(axes)
