"""Pictures of flown causes beside the data: the nearest flights, one cause alone, all of them."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from neutralpoint.findings import SignatureFindings, SignatureRow
from neutralpoint.report.figures.answer import FlightCurves, flight_curves
from neutralpoint.report.figures.display import SHOWN, clock, printed
from neutralpoint.report.figures.draw_matplotlib import round_ticks
from neutralpoint.report.figures.palette import DASHES
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
from neutralpoint.report.figures.studio.causes import answer_of
from neutralpoint.report.figures.studio.frame import ChartPlace, Picture
from neutralpoint.report.figures.studio.paths import FEW_TICKS
from neutralpoint.report.words.signatures import stays
from neutralpoint.report.words.studio import MODEL
from neutralpoint.vocabulary import QUANTITIES as KNOWN

ROWS = 2  # causes of a picture of signatures: more make panels that nobody reads
LEAST_ODDS = 0.005  # printed as a number; less would be 0.00
BAND_INK, APART_INK = 0.38, 0.22  # share of ink in the fill of a band and of a shade; analyst's


def draw_flights(body: Picture) -> None:
    """Data, and the nearest simulated flight of each leading cause."""
    look, curves = body.look, flight_curves(body.results, answer_of(body.findings))
    names = [name for name in QUANTITIES if name in curves.bands][: max(2, body.form.panels)]
    rows = body.sheet.subplots(len(names), 1, sharex=True, squeeze=False)[:, 0]
    epoch = body.findings.epoch
    midnight = epoch.hour * 3600.0 + epoch.minute * 60.0 + epoch.second
    for axes, name in zip(rows, names, strict=True):
        data_bands(axes, body, curves.time, curves.bands[name])
        for number, (_, values) in enumerate(curves.flights, start=1):
            axes.plot(curves.flown, values[name], **_line(body, number))
        _onset(axes, body, curves)
        _titled(axes, body, name)
        axes.set_xlim(curves.time[0], curves.time[-1])
        body.places[name] = ChartPlace(axes, -midnight, name, (curves.time, curves.bands[name][2]))
    ticks = round_ticks(curves.time[0], curves.time[-1])
    step = -(-len(ticks) // FEW_TICKS[body.form.key])
    rows[-1].set_xticks(ticks[::step])
    rows[-1].xaxis.set_major_formatter(FuncFormatter(lambda x, _: clock(x)))
    rows[-1].set_xlabel("UTC")
    body.handles += _data_handles(body)
    for number, (title, _) in enumerate(curves.flights, start=1):
        line = Line2D([], [], **_line(body, number))
        body.handles.append((line, f"{MODEL}: {title.split(' (')[0].lower()}"))
    if curves.onset:
        shade = Patch(facecolor=look.event, alpha=0.25)
        body.handles.append((shade, "onset, 90%"))


def _line(body: Picture, number: int) -> dict:
    look = body.look
    return {
        "color": look.inks[number],
        "dashes": DASHES[number],
        "linewidth": look.line(1.0 + 0.2 * number),
    }


def data_bands(axes: Axes, body: Picture, time: np.ndarray, quantiles: np.ndarray) -> None:
    """The data: two bands and the median."""
    low90, low50, median, high50, high90 = quantiles
    look = body.look
    axes.fill_between(time, low90, high90, color=look.band_90, linewidth=0)
    axes.fill_between(time, low50, high50, color=look.band_50, linewidth=0)
    axes.plot(time, median, color=look.inks[0], linewidth=look.line(1.4))


def _data_handles(body: Picture) -> list:
    look = body.look
    return [
        (Line2D([], [], color=look.inks[0], linewidth=look.line(1.4)), "data: median"),
        (Patch(facecolor=look.band_50), "50%"),
        (Patch(facecolor=look.band_90), "90%"),
    ]


def _onset(axes: Axes, body: Picture, curves: FlightCurves) -> None:
    if curves.onset:
        axes.axvspan(*curves.onset, color=body.look.event, alpha=0.14, linewidth=0)


def _titled(axes: Axes, body: Picture, name: str) -> None:
    axes.set_title(f"{KNOWN[name].short} ({SHOWN[name].unit})", loc="left",
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


def draw_cause(body: Picture, cause: str) -> None:
    """One cause against the data: its flights with a pilot, hands off, and the nearest one."""
    held = kept_signatures(body)
    if held is None:
        return
    found, kept = held
    row = next(row for row in found.rows if row.cause.value == cause)
    names = _names(body)
    rows = body.sheet.subplots(len(names), 1, sharex=True, squeeze=False)[:, 0]
    for axes, name in zip(rows, names, strict=True):
        _flown(axes, body, kept, kept.causes.index(cause), name)
        _parted(axes, row, name, found, kept, body)
        _titled(axes, body, name)
        axes.set_xlim(0.0, float(kept.time[-1]))
        axes.set_ylim(*shown_limits(name, kept.seen[name]))
        _two_ticks(axes, body)
        seen = kept.seen[name][MIDDLE] / SHOWN[name].factor
        body.places[name] = ChartPlace(axes, found.begin, name, (kept.time, seen))
    rows[-1].set_xlabel("s after the last trimmed flight")
    body.said.append(f"{_sentence(stays(row, found.begin))} Probability {_odds(row)}.")
    body.handles += _flown_handles(body)
    if row.first is not None:
        body.handles.append(_apart(body))


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}".rstrip(".") + "."


def _flown(axes: Axes, body: Picture, kept: Kept, place: int, name: str) -> None:
    look, factor, time = body.look, SHOWN[name].factor, kept.time
    flown, seen = kept.flights[name][place] / factor, kept.seen[name] / factor
    off, pilot = flown[HANDS_OFF], flown[PILOT]
    # One filled band a kind, opaque; hands off is edges alone: three fills over another are mud.
    axes.fill_between(time, pilot[LOW], pilot[HIGH], color=look.tint(look.inks[2], BAND_INK),
                      linewidth=0)  # fmt: skip
    for edge in (off[LOW], off[HIGH]):
        axes.plot(time, edge, color=look.inks[1], linewidth=look.line(0.6), dashes=(1, 2))
    axes.plot(time, off[MIDDLE], color=look.inks[1], linewidth=look.line(1.1), dashes=(4, 2))
    axes.fill_between(time, seen[LOW], seen[HIGH], color=look.tint(look.inks[0], BAND_INK + 0.15),
                      linewidth=0)  # fmt: skip
    axes.plot(time, kept.nearest[name][place] / factor, color=look.inks[2],
              linewidth=look.line(1.2))  # fmt: skip
    axes.plot(time, seen[MIDDLE], color=look.inks[0], linewidth=look.line(1.7))


def _parted(
    axes: Axes, row: SignatureRow, name: str, found: SignatureFindings, kept: Kept, body: Picture
) -> None:
    one = next((p for p in row.with_pilot if p.quantity == name), None)
    if one is not None and one.time is not None:
        shade = body.look.tint(body.look.limit, APART_INK)
        axes.axvspan(one.time - found.begin, float(kept.time[-1]), color=shade, linewidth=0,
                     zorder=0)  # fmt: skip


def _flown_handles(body: Picture) -> list:
    look = body.look
    return [
        (Line2D([], [], color=look.inks[0], linewidth=look.line(1.7)), "data, 90% shaded"),
        (Line2D([], [], color=look.inks[1], linewidth=look.line(1.1), dashes=(4, 2)),
         f"{MODEL}: hands off, 90% dotted"),
        (Line2D([], [], color=look.inks[2], linewidth=look.line(1.2)),
         f"{MODEL}: nearest with a pilot, 90% shaded"),
    ]  # fmt: skip


def _names(body: Picture) -> tuple[str, ...]:
    """Quantities that fit over one another."""
    return QUANTITIES[::2] if body.form.key == "square" else QUANTITIES


def _odds(row: SignatureRow) -> str:
    return "<0.01" if row.probability < LEAST_ODDS else f"{row.probability:.2f}"


def _apart(body: Picture) -> tuple[Patch, str]:
    shade = Patch(facecolor=body.look.tint(body.look.limit, APART_INK))
    return shade, "model and data apart"


def draw_signatures(body: Picture, first: int) -> None:
    """Signatures of a few causes from a place in the list on: three quantities each."""
    held = kept_signatures(body)
    if held is None:
        return
    found, kept = held
    chosen = found.rows[first : first + ROWS]
    names = _names(body)
    grid = body.sheet.subplots(len(names), ROWS, sharex=True, sharey="row", squeeze=False)
    for column in range(ROWS):
        if column >= len(chosen):
            for axes in grid[:, column]:
                axes.set_axis_off()
            continue
        _signature(body, grid[:, column], chosen[column], (found, kept), first=column == 0)
    body.handles += _flown_handles(body)
    if any(row.first is not None for row in chosen):
        body.handles.append(_apart(body))
    body.said.append("Across: seconds after the last trimmed flight.")


def _signature(
    body: Picture, column: np.ndarray, row: SignatureRow, held: tuple[SignatureFindings, Kept], *,
    first: bool,
) -> None:  # fmt: skip
    """One cause down a column of the picture, quantities under one another."""
    found, kept = held
    for axes, name in zip(column, _names(body), strict=True):
        _flown(axes, body, kept, kept.causes.index(row.cause.value), name)
        _parted(axes, row, name, found, kept, body)
        _titled(axes, body, name)
        axes.set_xlim(0.0, float(kept.time[-1]))
        axes.set_ylim(*shown_limits(name, kept.seen[name]))
        _two_ticks(axes, body)
        axes.xaxis.set_major_locator(MaxNLocator(4, integer=True))
        if not first:
            axes.set_title("", loc="left")
    text = body.wrapped(f"{row.cause.title.split(' (')[0]}: odds {_odds(row)}", 0.35)
    quantity = column[0].get_title("left")
    column[0].set_title(f"{text}\n{quantity}", loc="left", fontsize=body.look.points(8.0),
                        pad=body.look.line(2.0))  # fmt: skip
    body.places[f"signature-{row.cause.value}"] = ChartPlace(column[0], found.begin)
