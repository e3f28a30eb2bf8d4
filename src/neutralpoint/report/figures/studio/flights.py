"""Pictures of flown causes beside the data: the nearest flights, one cause alone, all of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from neutralpoint.findings import Findings, SignatureFindings, SignatureRow
from neutralpoint.report.figures.answer import FlightCurves, flight_curves
from neutralpoint.report.figures.display import SHOWN, clock, printed
from neutralpoint.report.figures.draw_matplotlib import round_ticks
from neutralpoint.report.figures.signature_sheet import (
    HANDS_OFF,
    HIGH,
    LOW,
    MIDDLE,
    PILOT,
    QUANTITIES,
    Kept,
    read_signatures,
    shown_limits,
)
from neutralpoint.report.figures.studio.codes import (
    answer_of,
    code_of,
    curve_handle,
    curve_style,
)
from neutralpoint.report.figures.studio.frame import ChartPlace, Handle, Picture
from neutralpoint.report.figures.studio.paths import FEW_TICKS
from neutralpoint.report.words.flights import (
    ONSET,
    heights_said,
    nearest_said,
    start_said,
    width_said,
)
from neutralpoint.report.words.ranges import ranged, wide_of
from neutralpoint.report.words.signatures import gaps_said, miss_title
from neutralpoint.report.words.studio import MODEL
from neutralpoint.report.words.titles import near_title
from neutralpoint.vocabulary import QUANTITIES as KNOWN

ROWS = 2  # causes of a picture of signatures: more make panels that nobody reads
BAND_INK, APART_INK = 0.34, 0.22  # share of ink in the fill of a band and of a shade; analyst's
APART = 0.15  # of the width of a chart, within which one such sign is enough
COLUMN_TICKS = {"wide": 4, "tall": 2, "square": 2, "column": 2}  # of a clock, that fit a column
CUT = 0.035  # of the height of a chart, from its edge to the sign that a curve goes on


def midnight_of(findings: Findings) -> float:
    """Seconds of the day at the epoch."""
    epoch = findings.epoch
    return epoch.hour * 3600.0 + epoch.minute * 60.0 + epoch.second + epoch.microsecond * 1e-6


def draw_flights(body: Picture) -> None:
    """Data, and the nearest simulated flight of each leading cause."""
    look, curves = body.look, _shown(body, flight_curves(body.results, answer_of(body.findings)))
    names = [name for name in QUANTITIES if name in curves.bands][: max(2, body.form.panels)]
    rows = body.sheet.subplots(len(names), 1, sharex=True, squeeze=False)[:, 0]
    midnight = midnight_of(body.findings)
    for axes, name in zip(rows, names, strict=True):
        data_bands(axes, body, curves.time, curves.bands[name])
        for number, (_, values) in enumerate(curves.flights, start=1):
            axes.plot(curves.flown, values[name], **curve_style(look, number))
        _onset(axes, body, curves)
        _titled(axes, body, name, width_said(name, curves.bands[name]))
        axes.set_xlim(curves.time[0], curves.time[-1])
        body.places[name] = ChartPlace(axes, -midnight, name, (curves.time, curves.bands[name][2]))
    ticks = round_ticks(curves.time[0], curves.time[-1])
    step = -(-len(ticks) // FEW_TICKS[body.form.key])
    rows[-1].set_xticks(ticks[::step])
    rows[-1].xaxis.set_major_formatter(FuncFormatter(lambda x, _: clock(x)))
    rows[-1].set_xlabel("UTC")
    body.handles += _data_handles(body)
    for number, (title, _) in enumerate(curves.flights, start=1):
        told = f"{MODEL}: {title.split(' (')[0].lower()}"
        body.handles.append((curve_handle(look, number), told))
    if curves.onset:
        shade = Patch(facecolor=look.onset, edgecolor=look.quiet)
        body.handles.append((shade, "onset, 90%"))
    rows = [] if body.findings.weighing is None else body.findings.weighing.rows
    body.title = near_title([row.nearest.distance for row in rows
                             if row.nearest and row.cause.value in _causes(body)])  # fmt: skip
    _said(body, curves)


def _shown(body: Picture, curves: FlightCurves) -> FlightCurves:
    """The curves without what is left out at the end of the record."""
    if body.last is None:
        return curves
    until = body.last + float(body.results.time[0]) + midnight_of(body.findings)
    seen, flown = curves.time <= until, curves.flown <= until
    flights = tuple((title, {name: one[flown] for name, one in values.items()})
                    for title, values in curves.flights)  # fmt: skip
    bands = {name: one[:, seen] for name, one in curves.bands.items()}
    return replace(curves, time=curves.time[seen], bands=bands, flown=curves.flown[flown],
                   flights=flights)  # fmt: skip


def _said(body: Picture, curves: FlightCurves) -> None:
    """What the flights are and where they start."""
    if body.form.key not in ("wide", "tall"):
        return
    if curves.flights:
        apart = [ONSET] if curves.onset and curves.onset[0] < curves.flown[0] else []
        body.said += [start_said(float(curves.flown[0])), *apart]
        body.said += nearest_said(body.findings, _causes(body))
    body.said += heights_said(body.results)


def _causes(body: Picture) -> list[str]:
    """Causes whose nearest flights are drawn together."""
    return [cause for cause, _ in answer_of(body.findings).flights]


def data_bands(axes: Axes, body: Picture, time: np.ndarray, quantiles: np.ndarray) -> None:
    """The data: two bands with edges, and the median."""
    low90, low50, median, high50, high90 = quantiles
    look = body.look
    axes.fill_between(time, low90, high90, color=look.band_90, linewidth=0)
    axes.fill_between(time, low50, high50, color=look.band_50, linewidth=0)
    for edge in (low90, high90):
        axes.plot(time, edge, color=look.edge, linewidth=look.line(0.4))
    axes.plot(time, median, color=look.inks[0], linewidth=look.line(1.4))


def _data_handles(body: Picture) -> list:
    look = body.look
    return [
        (Line2D([], [], color=look.inks[0], linewidth=look.line(1.4)), "data: median"),
        (Patch(facecolor=look.band_50), "50%"),
        (Patch(facecolor=look.band_90, edgecolor=look.edge), "90%"),
    ]


def _onset(axes: Axes, body: Picture, curves: FlightCurves) -> None:
    if curves.onset:
        look = body.look
        axes.axvspan(*curves.onset, color=look.onset, linewidth=0, zorder=0)
        for at in curves.onset:
            axes.axvline(at, color=look.quiet, linewidth=look.line(0.5), zorder=0.5)


def _titled(axes: Axes, body: Picture, name: str, more: str = "") -> None:
    told = f"; {more}" if more and body.form.key == "wide" else ""
    axes.set_title(f"{KNOWN[name].short} ({SHOWN[name].unit}){told}", loc="left",
                   fontsize=body.look.points(8.0), pad=body.look.line(2.0))  # fmt: skip
    axes.yaxis.set_major_locator(MaxNLocator(3, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda y, _: printed(y, 0)))


def _two_ticks(axes: Axes, body: Picture) -> None:
    """On a square picture the ends of a scale alone: its charts are flat."""
    if body.form.key == "square":
        low, high = axes.get_ylim()
        inside = [y for y in axes.yaxis.get_majorticklocs() if low <= y <= high]
        axes.yaxis.set_major_locator(FixedLocator([inside[0], inside[-1]] if inside else []))


def kept_signatures(body: Picture) -> tuple[SignatureFindings, Kept] | None:
    """The signatures and their findings; None where they were not flown."""
    found = body.findings.signatures
    if found is None or not (body.results.folder / found.file).is_file():
        return None
    return found, read_signatures(body.results.folder / found.file, found.begin)


def near_gaps(kept: Kept, place: int) -> list[tuple[str, float, float]]:
    """How far the nearest flight of a cause is from the median of the data, at most, and when."""
    told = []
    for name in QUANTITIES:
        gap = kept.nearest[name][place] - kept.seen[name][MIDDLE]
        if np.isfinite(gap).any():
            k = int(np.nanargmax(np.abs(gap)))
            told.append((name, float(gap[k]), float(kept.time[k])))
    return told


def draw_cause(body: Picture, cause: str) -> None:
    """One cause against the data: its flights with a pilot, hands off, and the nearest one."""
    held = kept_signatures(body)
    if held is None:
        return
    found, kept = held
    row = next(row for row in found.rows if row.cause.value == cause)
    names, place = _names(body), kept.causes.index(cause)
    rows = body.sheet.subplots(len(names), 1, sharex=True, squeeze=False)[:, 0]
    cut = [_panel(axes, body, (found, kept), row, name)
           for axes, name in zip(rows, names, strict=True)]  # fmt: skip
    for axes, name in zip(rows, names, strict=True):
        _named_inside(axes, body, kept.seen[name][MIDDLE] / SHOWN[name].factor)
    _clocked(rows[-1], body, found.begin, FEW_TICKS[body.form.key])
    rows[-1].set_xlabel(_axis_said(body, found.begin))
    near = near_gaps(kept, place)
    body.title = miss_title(row, near)
    body.said.append(f"Probability of the cause, given the track: {_odds(body.findings, row)}.")
    if body.form.key in ("wide", "tall"):
        body.said.append(gaps_said(row, body.findings))
        body.said += nearest_said(body.findings, [cause])[1:]
    _flown_handles(body, code_of(body.findings, cause), apart=row.first is not None, cut=any(cut))


def _axis_said(body: Picture, begin: float) -> str:
    """The clock under a chart of signatures, and where its flights start."""
    told = f"UTC; simulated flights start at {clock(begin + midnight_of(body.findings))}"
    long = body.form.key == "wide"
    return f"{told}, the end of the last trimmed flight" if long else told


def _clocked(axes: Axes, body: Picture, begin: float, few: int) -> None:
    """Round moments of the clock under a chart whose zero is the begin of its flights."""
    zero = begin + midnight_of(body.findings)
    first, last = axes.get_xlim()
    ticks = round_ticks(first + zero, last + zero)
    step = max(-(-len(ticks) // few), 1)
    axes.xaxis.set_major_locator(FixedLocator((ticks[::step] - zero).tolist()))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda x, _: clock(x + zero)))


def _panel(
    axes: Axes, body: Picture, held: tuple[SignatureFindings, Kept], row: SignatureRow, name: str,
    *, edges: bool = True,
) -> bool:  # fmt: skip
    """One quantity of one cause; returns whether a curve or band goes on beyond the chart."""
    found, kept = held
    _parted(axes, row, name, found, kept, body)
    _titled(axes, body, name)
    axes.set_xlim(0.0, _until(body, found.begin, kept))
    axes.set_ylim(*shown_limits(name, kept))
    cut = _flown(axes, body, kept, row.cause.value, name, edges=edges)
    _two_ticks(axes, body)
    seen = kept.seen[name][MIDDLE] / SHOWN[name].factor
    body.places[name] = ChartPlace(axes, found.begin, name, (kept.time, seen))
    return cut


def _until(body: Picture, begin: float, kept: Kept) -> float:
    """Last moment of a chart of signatures, s after their flights begin."""
    last = float(kept.time[-1])
    if body.last is None:
        return last
    until = body.last + float(body.results.time[0]) - begin
    return min(last, until) if until > 0.0 else last


def _flown(axes: Axes, body: Picture, kept: Kept, cause: str, name: str, *, edges: bool) -> bool:
    look, factor, time = body.look, SHOWN[name].factor, kept.time
    place, code = kept.causes.index(cause), code_of(body.findings, cause)
    flown, seen = kept.flights[name][place] / factor, kept.seen[name] / factor
    off, pilot, near = flown[HANDS_OFF], flown[PILOT], kept.nearest[name][place] / factor
    # One filled band a kind, opaque; hands off is edges alone: three fills over another are mud.
    axes.fill_between(time, pilot[LOW], pilot[HIGH], color=look.tint(look.inks[code], BAND_INK),
                      linewidth=0)  # fmt: skip
    for edge in (off[LOW], off[HIGH]) if edges else ():
        axes.plot(time, edge, color=look.inks[code], linewidth=look.line(0.6), dashes=(1, 2))
    axes.plot(time, off[MIDDLE], **curve_style(look, code, hands_off=True))
    axes.fill_between(time, seen[LOW], seen[HIGH], facecolor=look.tint(look.inks[0], 0.5),
                      edgecolor=look.inks[0], linewidth=look.line(0.4))  # fmt: skip
    axes.plot(time, near, **curve_style(look, code))
    axes.plot(time, seen[MIDDLE], color=look.inks[0], linewidth=look.line(1.7))
    # The band last: an arrow of a curve stands for what leaves the chart with it.
    shown = (off[MIDDLE], near, pilot[LOW], pilot[HIGH])
    return _go_on(axes, body, time, shown, code)


def _go_on(
    axes: Axes, body: Picture, time: np.ndarray, curves: tuple[np.ndarray, ...], code: int
) -> bool:
    """An arrow at the edge of the chart wherever a curve or a band leaves it."""
    (low, high), (first, last) = axes.get_ylim(), axes.get_xlim()
    inside = (time >= first) & (time <= last)
    drawn: list[tuple[float, float]] = []
    for curve in curves:
        for beyond, edge, sign in ((curve > high, 1.0 - CUT, "^"), (curve < low, CUT, "v")):
            for at in _middles(time, beyond & inside):
                if all(abs(at - x) > APART * (last - first) or edge != y for x, y in drawn):
                    axes.plot(at, edge, sign, color=body.look.inks[code],
                              markersize=body.look.line(4.2), markeredgecolor=body.look.ground,
                              transform=axes.get_xaxis_transform(), clip_on=False)  # fmt: skip
                    drawn.append((at, edge))
    return bool(drawn)


def _middles(time: np.ndarray, beyond: np.ndarray) -> list[float]:
    """The middle of each stretch of a flag."""
    runs = np.flatnonzero(np.diff(np.r_[False, beyond, False].astype(np.int8))).reshape(-1, 2)
    return [float(time[(first + last - 1) // 2]) for first, last in runs]


def _parted(
    axes: Axes, row: SignatureRow, name: str, found: SignatureFindings, kept: Kept, body: Picture
) -> None:
    one = next((p for p in row.with_pilot if p.quantity == name), None)
    if one is not None and one.time is not None:
        shade = body.look.tint(body.look.quiet, APART_INK)
        axes.axvspan(one.time - found.begin, float(kept.time[-1]), color=shade, linewidth=0,
                     zorder=0)  # fmt: skip


def _flown_handles(body: Picture, code: int, *, apart: bool, cut: bool) -> None:
    look = body.look
    body.handles += [
        _data_handle(body),
        (curve_handle(look, code), f"{MODEL} with a pilot: nearest one, 90% shaded"),
        (curve_handle(look, code, hands_off=True), f"{MODEL} hands off: median, 90% dotted"),
    ]
    _sign_handles(body, code, apart=apart, cut=cut)


def _data_handle(body: Picture) -> Handle:
    look = body.look
    return Line2D([], [], color=look.inks[0], linewidth=look.line(1.7)), "data, 90% shaded"


def _sign_handles(body: Picture, code: int, *, apart: bool, cut: bool) -> None:
    """Of what does not stand on every chart."""
    look = body.look
    if apart:
        shade = Patch(facecolor=look.tint(look.quiet, APART_INK))
        body.handles.append((shade, "bands apart, with a pilot"))
    if cut:
        color = look.ink if code < 0 else look.inks[code]
        sign = Line2D([], [], color=color, linestyle="none", marker="^",
                      markersize=look.line(3.0))  # fmt: skip
        body.handles.append((sign, "goes on beyond the chart"))


def _names(body: Picture) -> tuple[str, ...]:
    """Quantities that fit over one another."""
    return QUANTITIES[::2] if body.form.key == "square" else QUANTITIES


def _odds(findings: Findings, row: SignatureRow) -> str:
    rows = [] if findings.weighing is None else findings.weighing.rows
    known = next((one for one in rows if one.cause is row.cause), None)
    if known is None:
        return ranged(row.probability, row.probability, row.probability)
    return ranged(known.probability, *wide_of(known))


def draw_signatures(body: Picture, first: int) -> None:
    """Signatures of a few causes from a place in the list on: three quantities each."""
    held = kept_signatures(body)
    if held is None:
        return
    found, kept = held
    chosen = found.rows[first : first + ROWS]
    names = _names(body)
    grid = body.sheet.subplots(len(names), ROWS, sharex=True, sharey="row", squeeze=False)
    cut = []
    for column in range(ROWS):
        if column >= len(chosen):
            for axes in grid[:, column]:
                axes.set_axis_off()
            continue
        cut += _signature(body, grid[:, column], chosen[column], (found, kept), first=column == 0)
    body.handles.append(_data_handle(body))
    apart = any(row.first is not None for row in chosen)
    _sign_handles(body, -1, apart=apart, cut=any(cut))
    if body.form.key in ("wide", "tall"):
        body.said.append(start_said(found.begin + midnight_of(body.findings)))
        body.said += nearest_said(body.findings, [row.cause.value for row in chosen])[:1]


def _signature(
    body: Picture, column: np.ndarray, row: SignatureRow, held: tuple[SignatureFindings, Kept], *,
    first: bool,
) -> list[bool]:  # fmt: skip
    """One cause down a column of the picture: its name, its own legend, quantities below."""
    cut = []
    for axes, name in zip(column, _names(body), strict=True):
        cut.append(_panel(axes, body, held, row, name, edges=False))
        _named_inside(axes, body, held[1].seen[name][MIDDLE] / SHOWN[name].factor, shown=first)
    _clocked(column[-1], body, held[0].begin, COLUMN_TICKS[body.form.key])
    column[-1].set_xlabel("UTC")
    share = 0.46 if body.form.key == "wide" else 0.43
    text = body.wrapped(row.cause.title.split(" (")[0], share)
    _own_legend(column[0], body, code_of(body.findings, row.cause.value), text)
    body.places[f"signature-{row.cause.value}"] = ChartPlace(column[0], held[0].begin)
    return cut


def _named_inside(axes: Axes, body: Picture, seen: np.ndarray, *, shown: bool = True) -> None:
    """The quantity within its chart instead of over it: away from where all flights begin."""
    text, (low, high) = axes.get_title("left"), axes.get_ylim()
    axes.set_title("", loc="left")
    if not shown:
        return
    begin = seen[np.isfinite(seen)][:1]
    above = begin.size == 0 or begin[0] < (low + high) / 2.0
    axes.annotate(text, (0.012, 0.95 if above else 0.06), xycoords="axes fraction",
                  va="top" if above else "bottom", fontsize=body.small, zorder=6)  # fmt: skip


def _own_legend(axes: Axes, body: Picture, code: int, title: str) -> None:
    """The legend of a column, in its own color, under the name of its cause."""
    look, wide = body.look, body.form.key == "wide"
    drawn = axes.legend(
        [curve_handle(look, code), curve_handle(look, code, hands_off=True)],
        ["nearest flight, 90% shaded" if wide else "nearest, 90%", "hands off"],
        loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=2 if wide else 1, frameon=False,
        fontsize=body.small, title=title, title_fontsize=body.small, alignment="left",
        handlelength=1.8, handletextpad=0.5, columnspacing=1.2, borderpad=0.0, borderaxespad=0.3,
        labelcolor=look.ink, labelspacing=0.25,
    )  # fmt: skip
    drawn.set_in_layout(False)  # else a long name would make the column narrow
    rows = len(title.split("\n")) + (1 if wide else 2)
    axes.set_title("\n".join([" "] * rows), loc="left", fontsize=body.small, linespacing=1.4)
