"""Pictures of the odds: probability of each cause with its range, and what it hangs on."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FixedLocator

from neutralpoint.findings import OddsRow, SwayEnd, WeighingFindings
from neutralpoint.report.figures.studio.bars import BAR, Label, bar, rows_of, spread
from neutralpoint.report.figures.studio.codes import answer_of, code_of
from neutralpoint.report.figures.studio.frame import ChartPlace, Picture
from neutralpoint.report.sheet.sheet import CauseLine, Sway, SwayLine
from neutralpoint.report.words.ranges import (
    ASSUMED,
    ESTIMATES,
    NO_INTERVAL,
    has_wide,
    leads_said,
    lesser_said,
    others_said,
    prior_said,
    range_said,
    ranged,
    rest_of,
    rest_said,
    rows_shown,
    tipping,
    turned_ends,
    turned_said,
    wide_of,
)
from neutralpoint.report.words.sheet import sway_line
from neutralpoint.vocabulary import CauseName

QUARTERS = (0.0, 0.25, 0.5, 0.75, 1.0)
STANDS_FOR = {
    CauseName.UNLISTED: "any cause that is not listed",
    CauseName.NO_FAILURE: "airplane working, flown by hand or in rough air",
}
END = 0.02  # of the scale, hatched at an end where another cause leads; analyst's
NOT_TOLD = 0.005  # least change that is printed; analyst's


def draw_odds(body: Picture) -> None:
    """Probability of each cause with its range and what is said of it; the others together."""
    look, found = body.look, body.findings.weighing
    if found is None:
        return
    words = {line.cause: line for line in answer_of(body.findings).rows}
    rows = rows_shown(found)
    labels = [_label(row, words.get(row.cause.value)) for row in rows]
    rest = rest_of(found, tuple(row.cause for row in rows))
    axes = rows_of(body, [*labels, _rest_label(found, rows, rest)])
    for place, row in enumerate(rows):
        color = look.inks[code_of(body.findings, row.cause.value)]
        strong = row.cause.value in [name for name, _ in answer_of(body.findings).flights]
        bar(axes, body, place, row.probability, color if strong else look.band_50)
        spread(axes, body, place, *wide_of(row))
        _before(axes, body, place, row.prior)
    bar(axes, body, len(rows), rest[0], look.band_50)
    spread(axes, body, len(rows), *rest[1:])
    _before(axes, body, len(rows), 1.0 - sum(row.prior for row in rows))
    axes.set_xlim(0.0, 1.0)
    axes.xaxis.set_major_locator(FixedLocator(QUARTERS))
    among = " among the causes listed and one unlisted" if body.form.key == "wide" else ""
    below = [f"probability{among} (range: {NO_INTERVAL})", answer_of(body.findings).unweighed]
    axes.set_xlabel("\n".join(filter(None, below)))
    _legend(body, found)
    told = [prior_said(found), turned_said(found), range_said(found)]
    told = told if body.form.key in ("wide", "tall") else told[:1]
    body.said += [text for text in told if text]
    body.places["odds"] = ChartPlace(axes)


def _label(row: OddsRow, line: CauseLine | None) -> Label:
    word = "" if line is None else line.word.text
    word = STANDS_FOR.get(row.cause, word)
    title = row.cause.title.split(" (")[0]
    return f"{title}: {ranged(row.probability, *wide_of(row))}", word


def _rest_label(
    found: WeighingFindings, rows: list[OddsRow], rest: tuple[float, float, float]
) -> Label:
    """The others in one row."""
    count, each = others_said(found, rows)
    return f"{count}: {ranged(*rest)}", each


def _before(axes: Axes, body: Picture, place: float, prior: float) -> None:
    """The prior, under the bar so that no fill hides it."""
    look = body.look
    axes.plot(max(prior, 0.0), place + 0.5 * BAR + 0.02, marker="^", color=look.ground,
              markeredgecolor=look.ink, markeredgewidth=look.line(0.9),
              markersize=look.line(4.0), linestyle="none", clip_on=False)  # fmt: skip


def _legend(body: Picture, found: WeighingFindings) -> None:
    look = body.look
    wide = f"range: {ASSUMED}" if has_wide(found) else ESTIMATES
    body.handles += [
        (Patch(facecolor=look.band_50, edgecolor=look.edge), "bar: as weighed"),
        (Line2D([], [], color=look.ink, linewidth=look.line(1.5), marker="|",
                markersize=look.line(5.0), markeredgewidth=look.line(1.5)), wide),
        (Line2D([], [], color=look.ground, marker="^", markeredgecolor=look.ink,
                linestyle="none", markersize=look.line(4.0),
                markeredgewidth=look.line(0.9)), "prior: before the track was used"),
    ]  # fmt: skip


def draw_mechanisms(body: Picture) -> None:
    """Probability summed over the causes of one mechanism."""
    found = body.findings.weighing
    rows = [] if found is None else sorted(found.mechanisms, key=lambda row: -row.probability)
    rows = rows[: body.form.rows]
    spans = [] if found is None else [_summed(found, row.causes) for row in rows]
    labels = [(f"{row.mechanism.title}: {ranged(row.probability, *span)}", "")
              for row, span in zip(rows, spans, strict=True)]  # fmt: skip
    axes = rows_of(body, labels)
    for place, (row, span) in enumerate(zip(rows, spans, strict=True)):
        bar(axes, body, place, row.probability, body.look.band_50)
        spread(axes, body, place, *span)
    axes.set_xlim(0.0, 1.0)
    axes.xaxis.set_major_locator(FixedLocator(QUARTERS))
    axes.set_xlabel("probability, summed over causes")
    if found is not None:
        body.said.append(range_said(found))
        told = ranged(rows[0].probability, *spans[0]).split(",")[0]
        body.title = f"{rows[0].mechanism.title}: probability {told}"
    body.places["mechanisms"] = ChartPlace(axes)


def _summed(found: WeighingFindings, causes: list[CauseName]) -> tuple[float, float]:
    """Range of a sum over the assumptions; that of the trained estimates where none was kept."""
    others = tuple(row.cause for row in found.rows if row.cause not in causes)
    if any(end.odds for sway in found.sways for end in sway.ends):
        return rest_of(found, others)[1:]
    row = next(one for one in found.mechanisms if one.causes == causes)
    return row.lowest, row.highest


def draw_sway(body: Picture) -> None:
    """How far the probability of the leader hangs on each assumption."""
    look, sway = body.look, answer_of(body.findings).sway
    found = body.findings.weighing
    every = [] if sway is None or found is None else [
        sway_line(row, found.rows[0].cause, found.rows[0].probability) for row in found.sways
    ]  # fmt: skip
    moving = [k for k, one in enumerate(every) if one.turns or one.high - one.low >= NOT_TOLD]
    places = (moving or list(range(len(every))))[: body.form.rows]
    lines = [every[k] for k in places]
    narrow = body.form.key != "wide" and not body.form.tall
    titles = [line.title.partition(", ")[0] if narrow else line.title for line in lines]
    told = [f"{title}: {_moved(line)}" for title, line in zip(titles, lines, strict=True)]
    if found is not None and not narrow:
        told = [f"{text}{leads_said(found, k)}" for k, text in zip(places, told, strict=True)]
        body.said += [*rest_said(found, len(lines)), *filter(None, [lesser_said(found)])]
    axes = rows_of(body, [(text, "") for text in told])
    for place, (k, line) in enumerate(zip(places, lines, strict=True)):
        axes.barh(
            place, max(line.high - line.low, 0.004), left=line.low, height=BAR, color=look.band_50,
            edgecolor=look.edge, linewidth=look.line(1.0),
        )  # fmt: skip
        if found is not None:
            for end in turned_ends(found, k):
                _turned(axes, body, place, end, line, tipping(found, k, end))
    if sway is not None:
        _stands(body, axes, sway, lines)
    axes.set_xlim(0.0, 1.0)
    axes.xaxis.set_major_locator(FixedLocator(QUARTERS))
    body.places["sways"] = ChartPlace(axes)


def _turned(
    axes: Axes, body: Picture, place: int, end: SwayEnd, line: SwayLine, tip: float | None
) -> None:
    """Hatched where another cause leads: as far as that is known, else the end alone."""
    at, width = end.probability, min(END, max(line.high - line.low, 0.004))
    low = at <= line.low
    until = (at + width if low else at - width) if tip is None else tip
    axes.barh(place, until - at, left=at, height=BAR, color=body.look.ground,
              edgecolor=body.look.ink, hatch="////", linewidth=body.look.line(1.0))  # fmt: skip
    if tip is not None and body.form.key != "square":  # there rows leave it no room
        axes.annotate(f"{tip:.2f}", (tip, place), xytext=(body.look.line(3.0), 0.0),
                      textcoords="offset points", va="center", ha="left", fontsize=body.small,
                      color=body.look.ink)  # fmt: skip


def _moved(line: SwayLine) -> str:
    if line.high - line.low < NOT_TOLD:
        return "moves it under 0.005"
    return f"{line.low:.2f} to {line.high:.2f}"


def _stands(body: Picture, axes: Axes, sway: Sway, lines: list[SwayLine]) -> None:
    look = body.look
    for place in range(len(lines)):  # at each bar, for a whole line would cross the words
        axes.plot([sway.stands] * 2, [place - 0.6 * BAR, place + 0.6 * BAR], color=look.ink,
                  linewidth=look.line(1.6))  # fmt: skip
    axes.set_xlabel(f"probability of {sway.title.split(' (')[0].lower()}: {NO_INTERVAL}"
                    if body.form.key == "wide" else f"probability ({NO_INTERVAL})")  # fmt: skip
    body.handles += [
        (Line2D([], [], color=look.ink, linewidth=look.line(1.6)),
         f"as weighed: {sway.stands:.2f}"),
        (Patch(facecolor=look.band_50, edgecolor=look.edge), ASSUMED),
    ]  # fmt: skip
    if any(line.turns for line in lines):
        turned = Patch(facecolor=look.ground, edgecolor=look.ink, hatch="////")
        body.handles.append((turned, "here another cause leads"))
        found = body.findings.weighing
        body.said += [] if found is None else [turned_said(found)]
