"""The signature sheet: height, airspeed and pitch of every cause beside those of the data."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Sheet
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FuncFormatter, MaxNLocator, MultipleLocator

from neutralpoint.findings import Findings, Parting, SignatureRow
from neutralpoint.numerics.arrays import Array
from neutralpoint.report.figures import palette
from neutralpoint.report.figures.display import SHOWN as UNITS
from neutralpoint.report.figures.display import printed
from neutralpoint.report.figures.draw_matplotlib import WIDTH, print_style
from neutralpoint.report.results import Results, opened
from neutralpoint.report.words.signatures import (
    excluded_reason,
    judged_by_cause,
    never_flown,
    stays,
)

QUANTITIES = ("altitude", "calibrated_airspeed", "pitch_angle")
HEADS = ("Height (ft)", "Airspeed (kt CAS)", "Pitch (\u00b0)")
LEAST = (150.0, 20.0, 0.26)  # SI, that an axis spans at least
SPARE = 0.45  # of the range of the data, above and below
PILOT, HANDS_OFF = 0, 1  # places along `hands`
LOW, MIDDLE, HIGH = 0, 1, 2  # places along `level`
PER_SHEET = 16
EVERY = 2  # records drawn: half a second apart they are finer than the panels show
# Inches.
TOP, BLOCK, TITLE, HEIGHT, FOOT_ROOM = 0.56, 3.5, 0.34, 0.64, 0.26
HEAD = 0.12  # more above the first line, for the names of the columns
PAD, PANEL, GAP, ROW = 0.44, 0.78, 0.34, 1.12
GREY, GREY_BAND = "#7d858d", "#dcdfe2"


@dataclass(frozen=True)
class Kept:
    """What `signatures.nc` holds, SI; times in s after the flights begin.

    Attributes:
        time: Shape (m,).
        flights: By quantity, shape (cause, hands, level, m).
        nearest: By quantity, shape (cause, m).
        seen: By quantity, shape (level, m).
        causes: In the order of the arrays.
    """

    time: Array
    flights: dict[str, Array]
    nearest: dict[str, Array]
    seen: dict[str, Array]
    causes: list[str]


def read_signatures(path: Path, begin: float) -> Kept:
    """Read the file of the sheet.

    Args:
        path: `signatures.nc`.
        begin: When its flights begin, s after the epoch.

    Returns:
        Its content.

    Raises:
        NeutralPointError: `results-version` where it cannot be read.
    """
    with opened(path) as data:
        return Kept(
            data["time"].values[::EVERY].astype(float) - begin,
            {name: _drawn(data, name) for name in QUANTITIES},
            {name: _drawn(data, f"nearest_{name}") for name in QUANTITIES},
            {name: _drawn(data, f"seen_{name}") for name in QUANTITIES},
            [str(name) for name in data["cause"].values],
        )


def _drawn(data: xr.Dataset, name: str) -> Array:
    return data[name].values[..., ::EVERY].astype(float)


def signature_sheets(results: Results) -> list[Sheet]:
    """The sheet, on as many pages as the causes need.

    Args:
        results: A results folder, read.

    Returns:
        The sheets, most probable causes first; none where the study has not flown them.
    """
    findings = results.findings
    found = findings.signatures
    if found is None or not (results.folder / found.file).is_file():
        return []
    kept = read_signatures(results.folder / found.file, found.begin)
    judged = judged_by_cause(findings)
    rows = [(row, excluded_reason(judged.get(str(row.cause)))) for row in found.rows]
    rows.sort(key=lambda pair: bool(pair[1]))  # stable: by odds within either
    pages = [rows[k : k + PER_SHEET] for k in range(0, len(rows), PER_SHEET)]
    with print_style():
        return [
            _page(kept, page, findings, first=PER_SHEET * number + 1, last=page is pages[-1])
            for number, page in enumerate(pages)
        ]


def _page(
    kept: Kept,
    rows: list[tuple[SignatureRow, str]],
    findings: Findings,
    *,
    first: int,
    last: bool,
) -> Sheet:
    lines = (len(rows) + 1) // 2
    gated = never_flown(findings) if last else []
    height = TOP + HEAD + lines * ROW + FOOT_ROOM + 0.14 * len(gated)
    sheet = Sheet(figsize=(WIDTH, height))
    _legend(sheet, height)
    limits = {name: shown_limits(name, kept) for name in QUANTITIES}
    for number, (row, reason) in enumerate(rows):
        line, side = divmod(number, 2)
        left, top = side * (BLOCK + 0.1), TOP + line * ROW + (HEAD if line else 0.0)
        drop = TITLE + (0.0 if line else HEAD)
        place = kept.causes.index(str(row.cause))
        _title(sheet, height, left, top, first + number, row, reason, findings)
        for column, name in enumerate(QUANTITIES):
            box = (
                (left + PAD + column * (PANEL + GAP)) / WIDTH,
                1.0 - (top + drop + HEIGHT) / height,
                PANEL / WIDTH,
                HEIGHT / height,
            )
            axes = sheet.add_axes(box)
            parted = next((p for p in row.with_pilot if p.quantity == name), None)
            _panel(axes, kept, place, name, parted, findings, grey=bool(reason))
            axes.set_xlim(0.0, float(kept.time[-1]))
            axes.set_ylim(*limits[name])
            if number < 2:
                axes.set_title(HEADS[column], fontsize=6, color=palette.QUIET, pad=2)
            if number < len(rows) - 2:
                axes.set_xticklabels([])
    for number, (title, why) in enumerate(gated):
        sheet.text(
            PAD / WIDTH, (0.05 + 0.14 * (len(gated) - number - 1)) / height,
            f"not flown: {title}. {why}", fontsize=6, color=GREY, va="bottom",
        )  # fmt: skip
    return sheet


def shown_limits(name: str, kept: Kept) -> tuple[float, float]:
    """Ends of the axis of a quantity, in the unit shown.

    Args:
        name: Of the quantity.
        kept: What the data and the flights are.

    Returns:
        Low and high end: about the data, or about the middle of the flights where the data show
        nothing of it, such as an airspeed without a wind.
    """
    factor = UNITS[name].factor
    seen = kept.seen[name]
    if not np.isfinite(seen).any():
        seen = kept.flights[name][:, :, MIDDLE]
    low, high = float(np.nanmin(seen)), float(np.nanmax(seen))
    spare = max(SPARE * (high - low), 0.5 * (LEAST[QUANTITIES.index(name)] - high + low))
    return (low - spare) / factor, (high + spare) / factor


def _legend(sheet: Sheet, height: float) -> None:
    handles = [
        (Line2D([], [], color=palette.INK, linewidth=1.6), "the data (90% band)"),
        (
            Line2D([], [], color=palette.INKS[0], linewidth=1.0),
            "with a pilot: nearest",
        ),
        (
            Patch(facecolor=palette.BAND_90, edgecolor=palette.EDGE, linewidth=0.4),
            "nearest flights, 90%",
        ),
        (
            Line2D([], [], color=palette.INKS[1], linewidth=1.0, dashes=(3, 2)),
            "hands off: median and 90%",
        ),
        (Patch(facecolor=palette.LIMIT, alpha=0.16), "pilot and data apart"),
    ]
    sheet.legend(
        [handle for handle, _ in handles],
        [text for _, text in handles],
        loc="upper left",
        bbox_to_anchor=(0.04, 1.0 - 0.03 / height),
        ncols=len(handles),
        frameon=False,
        fontsize=6.5,
        handlelength=1.8,
        columnspacing=1.2,
    )
    sheet.text(
        0.055, 1.0 - 0.33 / height, "Across: seconds after the last trimmed flight. Most probable "
        "causes first; excluded ones last, in gray.", fontsize=6.5, color=palette.QUIET, va="top",
    )  # fmt: skip


def _title(
    sheet: Sheet,
    height: float,
    left: float,
    top: float,
    number: int,
    row: SignatureRow,
    reason: str,
    findings: Findings,
) -> None:
    begin = 0.0 if findings.signatures is None else findings.signatures.begin
    ink = GREY if reason else palette.INK
    x = (left + PAD - 0.3) / WIDTH
    sheet.text(
        x, 1.0 - (top + 0.03) / height, f"{number}  {row.cause.title}", fontsize=7.5,
        fontweight="bold", color=ink, va="top",
    )  # fmt: skip
    said = f"excluded: {reason}" if reason else stays(row, begin)
    odds = "odds under 0.01" if row.probability < 0.005 else f"odds {row.probability:.2f}"
    tone = palette.LIMIT if row.first is not None and not reason else palette.QUIET
    sheet.text(
        x, 1.0 - (top + 0.17) / height, f"{odds}; {said}", fontsize=6,
        color=GREY if reason else tone, va="top",
    )  # fmt: skip


def _panel(
    axes: Axes,
    kept: Kept,
    place: int,
    name: str,
    parted: Parting | None,
    findings: Findings,
    *,
    grey: bool,
) -> None:
    factor, time = UNITS[name].factor, kept.time
    off, flown = kept.flights[name][place, HANDS_OFF] / factor, kept.flights[name][place] / factor
    seen = kept.seen[name] / factor
    loose, band, edge, ink = (
        (GREY, GREY_BAND, GREY, GREY)
        if grey
        else (palette.INKS[1], palette.BAND_90, palette.EDGE, palette.INKS[0])
    )
    axes.fill_between(time, off[LOW], off[HIGH], color=loose, alpha=0.2, linewidth=0)
    pilot = flown[PILOT]
    axes.fill_between(
        time, pilot[LOW], pilot[HIGH], facecolor=band, edgecolor=edge, linewidth=0.3, alpha=0.85
    )
    axes.plot(time, off[MIDDLE], color=loose, linewidth=0.9, dashes=(3, 2))
    axes.plot(time, kept.nearest[name][place] / factor, color=ink, linewidth=0.9)
    if parted is not None and parted.time is not None and not grey:
        begin = 0.0 if findings.signatures is None else findings.signatures.begin
        axes.axvspan(
            parted.time - begin, float(time[-1]), color=palette.LIMIT, alpha=0.16, linewidth=0,
            zorder=0,
        )  # fmt: skip
    axes.fill_between(time, seen[LOW], seen[HIGH], color=palette.INK, alpha=0.28, linewidth=0)
    axes.plot(time, seen[MIDDLE], color=palette.INK, linewidth=1.5)
    axes.tick_params(labelsize=5.5, length=1.5, width=0.4, pad=1)
    axes.xaxis.set_major_locator(MultipleLocator(20))
    axes.yaxis.set_major_locator(MaxNLocator(3, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda y, _: printed(y, 0)))
    for spine in axes.spines.values():
        spine.set_linewidth(0.4)
