"""Pictures of time and strength: who recovers by delay, how late, and the force it takes."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import (
    Findings,
    LatestAction,
    ProcedureRow,
    ResponseFindings,
    ResponseRow,
)
from neutralpoint.quantities import POUND_FORCE
from neutralpoint.report.figures.palette import DASHES
from neutralpoint.report.figures.studio.bars import bar, rows_of, spread
from neutralpoint.report.figures.studio.codes import answer_of, code_of
from neutralpoint.report.figures.studio.frame import ChartPlace, Picture
from neutralpoint.report.figures.studio.lettering import width_of
from neutralpoint.report.figures.studio.needs import limit_words, limits_of
from neutralpoint.report.results import Results, opened
from neutralpoint.report.words.acting import (
    COUNTED,
    NO_GUIDE,
    PAIRED,
    bar_said,
    begun,
    delay_of,
    delay_said,
    directions_said,
    flat,
    flat_reasons,
    height_said,
    recovered_words,
    recovery_title,
)
from neutralpoint.report.words.titles import holding_title, latest_title

HELD = (
    "In this model, without a band; points computed, dotted lines only join them. Each at the "
    "speed, path, height and trim of its moment in a flight with controls free, so that the "
    "force changes as they do. Holding the path is not recovering. Limits are of design, by rule."
)
SIGNS = "osD^"
CAUSES = 2  # of which recoveries are drawn
ROOM = 0.86  # of the width, for a label over a bar
WIDE = 1.3  # width over height from which two charts stand side by side
HEAD_ROOM = 1.3  # of the largest limit of force, so that its name has room over its line
CLOSEST = 0.12  # of the height of a chart, between two numbers beside it
DODGE = 0.012  # how far intervals stand apart, of the width


def draw_recovery(body: Picture) -> None:
    """Simulated pilots who recover: against the delay, or in bars where it made no difference."""
    found, rows = body.findings.response, shown_rows(body.findings)
    if found is None or not rows:
        return
    body.said += [NO_GUIDE, *filter(None, [delay_said(rows, found)])]
    body.title = recovery_title(rows, found, pilots_of(body.results, rows[0]))
    long, bars = body.form.key in ("wide", "tall"), all(flat(row, found) for row in rows)
    if bars:
        _bars(body, found, rows)
    else:
        rows = rows if _roomy(body) else rows[:1]
        _curves(body, found, rows)
    body.said += [*directions_said(rows), recovered_words(rows[0])]
    if long:
        reasons = [] if bars else [text for row in rows for text in flat_reasons(row, found)]
        body.said += [*reasons, *height_said(rows, found), PAIRED]


def shown_rows(findings: Findings) -> list[ResponseRow]:
    """The causes that stand before all others and were flown, at most two."""
    found = findings.response
    if found is None:
        return []
    shown = answer_of(findings)
    names = [cause for cause, _ in shown.flights]
    rows = [row for name in names for row in found.rows if row.cause.value == name]
    if not rows and shown.recovery is not None:
        rows = [row for row in found.rows if row.cause.title == shown.recovery.title]
    return rows[:CAUSES]


def _roomy(body: Picture) -> bool:
    """Whether there is room for two charts of curves."""
    return body.form.height > 1000 or body.form.width > WIDE * body.form.height


def _bars(body: Picture, found: ResponseFindings, rows: list[ResponseRow]) -> None:
    """A bar for each procedure of each cause, with its 95% interval."""
    pairs = [(row, one) for row in rows for one in begun(row, found)][: body.form.rows]
    counts = {row.cause: pilots_of(body.results, row) for row in rows}
    told = [bar_said(row, one, found, counts[row.cause]) for row, one in pairs]
    pixels = body.form.pixels(body.small)
    if not body.form.tall and max(width_of(one, pixels) for one in told) > ROOM * body.form.width:
        told = [bar_said(row, one, found, counts[row.cause], brief=True) for row, one in pairs]
        body.handles += [(Patch(facecolor=body.look.inks[code_of(body.findings, row.cause.value)]),
                          f"if it was {row.cause.spoken.split(' (')[0]}")
                         for row in rows]  # fmt: skip
    axes = rows_of(body, [(one, "") for one in told])
    for place, (row, one) in enumerate(pairs):
        share = one.by_delay[delay_of(found)]
        color = body.look.inks[code_of(body.findings, row.cause.value)]
        bar(axes, body, place, 100.0 * share.share, color)
        spread(axes, body, place, 100.0 * share.low95, 100.0 * share.high95)
    axes.set_xlim(0.0, 100.0)
    axes.xaxis.set_major_locator(FixedLocator([0, 25, 50, 75, 100]))
    axes.set_xlabel(f"recovered, %, first action after {found.delays[delay_of(found)]:.0f} s; "
                    f"line: {COUNTED}")  # fmt: skip
    body.places["recovery"] = ChartPlace(axes)


def _curves(body: Picture, found: ResponseFindings, rows: list[ResponseRow]) -> None:
    """A chart for each cause: recoveries against the delay, a curve for each procedure."""
    wide = body.form.width > WIDE * body.form.height
    shape = (1, len(rows)) if wide else (len(rows), 1)
    grid = body.sheet.subplots(*shape, sharex=True, sharey=True, squeeze=False).ravel()
    for axes, row in zip(grid, rows, strict=True):
        pilots = pilots_of(body.results, row)
        for number, one in enumerate(begun(row, found)[:4]):
            _curve(axes, body, found, one, number, idle=one.procedure == row.nothing)
        axes.set_ylim(0.0, 104.0)
        spare = 2.0 * DODGE * (found.delays[-1] - found.delays[0])
        axes.set_xlim(found.delays[0] - spare, found.delays[-1] + spare)
        count = "simulated pilots" if pilots is None else f"{pilots} simulated pilots"
        name = row.cause.title.split(" (")[0]
        axes.set_title(body.wrapped(f"{name}: recovered, % of {count}", 0.9 / shape[1]),
                       loc="left", fontsize=body.small)  # fmt: skip
        axes.yaxis.set_major_locator(FixedLocator([0, 25, 50, 75, 100]))
        axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
    grid[-1].set_xlabel("delay from recognition to the first action, s")
    names = list(dict.fromkeys(one.procedure for row in rows for one in begun(row, found)[:4]))
    idle = {row.nothing for row in rows}
    body.handles += [(Line2D([], [], **_style(body, k, idle=name in idle)), name)
                     for k, name in enumerate(names[:4])]  # fmt: skip
    body.handles.append((Line2D([], [], color=body.look.quiet, linewidth=body.look.line(1.0),
                                marker="_", markersize=body.look.line(4.0)), COUNTED))  # fmt: skip
    body.places["recovery"] = ChartPlace(grid[0])


def _curve(
    axes: Axes, body: Picture, found: ResponseFindings, one: ProcedureRow, number: int, *,
    idle: bool,
) -> None:  # fmt: skip
    shares = 100.0 * np.array([each.share for each in one.by_delay])
    axes.plot(found.delays, shares, clip_on=False, **_style(body, number, idle=idle))
    _interval(axes, body, found, one, number)


def _style(body: Picture, number: int, *, idle: bool) -> dict[str, Any]:
    """Of a procedure; where nothing is begun, a level to compare with and no curve."""
    look = body.look
    return {
        "color": _tone(body, number), "dashes": DASHES[number] or (None, None),
        "linewidth": look.line(1.6), "marker": "" if idle else SIGNS[number],
        "markersize": look.line(3.0),
    }  # fmt: skip


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
    if rows:
        cause, procedure, latest = rows[0]
        body.title = latest_title(cause.lower(), procedure, latest[1], longest)
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
    limits = sorted({force for _, force, _ in limits_of(body.findings)} | {found.short_term})
    axes = body.sheet.subplots()
    for number, row in enumerate(rows[:4]):
        held = row.holding.rows if row.holding else []
        style = {
            "color": look.inks[code_of(body.findings, row.cause.value)], "dashes": (1, 2),
            "linewidth": look.line(0.9), "marker": SIGNS[number], "markersize": look.line(4.5),
        }  # fmt: skip
        axes.plot([h.time for h in held], [h.pull / POUND_FORCE for h in held], **style)
        body.handles.append((Line2D([], [], **style), row.cause.title.split(" (")[0].lower()))
    for at in [sign * force / POUND_FORCE for force in limits for sign in (-1.0, 1.0)]:
        axes.axhline(at, color=look.quiet, linewidth=look.line(0.8), dashes=(9, 3, 2, 3))
    pulls = [h.pull for row in rows if row.holding for h in row.holding.rows]
    free = -1.0 if max(pulls, key=abs) > 0.0 else 1.0  # where no curve lies
    for name, force, _ in limits_of(body.findings):
        axes.annotate(name, (0.99, free * force / POUND_FORCE), va="bottom", ha="right",
                      xycoords=("axes fraction", "data"), xytext=(0.0, look.line(1.5)),
                      textcoords="offset points", color=look.ink, fontsize=body.small)  # fmt: skip
    ends = [sign * force / POUND_FORCE for force in limits for sign in (-1.0, 1.0)]
    axes.set_ylim(HEAD_ROOM * min(*ends, axes.get_ylim()[0] / HEAD_ROOM),
                  HEAD_ROOM * max(*ends, axes.get_ylim()[1] / HEAD_ROOM))  # fmt: skip
    apart = CLOSEST * float(np.ptp(axes.get_ylim()))  # limits nearer to 0 are named at their lines
    axes.yaxis.set_major_locator(FixedLocator([0.0, *(end for end in ends if abs(end) > apart)]))
    axes.set_xlabel("s after the fault began")
    axes.set_title("column pull, lb (push negative)", loc="left", fontsize=body.small)
    axes.yaxis.set_major_formatter(FuncFormatter(lambda y, _: f"{y:.0f}".replace("-", "\u2212")))
    limited = Line2D([], [], color=look.quiet, linewidth=look.line(0.8), dashes=(9, 3, 2, 3))
    body.handles.append((limited, limit_words(body.findings, brief=True)))
    leader = max(rows, key=_largest_hold)
    body.title = holding_title(leader.cause.spoken.split(" (")[0], pulls)
    body.said.append(HELD)
    body.places["holding"] = ChartPlace(axes)


def _largest_hold(row: ResponseRow) -> float:
    """The largest column force that holding level takes with a cause, N."""
    return max((abs(h.pull) for h in row.holding.rows), default=0.0) if row.holding else 0.0
