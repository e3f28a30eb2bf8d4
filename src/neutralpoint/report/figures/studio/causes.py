"""Pictures of the causes: odds, needed against has, what the odds hang on, next evidence."""

from __future__ import annotations

import math
from functools import lru_cache

from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from neutralpoint.findings import Findings
from neutralpoint.findings.judgement import CauseJudgement, NeedAgainstHas
from neutralpoint.report.figures.draw_matplotlib import tick
from neutralpoint.report.figures.studio.frame import ChartPlace, Picture
from neutralpoint.report.figures.studio.lettering import shortened, width_of, wrapped
from neutralpoint.report.sheet.choose import with_judgement
from neutralpoint.report.sheet.sheet import Sheet as AnswerSheet
from neutralpoint.report.sheet.sheet import Sway
from neutralpoint.report.words.sheet import sheet_of
from neutralpoint.report.words.sheet_numbers import PRINTED, in_unit
from neutralpoint.vocabulary import QUANTITIES

BAR = 0.34  # of the height of a row
NEEDS = {"wide": 6, "square": 3, "column": 4}  # lines that fit, each with a scale of its own
BESIDE = 0.42  # of the width, for the words of a wide picture


@lru_cache(maxsize=4)
def _answer(text: str) -> AnswerSheet:
    return sheet_of(Findings.model_validate_json(text))


def answer_of(findings: Findings) -> AnswerSheet:
    """The answer sheet, from which pictures take their words."""
    return _answer(findings.model_dump_json())


def draw_odds(body: Picture) -> None:
    """Odds of the causes with what is said of each; beside the range of the networks the wider one.

    The wider range is that of the leading cause with one assumption moved at a time.
    """
    look, sheet = body.look, answer_of(body.findings)
    rows, sway = sheet.rows[: body.form.rows], sheet.sway
    prior = {row.cause.value: row.prior for row in _weighed(body.findings)}
    breaks = (": ", "\n") if body.form.key == "wide" else ("\n", "; ")
    labels = [breaks[1].join((f"{row.title.split(' (')[0]}{breaks[0]}{row.odds.text}",
                              row.word.text)) for row in rows]  # fmt: skip
    axes = _rows(body, labels)
    for place, row in enumerate(rows):
        bar(axes, body, place, row.probability or 0.0, strong=row.leads)
        spread(axes, body, place, row.lowest or 0.0, row.highest or 0.0)
        if row.cause in prior:
            axes.plot([prior[row.cause]] * 2, [place - 0.2, place + 0.2], color=look.limit,
                      linewidth=look.line(1.4))  # fmt: skip
    axes.set_xlim(0.0, 1.0)
    axes.xaxis.set_major_locator(FixedLocator([0.0, 0.25, 0.5, 0.75, 1.0]))
    rest = max(0.0, 1.0 - sum(row.probability or 0.0 for row in rows))
    below = [f"probability; all others together {rest:.2f}", sheet.unweighed]
    axes.set_xlabel("\n".join(filter(None, below)))
    body.handles += [
        (Patch(facecolor=look.inks[0]), "among all causes weighed"),
        (Line2D([], [], color=look.ink, linewidth=look.line(1.4)), "range of the networks"),
        (Line2D([], [], color=look.limit, linewidth=look.line(1.4), marker="|",
                linestyle="none", markersize=look.line(6.0),
                markeredgewidth=look.line(1.4)), "before the track"),
    ]  # fmt: skip
    for place, row in enumerate(rows):
        if sway is not None and row.title == sway.title:
            _moved(axes, body, place, sway)
    body.places["odds"] = ChartPlace(axes)


def _moved(axes: Axes, body: Picture, place: float, sway: Sway) -> None:
    """The range of the leader over the assumptions, under its bar."""
    look, down = body.look, place + 0.5 * BAR + (0.12 if body.form.key == "wide" else 0.07)
    low, high = min(line.low for line in sway.lines), max(line.high for line in sway.lines)
    style = {"color": look.inks[1], "linewidth": look.line(1.8), "marker": "|",
             "markersize": look.line(5.0), "markeredgewidth": look.line(1.6)}  # fmt: skip
    axes.plot([low, high], [down, down], **style)
    told = f"one assumption moved: {low:.2f} to {high:.2f}"
    body.handles.append((Line2D([], [], **style), told))


def _weighed(findings: Findings) -> list:
    return [] if findings.weighing is None else findings.weighing.rows


