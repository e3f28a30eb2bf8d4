"""Spectra of the recordings with what was found in them."""

from __future__ import annotations

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Sheet
from matplotlib.ticker import FuncFormatter

from neutralpoint.findings import HeardFindings, HeardRecording
from neutralpoint.numerics.arrays import Array
from neutralpoint.report.figures.display import clock
from neutralpoint.report.figures.draw_matplotlib import WIDTH, print_style
from neutralpoint.report.results import Results, open_result

HEIGHT = 3.0  # inch a recording
SURE = 0.5  # chance of a line from which it is drawn
LINE, OTHER, TONE = "#b3261e", "#1f5fa8", "#7a4bb0"
HARMONICS = 5  # that the blade rate was followed by
# Heights of the rows at the foot of a sheet, as shares of it: a carrier, and calls.
CARRIER, CALLS = 0.025, 0.06
EVENTS = {"begins": "o", "ends": "x", "rises": "^", "falls": "v"}


def heard_sheets(results: Results) -> list[Sheet]:
    """One sheet a recording that could be read; none where the stage has no results.

    Args:
        results: A results folder, read.

    Returns:
        The sheets.
    """
    found = results.findings.heard
    if found is None or not (results.folder / found.file).is_file():
        return []
    data = open_result(results.folder, found.file)
    epoch = results.findings.epoch
    midnight = epoch.hour * 3600.0 + epoch.minute * 60.0 + epoch.second
    sheets = []
    with print_style():
        for number, one in enumerate(one for one in found.recordings if one.begin is not None):
            sheet = Sheet(figsize=(WIDTH, HEIGHT), layout="constrained")
            axes = sheet.subplots()
            _lines(axes, data, number, midnight)
            _told(axes, one, midnight)
            _onset(axes, found, midnight)
            axes.xaxis.set_major_formatter(FuncFormatter(lambda x, _: clock(x)))
            axes.set(ylabel="Hz", xlabel="UTC")
            axes.set_title(one.name, fontsize=7.5, loc="left")
            axes.grid(visible=False)
            sheet.legend(loc="outside lower center", ncols=4, fontsize=7, frameon=False)
            sheets.append(sheet)
    return sheets


def _lines(axes: Axes, data: xr.Dataset, number: int, midnight: float) -> None:
    """The picture of the sound, and the lines that were followed through it."""
    time = data[f"time_{number}"].values + midnight
    frequency = data[f"frequency_{number}"].values
    axes.pcolormesh(
        time, frequency, data[f"power_{number}"].values.T, cmap="Greys", rasterized=True,
        shading="nearest", vmin=0.0,
    )  # fmt: skip
    shown = _sure(data, "line", "present", number)
    axes.plot(time, shown[1], color=LINE, lw=1.0, label="blade rate followed, with its 90% band")
    axes.fill_between(time, shown[0], shown[2], color=LINE, alpha=0.3, lw=0)
    for harmonic in range(2, HARMONICS + 1):
        axes.plot(
            time, harmonic * shown[1], color=LINE, lw=0.9, ls=(0, (5, 5)),
            label="its harmonics" if harmonic == 2 else None,
        )  # fmt: skip
    if f"second_{number}" in data:
        second = _sure(data, "second", "second_present", number)
        axes.plot(time, second[1], color=OTHER, lw=1.0, label="a second propeller")
    axes.set(ylim=(0.0, float(frequency[-1])), xlim=(float(time[0]), float(time[-1])))


def _sure(data: xr.Dataset, line: str, present: str, number: int) -> Array:
    """5, 50 and 95% of a line where there is one."""
    known = data[f"{present}_{number}"].values > SURE
    return np.where(known, data[f"{line}_{number}"].values, np.nan)


def _told(axes: Axes, one: HeardRecording, midnight: float) -> None:
    """Tones, a carrier, calls and what happened to the blade rate."""
    top = axes.get_ylim()[1]
    heard = "of the airplane when it was sent" if one.microphone == "ground" else "in it"
    for event in one.events:
        axes.plot(
            event.time + midnight, 0.95 * top, EVENTS[event.kind], color=LINE, ms=5,
            label=f"blade rate {event.kind} ({heard})",
        )  # fmt: skip
    for tone in one.tones:
        for number, span in enumerate(tone.spans):
            axes.plot(
                [span.begin + midnight, span.end + midnight], [tone.frequency] * 2, color=TONE,
                lw=2.5, label=tone.name if number == 0 else None,
            )  # fmt: skip
    for number, span in enumerate(one.carrier or []):
        _row(axes, span.begin + midnight, span.end + midnight, CARRIER,
             OTHER, "channel in use" if number == 0 else None)  # fmt: skip
    for number, call in enumerate(one.calls):
        _row(axes, call.begin + midnight, call.end + midnight, CALLS,
             TONE, "calls" if number == 0 else None)  # fmt: skip


def _row(axes: Axes, begin: float, end: float, place: float, color: str, label: str | None) -> None:
    """A bar in one of the rows at the foot."""
    axes.plot(
        [begin, end], [place, place], color=color, lw=3.0, solid_capstyle="butt", label=label,
        transform=axes.get_xaxis_transform(),
    )  # fmt: skip


def _onset(axes: Axes, found: HeardFindings, midnight: float) -> None:
    begin, end = axes.get_xlim()
    if found.onset is not None and begin < found.onset + midnight < end:
        axes.axvline(found.onset + midnight, color=LINE, lw=0.8, ls=":", label="onset")
