"""Spectra of the recordings with the blade rate that was followed."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure as Sheet
from matplotlib.ticker import FuncFormatter

from neutralpoint.report.figures.display import clock
from neutralpoint.report.figures.draw_matplotlib import WIDTH, print_style
from neutralpoint.report.results import Results, open_result

HEIGHT = 2.6  # inch a recording
SURE = 0.5  # chance of a line from which it is drawn
LINE = "#b3261e"


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
    names = [one.name for one in found.recordings if one.begin is not None]
    sheets = []
    with print_style():
        for number, name in enumerate(names):
            time = data[f"time_{number}"].values + midnight
            frequency, line = data[f"frequency_{number}"].values, data[f"line_{number}"].values
            shown = np.where(data[f"present_{number}"].values > SURE, line, np.nan)
            sheet = Sheet(figsize=(WIDTH, HEIGHT), layout="constrained")
            axes = sheet.subplots()
            axes.pcolormesh(
                time, frequency, data[f"power_{number}"].values.T, cmap="Greys", rasterized=True,
                shading="nearest", vmin=0.0,
            )  # fmt: skip
            axes.plot(time, shown[1], color=LINE, lw=1.0, label="blade rate followed")
            axes.fill_between(time, shown[0], shown[2], color=LINE, alpha=0.3, lw=0)
            if found.onset is not None and time[0] < found.onset + midnight < time[-1]:
                axes.axvline(found.onset + midnight, color=LINE, lw=0.8, ls=":", label="onset")
            axes.xaxis.set_major_formatter(FuncFormatter(lambda x, _: clock(x)))
            axes.set_ylabel("Hz")
            axes.set_xlabel("UTC")
            axes.set_title(name, fontsize=7.5, loc="left")
            axes.grid(visible=False)
            axes.legend(loc="upper right", fontsize=7)
            sheets.append(sheet)
    return sheets
