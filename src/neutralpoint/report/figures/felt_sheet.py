"""Perceived against flown pitch and bank, and the force at the seat, with their bands."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Sheet
from matplotlib.ticker import FuncFormatter

from neutralpoint.numerics.arrays import Array
from neutralpoint.numerics.quantiles import bands
from neutralpoint.quantities import DEGREE
from neutralpoint.report.figures import palette
from neutralpoint.report.figures.display import clock
from neutralpoint.report.figures.draw_matplotlib import WIDTH, print_style
from neutralpoint.report.results import Results, open_result

HEIGHT = 4.2  # inch
FLOWN, PERCEIVED = palette.INKS[0], "#b3261e"
MODELS = (("observer", "--"), ("filter", ":"))


@dataclass(frozen=True)
class _Pair:
    """A flown quantity and what is perceived of it, by variables of the file."""

    flown: str
    perceived: str
    label: str


PAIRS = (
    _Pair("pitch_angle", "perceived_pitch", "pitch, \u00b0"),
    _Pair("wings_bank", "perceived_bank", "bank, \u00b0"),
)


def felt_sheets(results: Results) -> list[Sheet]:
    """The picture; none where nothing is said of what was perceived.

    Args:
        results: A results folder, read.

    Returns:
        At most one sheet.
    """
    found = results.findings.felt
    if found is None or found.perception is None or not (results.folder / found.file).is_file():
        return []
    data = open_result(results.folder, found.file)
    epoch = results.findings.epoch
    midnight = epoch.hour * 3600.0 + epoch.minute * 60.0 + epoch.second
    elapsed = data["time"].values
    if np.issubdtype(elapsed.dtype, np.datetime64):
        start = np.datetime64(epoch.replace(tzinfo=None))
        elapsed = (elapsed - start) / np.timedelta64(1, "s")
    time = elapsed.astype(float) + midnight
    with print_style():
        sheet = Sheet(figsize=(WIDTH, HEIGHT), layout="constrained")
        upper, middle, lower = sheet.subplots(3, 1, sharex=True)
        for axes, pair in ((upper, PAIRS[0]), (middle, PAIRS[1])):
            flown = data[pair.flown].values.astype(float) / DEGREE
            perceived = data[pair.perceived].values.astype(float) / DEGREE
            _draw(axes, time, flown[: len(flown) // 2], perceived)
            axes.set_ylabel(pair.label)
        load = data["seat_load"].values.astype(float)
        _band(lower, time, load[: len(load) // 2], FLOWN, "force at the seat, over gravity")
        lower.set_ylabel("seat force, g")
        if found.onset is not None and time[0] < found.onset + midnight < time[-1]:
            for axes in (upper, middle, lower):
                axes.axvline(found.onset + midnight, color=palette.INK, lw=0.8, ls=":")
        lower.xaxis.set_major_formatter(FuncFormatter(lambda x, _: clock(x)))
        lower.set_xlabel("UTC; dotted upright line: onset")
        upper.set_title(
            "What two models perceive without outside view; never what anyone felt",
            fontsize=7.5,
            loc="left",
        )
        upper.legend(loc="best", fontsize=7, frameon=False, ncols=2)
        lower.legend(loc="best", fontsize=7, frameon=False)
    return [sheet]


def _band(axes: Axes, time: Array, paths: Array, color: str, label: str) -> None:
    low, _, mid, _, high = bands(paths)
    axes.fill_between(time, low, high, color=color, alpha=0.18, lw=0)
    axes.plot(time, mid, color=color, lw=1.2, label=f"{label}, with its 90% band")


def _draw(axes: Axes, time: Array, flown: Array, perceived: Array) -> None:
    _band(axes, time, flown, FLOWN, "flown")
    _band(axes, time, perceived, PERCEIVED, "perceived")
    for rows, (name, line) in zip(np.split(perceived, 2), MODELS, strict=True):
        axes.plot(time, np.median(rows, axis=0), color=PERCEIVED, lw=0.8, ls=line, label=name)