def draw_mechanisms(body: Picture) -> None:
    """Odds summed over the causes of one mechanism."""
    found = body.findings.weighing
    rows = [] if found is None else sorted(found.mechanisms, key=lambda row: -row.probability)
    rows = rows[: body.form.rows]
    labels = [f"{row.mechanism.title}\n{_odds_text(row)}" for row in rows]
    axes = _rows(body, labels)
    for place, row in enumerate(rows):
        bar(axes, body, place, row.probability, strong=place == 0)
        spread(axes, body, place, row.lowest, row.highest)
    axes.set_xlim(0.0, 1.0)
    axes.xaxis.set_major_locator(FixedLocator([0.0, 0.25, 0.5, 0.75, 1.0]))
    axes.set_xlabel("probability, summed over the causes of a mechanism")
    body.places["mechanisms"] = ChartPlace(axes)


def _odds_text(row) -> str:
    return f"{row.probability:.2f} ({row.lowest:.2f} to {row.highest:.2f})"


def needs_of(findings: Findings) -> list[tuple[CauseJudgement, NeedAgainstHas]]:
    """What each cause would have needed, most probable causes first, one need each."""
    judged = with_judgement(findings).judgement
    rows = [] if judged is None else judged.rows
    order = sorted(rows, key=lambda row: -(row.odds.probability if row.odds else 0.0))
    return [(row, _telling(row.needs)) for row in order if row.needs]


def _telling(needs: list[NeedAgainstHas]) -> NeedAgainstHas:
    """The one that is furthest beyond the airplane; the first where none is."""

    def beyond(need: NeedAgainstHas) -> bool:
        return (need.most is not None and need.low90 > need.most) or (
            need.least is not None and need.high90 < need.least
        )

    return min(needs, key=lambda need: not beyond(need))


def draw_needs(body: Picture) -> None:
    """What each cause would have needed beside what the airplane has, each on its own scale."""
    pairs = needs_of(body.findings)[: NEEDS.get(body.form.key, body.form.rows)]
    rows = body.sheet.subplots(len(pairs), 1, squeeze=False)[:, 0]
    for axes, (row, need) in zip(rows, pairs, strict=True):
        _need(body, axes, row, need)
        body.places[f"needs-{row.cause.value}"] = ChartPlace(axes)
    look = body.look
    body.handles += [
        (Patch(facecolor=look.band_90, edgecolor=look.edge), "available"),
        (Line2D([], [], color=look.inks[1], linewidth=look.line(3.0), marker="D",
                markersize=look.line(3.0)), "needed: median and 90%"),
    ]  # fmt: skip


def _need(body: Picture, axes: Axes, row: CauseJudgement, need: NeedAgainstHas) -> None:
    look, factor = body.look, PRINTED.get(need.unit, (1.0, ""))[0]
    low90, median, high90 = (v / factor for v in (need.low90, need.median, need.high90))
    least, most = (None if v is None else v / factor for v in (need.least, need.most))
    known = [v for v in (least, most, low90, high90) if v is not None]
    low, high = min(known), max(known)
    spare = 0.12 * (high - low) or 1.0
    left = low - spare if least is None else least
    right = high + spare if most is None else most
    axes.axvspan(left, right, ymin=0.2, ymax=0.8, facecolor=look.band_90, edgecolor=look.edge)
    axes.plot([low90, high90], [0.5, 0.5], color=look.inks[1], linewidth=look.line(3.0),
              solid_capstyle="butt")  # fmt: skip
    axes.plot(median, 0.5, "D", color=look.inks[1], markeredgecolor=look.ink,
              markersize=look.line(3.6))  # fmt: skip
    axes.set_xlim(low - spare, high + spare)
    axes.set_ylim(0.0, 1.0)
    axes.set_yticks([])
    axes.grid(visible=False)
    for side in ("top", "left", "right"):
        axes.spines[side].set_visible(False)
    axes.xaxis.set_major_locator(MaxNLocator(5))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: tick(value)))
    pixels = body.form.pixels(body.small)
    axes.set_title("\n".join(wrapped(_need_text(row, need), 0.9 * body.form.width, pixels)),
                   loc="left", fontsize=body.small, pad=look.line(1.0))  # fmt: skip


def _need_text(row: CauseJudgement, need: NeedAgainstHas) -> str:
    bare, named = in_unit(need.unit, named=False), in_unit(need.unit)
    return (
        f"{row.cause.title.split(' (')[0]}: {QUANTITIES[need.quantity].short.lower()}, "
        f"needed {bare(need.low90)} to {named(need.high90)}; {_available(need, named)}: "
        f"{fits(need)}"
    )


def fits(need: NeedAgainstHas) -> str:
    """Whether the 90% band of what is needed lies within what is available, in words."""
    least = -math.inf if need.least is None else need.least
    most = math.inf if need.most is None else need.most
    if math.isinf(least) and math.isinf(most):
        return "cannot be judged"
    if need.low90 > most or need.high90 < least:
        return "does not fit"
    return "fits" if least <= need.low90 and need.high90 <= most else "fits in part"


def _available(need: NeedAgainstHas, named) -> str:
    if need.least is not None and need.most is not None:
        return f"available {in_unit(need.unit, named=False)(need.least)} to {named(need.most)}"
    if need.most is not None:
        return f"available at most {named(need.most)}"
    return "no limit known" if need.least is None else f"available at least {named(need.least)}"


