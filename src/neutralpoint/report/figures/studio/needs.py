"""What each cause would have needed beside what there is, each quantity on a scale of its own."""

from __future__ import annotations

import math
from collections.abc import Callable

from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from neutralpoint.findings import Findings
from neutralpoint.findings.judgement import CauseJudgement, NeedAgainstHas
from neutralpoint.quantities import POUND_FORCE
from neutralpoint.report.figures.draw_matplotlib import tick
from neutralpoint.report.figures.studio.frame import ChartPlace, Picture
from neutralpoint.report.figures.studio.lettering import width_of, wrapped
from neutralpoint.report.sheet.choose import with_judgement
from neutralpoint.report.words.needs import (
    AGAINST,
    WITHIN,
    fits,
    joined_names,
    rule_words,
    signs_said,
)
from neutralpoint.report.words.sheet_numbers import PRINTED, in_unit
from neutralpoint.vocabulary import QUANTITIES, CauseName

NEEDS = {
    "wide": 4,
    "tall": 6,
    "square": 3,
    "column": 4,
}  # lines that fit, each with a scale of its own
FORCE = "needed_column_force"
SPAN = 0.9  # of the width of a picture, that a scale takes
BETWEEN = 0.3  # of the size of the type, between two numbers of a scale
Need = tuple[list[CauseJudgement], NeedAgainstHas]


def needs_of(findings: Findings) -> list[Need]:
    """What the causes would have needed, those of the most probable first, equal ones in one."""
    judged = with_judgement(findings).judgement
    rows = [] if judged is None else judged.rows
    order = sorted(rows, key=lambda row: -(row.odds.probability if row.odds else 0.0))
    found: dict[tuple, Need] = {}
    for row in order:
        if not row.needs:
            continue
        need = _telling(row.needs)
        if "moment" in row.excluded_by and fits(need) == AGAINST["within"]:
            continue  # excluded by what it would need beside: an own need within says nothing
        if row.cause is CauseName.INCAPACITATION and need.quantity == FORCE:
            continue  # nobody is there to pull
        key = (need.quantity, need.low90, need.high90, need.least, need.most)
        found.setdefault(key, ([], need))[0].append(row)
    return list(found.values())


def _telling(needs: list[NeedAgainstHas]) -> NeedAgainstHas:
    """The one that is furthest beyond the airplane; the first where none is."""
    return min(needs, key=lambda need: fits(need) != AGAINST["beyond"])


def draw_needs(body: Picture) -> None:
    """What the causes would have needed beside what there is."""
    found = needs_of(body.findings)
    pairs = _drawn(found, NEEDS.get(body.form.key, body.form.rows))
    rows = body.sheet.subplots(len(pairs), 1, squeeze=False)[:, 0]
    for axes, (causes, need) in zip(rows, pairs, strict=True):
        _need(body, axes, causes, need)
        for row in causes:
            body.places[f"needs-{row.cause.value}"] = ChartPlace(axes)
    look, wide = body.look, body.form.key == "wide"
    body.handles += [
        (Patch(facecolor=look.band_90, edgecolor=look.edge), "available"),
        (Line2D([], [], color=look.inks[1], linewidth=look.line(3.0), marker="D",
                markersize=look.line(3.0)), "largest need of each path: median and 90%"),
    ]  # fmt: skip
    if any(need.quantity == FORCE for _, need in pairs) and limits_of(body.findings):
        body.handles.append((Line2D([], [], color=look.ink, linestyle="none", marker="|",
                                    markersize=look.line(8.0), markeredgewidth=look.line(1.2)),
                             limit_words(body.findings, brief=not wide)))  # fmt: skip
    if body.form.key in ("wide", "tall"):
        told = [tested_said(body.findings), WITHIN, beyond_said(found, pairs)]
        body.said += [text for text in told if text]
        body.said.append(signs_said([need.quantity for _, need in pairs]))


def _drawn(found: list[Need], count: int) -> list[Need]:
    """Those of the most probable causes, and after two of them those beyond what there is."""
    beyond = [need for need in found[2:] if fits(need[1]) == AGAINST["beyond"]]
    chosen = [*found[:2], *beyond[: max(count - 2, 0)]]
    chosen += [need for need in found if need not in chosen][: count - len(chosen)]
    return [need for need in found if need in chosen][:count]


def beyond_said(found: list[Need], pairs: list[Need]) -> str:
    """Which causes would have needed more, all by name, and how many needs are not drawn."""
    beyond = [row.cause.spoken.split(" (")[0] for rows, need in found for row in rows
              if fits(need) == AGAINST["beyond"]]  # fmt: skip
    rest = len(found) - len(pairs)
    told = [f"Beyond (the whole 90% band outside): {'; '.join(beyond)}"] if beyond else []
    told += [f"{rest} more needs are in the report"] if rest else []
    return f"{'. '.join(told)}." if told else ""


def limits_of(findings: Findings) -> list[tuple[str, float, str]]:
    """Limits that rules set to a pilot's force: name, N, source; the three lowest."""
    rows = [] if findings.moments is None else findings.moments.forces
    return [(row.name, row.force, row.source) for row in rows if "CFR" in row.source]


def limit_words(findings: Findings, *, brief: bool) -> str:
    """The limits in one line.

    Args:
        findings: The document.
        brief: Whether their names and source stand elsewhere.
    """
    found = limits_of(findings)
    values = ", ".join(f"{force / POUND_FORCE:.0f}" for _, force, _ in found)
    if brief:
        return f"limits by rule: {values} lb"
    names = "; ".join(name for name, _, _ in found)
    return f"limits by rule: {values} lb ({names}), {rule_words(found[-1][2])}"


