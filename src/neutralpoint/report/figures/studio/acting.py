"""Pictures of time and strength: who recovers by delay, how late, and the force it takes."""

from __future__ import annotations

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from neutralpoint.findings import LatestAction, ResponseFindings
from neutralpoint.quantities import POUND_FORCE
from neutralpoint.report.figures.palette import DASHES
from neutralpoint.report.figures.studio.causes import answer_of
from neutralpoint.report.figures.studio.frame import ChartPlace, Picture

SIGNS = "osD^"


def draw_recovery(body: Picture) -> None:
    """Share of simulated pilots that recovers against the delay of the first action."""
    look, found = body.look, answer_of(body.findings).recovery
    if found is None:
        return
    axes = body.sheet.subplots()
    for number, (procedure, shares) in enumerate(list(found.shares.items())[:4]):
        style = {
            "color": look.inks[number], "dashes": DASHES[number] or (None, None),
            "linewidth": look.line(1.6), "marker": SIGNS[number], "markersize": look.line(3.0),
        }  # fmt: skip
        axes.plot(found.delays, 100.0 * np.array(shares), clip_on=False, **style)
        body.handles.append((Line2D([], [], **style), procedure))
    axes.set_ylim(0.0, 104.0)
    axes.set_xlim(found.delays[0], found.delays[-1])
    axes.set_xlabel("delay from recognition to the first action, s")
    axes.set_title("recover, % of simulated pilots", loc="left", fontsize=body.small)
    axes.yaxis.set_major_locator(FixedLocator([0, 25, 50, 75, 100]))
    axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
    body.said.append(f"If it was: {found.title.split(' (')[0].lower()}.")
    body.places["recovery"] = ChartPlace(axes)


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