def draw_sway(body: Picture) -> None:
    """How far the odds of the leader hang on each assumption."""
    look, sway = body.look, answer_of(body.findings).sway
    lines = () if sway is None else sway.lines[: body.form.rows]
    labels = [f"{line.title}\n{line.low:.2f} to {line.high:.2f}" for line in lines]
    axes = _rows(body, labels)
    for place, line in enumerate(lines):
        axes.barh(
            place, max(line.high - line.low, 0.004), left=line.low, height=BAR,
            color=look.band_50 if not line.turns else "none",
            edgecolor=look.limit if line.turns else look.edge,
            hatch="////" if line.turns else None, linewidth=look.line(1.0),
        )  # fmt: skip
    if sway is not None:
        for place in range(len(lines)):  # at each bar, for a whole line would cross the words
            axes.plot([sway.stands] * 2, [place - 0.6 * BAR, place + 0.6 * BAR], color=look.ink,
                      linewidth=look.line(1.6))  # fmt: skip
        axes.set_xlabel(f"odds of: {sway.title}")
    axes.set_xlim(0.0, 1.0)
    axes.xaxis.set_major_locator(FixedLocator([0.0, 0.5, 1.0]))
    body.handles += [
        (Line2D([], [], color=look.ink, linewidth=look.line(1.2)), "as the case stands"),
        (Patch(facecolor=look.band_50, edgecolor=look.edge), "moved from end to end"),
    ]
    if any(line.turns for line in lines):
        turned = Patch(facecolor="none", edgecolor=look.limit, hatch="////")
        body.handles.append((turned, "another cause leads at one end"))
    body.places["sways"] = ChartPlace(axes)


def draw_evidence(body: Picture) -> None:
    """Evidence not in hand, by what it is expected to tell."""
    found = body.findings.evidence
    items = [] if found is None else found.items[: body.form.rows]
    labels = [f"{_sentence(item.item)}\ncost {item.cost}" for item in items]
    axes = _rows(body, labels)
    for place, item in enumerate(items):
        bar(axes, body, place, item.bits, strong=place == 0)
        spread(axes, body, place, item.lowest, item.highest)
    axes.set_xlim(0.0, 1.1 * max((item.highest for item in items), default=1.0))
    axes.xaxis.set_major_locator(MaxNLocator(5))
    axes.set_xlabel("expected gain, bits; line: range of the networks")
    body.places["evidence"] = ChartPlace(axes)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"


def bar(axes: Axes, body: Picture, place: float, value: float, *, strong: bool) -> None:
    """One bar of a row."""
    look = body.look
    axes.barh(
        place, value, height=BAR, color=look.inks[0] if strong else look.band_50,
        edgecolor=look.edge, linewidth=look.line(0.5),
    )  # fmt: skip


def spread(axes: Axes, body: Picture, place: float, low: float, high: float) -> None:
    """A range over a bar, with a seam so that it shows on any fill."""
    look = body.look
    for color, width in ((look.ground, 3.2), (look.ink, 1.4)):
        axes.plot([low, high], [place, place], color=color, linewidth=look.line(width),
                  solid_capstyle="butt")  # fmt: skip


def _rows(body: Picture, labels: list[str]) -> Axes:
    """Axes with a row for each label: words beside the bars, or over them on a narrow picture."""
    axes = body.sheet.subplots()
    axes.set_ylim(len(labels) - 0.5, -0.75)
    axes.grid(visible=False, axis="y")
    axes.set_axisbelow(True)
    axes.tick_params(axis="y", length=0)
    if body.form.key == "wide":
        texts = [body.wrapped(label, BESIDE) for label in labels]
        axes.set_yticks(range(len(labels)), texts, fontsize=body.small)
        return axes
    axes.set_yticks([])
    for place, label in enumerate(labels):
        text = body.wrapped(label, 0.88) if body.form.tall else _one_line(body, label)
        axes.annotate(
            text, (0.0, place - 0.6 * BAR),
            xycoords=("axes fraction", "data"), va="bottom", ha="left", fontsize=body.small,
            xytext=(0.0, 0.0), textcoords="offset points",
        )  # fmt: skip
    axes.set_ylim(len(labels) - 0.6, -1.0)
    return axes


def _one_line(body: Picture, label: str) -> str:
    """A label where there is room for a line only; a number is left out whole, never cut."""
    first, _, second = label.partition("\n")
    text, width = f"{first}: {second.split(';')[0]}", 0.88 * body.form.width
    pixels = body.form.pixels(body.small)
    if width_of(text, pixels) > width:
        text = text.split(" (")[0]
    if width_of(text, pixels) > width:
        text = first
    return shortened(text, width, pixels)
