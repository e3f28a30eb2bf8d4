"""The figures of the answer sheet: flights over the data, recovery against delay, the tornado."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import fill

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Sheet
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from neutralpoint.errors import NeutralPointError
from neutralpoint.report.figures import palette
from neutralpoint.report.figures.compose import kept_within
from neutralpoint.report.figures.display import SHOWN, clock
from neutralpoint.report.figures.draw_matplotlib import print_style, round_ticks
from neutralpoint.report.figures.look import PRINT
from neutralpoint.report.results import Results, opened
from neutralpoint.report.sheet.sheet import Recovery, Sway
from neutralpoint.report.sheet.sheet import Sheet as AnswerSheet
from neutralpoint.vocabulary import QUANTITIES as KNOWN

Array = np.ndarray

QUANTITIES = ("altitude", "calibrated_airspeed", "pitch_angle")
POINTS = 240  # times of the data that are drawn
BEFORE = 0.35  # share of the compared stretch that is shown before it
WIDE, NARROW = 7.3, 3.7  # inch: a page, a phone
SMALL = 3.55  # inch, half a page


@dataclass(frozen=True)
class FlightCurves:
    """What the largest figure draws.

    Attributes:
        time: s after midnight UTC, of the data, shape (m,).
        bands: Quantiles by quantity in the unit shown, shape (5, m) each; NaN where hidden.
        flown: s after midnight UTC, of the flights, shape (k,).
        flights: Title, and curves by quantity in the unit shown, shape (k,) each.
        onset: 5 and 95 % of the onset, s after midnight UTC; empty without one.
    """

    time: Array
    bands: dict[str, Array]
    flown: Array
    flights: tuple[tuple[str, dict[str, Array]], ...]
    onset: tuple[float, ...]


def flight_curves(results: Results, sheet: AnswerSheet) -> FlightCurves:
    """Data and nearest flights on one clock.

    Args:
        results: A results folder, read.
        sheet: The sheet, which names the flights.

    Returns:
        The curves; without flights the last part of the data alone.
    """
    epoch = results.findings.epoch
    midnight = epoch.hour * 3600.0 + epoch.minute * 60.0 + epoch.second + epoch.microsecond * 1e-6
    flown, flights = _nearest(results, sheet)
    first, last = _stretch(results, flown)
    medians = [results.bands[name][2] for name in QUANTITIES if name in results.bands]
    shown = kept_within(results.time, medians, POINTS, (first, last))
    return FlightCurves(
        time=results.time[shown] + midnight,
        bands={
            name: _bands(results, name)[:, shown] for name in QUANTITIES if name in results.bands
        },
        flown=flown + midnight,
        flights=flights,
        onset=_onset(results, midnight),
    )


def _bands(results: Results, name: str) -> Array:
    return np.where(results.observable[name], results.bands[name], np.nan) / SHOWN[name].factor


def _onset(results: Results, midnight: float) -> tuple[float, ...]:
    motion = results.findings.motion
    if motion is None or motion.onset is None or not motion.onset.found:
        return ()
    return motion.onset.left[0] + midnight, motion.onset.left[-1] + midnight


def _stretch(results: Results, flown: Array) -> tuple[float, float]:
    """What is compared and a part before it; else the last two minutes or so."""
    last = float(results.time[-1])
    if flown.size:
        span = float(np.ptp(flown))
        return float(flown[0]) - BEFORE * span, float(flown[-1])
    return max(float(results.time[0]), last - 150.0), last


def _nearest(
    results: Results, sheet: AnswerSheet
) -> tuple[Array, tuple[tuple[str, dict[str, Array]], ...]]:
    """Nearest flights as the odds saved them; none where an older file holds none."""
    found = results.findings.weighing
    path = None if found is None else results.folder / found.data_file
    if path is None or not path.is_file() or not sheet.flights:
        return np.zeros(0), ()
    try:
        with opened(path) as root:
            time = root["time"].values.astype(float)
        with opened(path, group="nearest") as data:
            causes = [str(name) for name in data["cause"].values]
            curves = tuple(
                (
                    title,
                    {
                        name: data[name].values[causes.index(cause)] / SHOWN[name].factor
                        for name in QUANTITIES
                    },
                )
                for cause, title in sheet.flights
                if cause in causes
            )
    except (KeyError, NeutralPointError):  # made before flights were kept
        return np.zeros(0), ()
    return time, curves


def flights_figure(curves: FlightCurves, *, narrow: bool = False) -> Sheet:
    """Altitude, speed and pitch with the nearest flights, and the residual beside.

    Args:
        curves: What to draw.
        narrow: For a phone: residuals below instead of beside.

    Returns:
        The figure.
    """
    names = [name for name in QUANTITIES if name in curves.bands]
    with print_style():
        if narrow:
            each = 2 if curves.flights else 1  # curves, and the residual below them
            figure = _blank(NARROW, (1.2 + 0.6 * (each - 1)) * len(names) + 0.5)
            rows = figure.subplots(
                each * len(names), 1, sharex=True, squeeze=False,
                height_ratios=[2.0, 1.0][:each] * len(names),
            )[:, 0]  # fmt: skip
            columns = [rows[k::each] for k in range(each)]
        else:
            figure = _blank(WIDE, 0.79 * len(names) + 0.36)
            beside = bool(curves.flights)
            grid = figure.subplots(
                len(names), 2 if beside else 1, sharex=True, squeeze=False,
                width_ratios=[1.75, 1.0] if beside else None,
            )  # fmt: skip
            columns = list(grid.T)
        for axes, name in zip(columns[0], names, strict=True):
            _curves(axes, curves, name)
        for axes, name in zip(columns[1] if len(columns) > 1 else (), names, strict=False):
            _residual(axes, curves, name, shared=narrow)
        for column in columns[-1:] if narrow else columns:
            _clock_axis(column, short=narrow or column is not columns[0])
        _legend(figure, curves, columns=2 if narrow else 5)
        return figure


def _blank(width: float, height: float) -> Sheet:
    """A figure without a ground of its own: it lies on whatever paper there is."""
    return Sheet(figsize=(width, height), layout="constrained", facecolor="none")


def _curves(axes: Axes, curves: FlightCurves, name: str) -> None:
    low90, low50, median, high50, high90 = curves.bands[name]
    axes.fill_between(curves.time, low90, high90, color=palette.BAND_90, linewidth=0)
    axes.fill_between(curves.time, low50, high50, color=palette.BAND_50, linewidth=0)
    axes.plot(curves.time, median, color=palette.INKS[0], linewidth=1.4)
    for number, (_, values) in enumerate(curves.flights, start=1):
        axes.plot(curves.flown, values[name], **_line(number))
    axes.set_title(
        f"{KNOWN[name].short}, {SHOWN[name].unit}",
        loc="left",
        fontsize=7.5,
        color=palette.INK,
        pad=2,
    )
    _onset_shade(axes, curves)
    axes.set_xlim(curves.time[0], curves.time[-1])
    axes.yaxis.set_major_locator(MaxNLocator(3, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(FuncFormatter(_plain))


def _line(number: int) -> dict:
    """Each flight has an ink, a dash and a weight of its own: it stays apart in gray."""
    return {
        "color": palette.INKS[number],
        "dashes": palette.DASHES[number],
        "linewidth": 1.1 + 0.25 * number,
    }


def _plain(value: float, _at: object = None) -> str:
    return f"{value:,.0f}".replace("-", "\u2212")


def _residual(axes: Axes, curves: FlightCurves, name: str, *, shared: bool) -> None:
    """Flight less data, with the data's own 90 % band about nothing."""
    low90, _, median, _, high90 = curves.bands[name]
    axes.fill_between(
        curves.time, low90 - median, high90 - median, color=palette.BAND_90, linewidth=0
    )
    axes.axhline(0.0, color=palette.INKS[0], linewidth=1.0)
    middle = np.interp(curves.flown, curves.time, median)
    for number, (_, values) in enumerate(curves.flights, start=1):
        axes.plot(curves.flown, values[name] - middle, **_line(number))
    title = "simulated less data" if name != QUANTITIES[0] else "Residual: simulated less data"
    axes.set_title(title, loc="left", fontsize=7.5, color=palette.QUIET, pad=2)
    if not shared:
        axes.set_xlim(curves.flown[0], curves.flown[-1])
    axes.yaxis.set_major_locator(MaxNLocator(3, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(FuncFormatter(_plain))


def _onset_shade(axes: Axes, curves: FlightCurves) -> None:
    if curves.onset:
        axes.axvspan(*curves.onset, color=PRINT.onset, linewidth=0, zorder=0)
        for time in curves.onset:
            axes.axvline(time, color=palette.QUIET, linewidth=0.8, linestyle=":")


def _clock_axis(column: np.ndarray, *, short: bool) -> None:
    first, last = column[-1].get_xlim()
    ticks = round_ticks(first, last)
    step = -(-len(ticks) // (3 if short else 6))
    column[-1].xaxis.set_major_locator(FixedLocator(ticks[:: max(step, 1)].tolist()))
    column[-1].xaxis.set_major_formatter(FuncFormatter(lambda x, _: clock(x)))


def _legend(figure: Sheet, curves: FlightCurves, *, columns: int) -> None:
    """Named above the panels, in the order that they are drawn."""
    axes = figure.axes[0]
    handles = [axes.plot([], [], color=palette.INKS[0], linewidth=1.4)[0]]
    labels = ["data, 50% and 90% bands"]
    for number, (title, _) in enumerate(curves.flights, start=1):
        handles.append(axes.plot([], [], **_line(number))[0])
        labels.append(title.split(" (")[0])
    if curves.onset:
        handles.append(axes.plot([], [], color=palette.QUIET, linewidth=0.8, linestyle=":")[0])
        labels.append("onset, 90% shaded")
    figure.legend(
        handles, labels, loc="outside upper left", ncols=columns, frameon=False,
        fontsize=6.6 if columns > 2 else 6.2, handlelength=3.0 if columns > 2 else 2.4,
        columnspacing=1.1, borderaxespad=0.1,
    )  # fmt: skip


def recovery_figure(recovery: Recovery) -> Sheet:
    """Share of simulated pilots that recovers against the delay, by procedure.

    Args:
        recovery: What to draw; it has shares.

    Returns:
        The figure.
    """
    with print_style():
        figure = _blank(SMALL, 1.38)
        axes = figure.subplots()
        for number, (procedure, shares) in enumerate(recovery.shares.items()):
            values = 100.0 * np.array(shares)
            axes.plot(
                recovery.delays, values, label=procedure, color=palette.INKS[number % 4],
                dashes=palette.DASHES[number % 4] or (None, None), linewidth=1.3,
                marker="osD^"[number % 4], markersize=3, markevery=2, clip_on=False,
            )  # fmt: skip
        axes.set_ylim(0.0, 100.0)
        axes.set_xlim(recovery.delays[0], recovery.delays[-1])
        axes.set_xlabel("delay from recognition to first action, s", labelpad=1)
        axes.set_title("Recovered, % of simulated pilots", loc="left", fontsize=7.5, pad=2)
        axes.yaxis.set_major_locator(FixedLocator([0, 50, 100]))
        axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
        figure.legend(
            loc="outside upper left", ncols=2, frameon=False, fontsize=6.6, handlelength=3.0,
            columnspacing=1.0, borderaxespad=0.1,
        )  # fmt: skip
        return figure


def sway_figure(sway: Sway) -> Sheet:
    """The tornado: odds of the leader with each assumption at its two ends.

    Args:
        sway: What to draw.

    Returns:
        The figure.
    """
    with print_style():
        titles = [fill(line.title, 60) for line in reversed(sway.lines)]
        row = 0.19 if any("\n" in title for title in titles) else 0.165  # inch
        figure = _blank(SMALL, 0.4 + row * len(titles))
        axes = figure.subplots()
        for place, line in enumerate(reversed(sway.lines)):
            axes.barh(
                place, max(line.high - line.low, 0.004), left=line.low, height=0.6,
                color="white" if line.turns else palette.BAND_50,
                edgecolor=palette.LIMIT if line.turns else palette.EDGE,
                hatch="//////" if line.turns else None, linewidth=0.8,
            )  # fmt: skip
            for value, side, shift in ((line.low, "right", -0.015), (line.high, "left", 0.015)):
                axes.annotate(
                    f"{value:.2f}", (value + shift, place), ha=side, va="center", fontsize=6.4
                )
        axes.axvline(sway.stands, color=palette.INK, linewidth=1.1)
        axes.set_yticks(range(len(sway.lines)), titles)
        axes.set_xlim(-0.14, 1.14)
        axes.set_ylim(-0.6, len(sway.lines) - 0.4)
        axes.xaxis.set_major_locator(FixedLocator([0.0, 0.5, 1.0]))
        axes.grid(visible=False, axis="y")
        axes.tick_params(axis="y", length=0, labelsize=6.8)
        axes.tick_params(axis="x", pad=1)
        return figure