def _need(body: Picture, axes: Axes, causes: list[CauseJudgement], need: NeedAgainstHas) -> None:
    look, factor = body.look, PRINTED.get(need.unit, (1.0, ""))[0]
    low90, median, high90 = (v / factor for v in (need.low90, need.median, need.high90))
    least, most = (None if v is None else v / factor for v in (need.least, need.most))
    known = [v for v in (least, most, low90, high90) if v is not None]
    low, high = min(known), max(known)
    spare = 0.12 * (high - low) or 1.0
    left = low - spare if least is None else least
    right = high + spare if most is None else most
    axes.axvspan(left, right, ymin=0.2, ymax=0.8, facecolor=look.band_90, edgecolor=look.edge)
    _open_ends(body, axes, (low - spare, least), (high + spare, most))
    axes.plot([low90, high90], [0.5, 0.5], color=look.inks[1], linewidth=look.line(3.0),
              solid_capstyle="butt")  # fmt: skip
    axes.plot(median, 0.5, "D", color=look.inks[1], markeredgecolor=look.ink,
              markersize=look.line(3.6))  # fmt: skip
    if need.quantity == FORCE:
        for at in _both_ways(body.findings, factor):
            axes.plot([at, at], [0.0, 1.0], color=look.ink, linewidth=look.line(1.2))
    axes.set_xlim(low - spare, high + spare)
    _bare(axes)
    if need.quantity == FORCE:
        ends = [v for v in (least, most) if v is not None]
        axes.xaxis.set_major_locator(FixedLocator(roomy(
            [*ends, *sorted(_both_ways(body.findings, factor), key=lambda v: (v < 0.0, -abs(v)))],
            SPAN * body.form.width / (high - low + 2.0 * spare), body.form.pixels(body.small),
        )))  # fmt: skip
    pixels = body.form.pixels(body.small)
    axes.set_title("\n".join(wrapped(_need_text(causes, need, body.findings),
                                     0.93 * body.form.width, pixels)),
                   loc="left", fontsize=body.small, pad=look.line(1.0))  # fmt: skip


def _both_ways(findings: Findings, factor: float) -> list[float]:
    """Limits of a pilot's force, pull and push, in the unit shown."""
    return [sign * force / factor for sign in (1.0, -1.0) for _, force, _ in limits_of(findings)]


def roomy(values: list[float], scale: float, pixels: float) -> list[float]:
    """Values along a scale whose numbers have room beside one another.

    Args:
        values: The most telling first.
        scale: Pixels of one unit.
        pixels: Size of the type.

    Returns:
        Those that are kept, in their order along the scale.
    """
    kept: list[float] = []
    for value in values:
        wide = width_of(tick(value), pixels)
        if all(
            abs(value - one) * scale > (wide + width_of(tick(one), pixels)) / 2.0 + BETWEEN * pixels
            for one in kept
        ):
            kept.append(value)
    return sorted(kept)


def needs_title(findings: Findings) -> str:
    """Which causes would have needed more than there is, in one sentence."""
    found = needs_of(findings)
    beyond = sum(len(rows) for rows, need in found if fits(need) == AGAINST["beyond"])
    count = sum(len(rows) for rows, _ in found)
    if not beyond:
        return "No cause that can be tested needs more than is available"
    return f"{beyond} of the {count} causes that can be tested would need more than is available"


def tested_said(findings: Findings) -> str:
    """How many of the causes that were weighed can be tested by what they need; empty without."""
    weighed = [] if findings.weighing is None else findings.weighing.rows
    count = sum(len(rows) for rows, _ in needs_of(findings))
    if not weighed:
        return ""
    return f"Of {len(weighed)} causes {count} can be tested by the moment they need."


def _open_ends(
    body: Picture, axes: Axes, low: tuple[float, float | None], high: tuple[float, float | None]
) -> None:
    """An arrow where what is available goes on beyond the picture."""
    for (edge, known), sign in ((low, "<"), (high, ">")):
        if known is None:
            axes.plot(edge, 0.5, sign, color=body.look.edge, markersize=body.look.line(5.0),
                      clip_on=False)  # fmt: skip


def _bare(axes: Axes) -> None:
    """A scale below and nothing else."""
    axes.set_ylim(0.0, 1.0)
    axes.set_yticks([])
    axes.grid(visible=False)
    for side in ("top", "left", "right"):
        axes.spines[side].set_visible(False)
    axes.xaxis.set_major_locator(MaxNLocator(5))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: tick(value)))


def _need_text(causes: list[CauseJudgement], need: NeedAgainstHas, findings: Findings) -> str:
    bare, named = in_unit(need.unit, named=False), in_unit(need.unit)
    names = joined_names([row.cause.title.split(" (")[0] for row in causes])
    return (
        f"{names}: {_lowered(QUANTITIES[need.quantity].short)} {named(need.median)} (90%: "
        f"{bare(need.low90)} to {bare(need.high90)}); {_available(need, named, findings)}: "
        f"{fits(need)}"
    )


def _lowered(text: str) -> str:
    return text if text[1:2].isupper() else f"{text[:1].lower()}{text[1:]}"


def _available(need: NeedAgainstHas, named: Callable[[float], str], findings: Findings) -> str:
    if need.quantity == FORCE and need.most is not None:
        rows = [] if findings.moments is None else findings.moments.forces
        source = next((r.source for r in rows if math.isclose(r.force, need.most)), "")
        of = f" ({source.split(' (')[0]})" if source else ""
        return f"largest measured {named(need.most)}{of}"
    if need.least is not None and need.most is not None:
        return f"available {in_unit(need.unit, named=False)(need.least)} to {named(need.most)}"
    if need.most is not None:
        return f"available at most {named(need.most)}"
    return "no limit known" if need.least is None else f"available at least {named(need.least)}"
