"""The tables of the page, as text ready to print."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.findings import Banded, Findings, KeyTime, ReadingStep, ResolutionRow
from neutralpoint.report.figures.compose import MOTION_PANELS
from neutralpoint.report.figures.display import SHOWN, printed, shown_unit
from neutralpoint.report.results import Results
from neutralpoint.report.words.motion import resolution_title
from neutralpoint.report.words.phrases import time_of_day

KEY_COLUMNS = (
    "altitude",
    "calibrated_airspeed",
    "ground_speed",
    "vertical_speed",
    "flight_path_angle",
    "pitch_angle",
    "bank_angle",
    "normal_load_factor",
)


@dataclass(frozen=True)
class Cell:
    """A value with its band, printed; `value` is empty where nothing may be said."""

    value: str
    span: str


@dataclass(frozen=True)
class KeyRow:
    """A row of the table at key times."""

    clock: str
    label: str
    kind: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class SeenRow:
    """How well one quantity can be seen."""

    title: str
    share: str
    typical: str
    widest: str


def headings() -> list[tuple[str, str]]:
    """Title and unit of each column of the table at key times."""
    return [(SHOWN[name].title, SHOWN[name].unit) for name in KEY_COLUMNS]


def key_rows(findings: Findings) -> list[KeyRow]:
    """The table at key times; rows at the same moment are joined."""
    rows: list[KeyRow] = []
    for entry in findings.key_times:
        at = time_of_day(findings, entry.time)
        if rows and rows[-1].clock == at and rows[-1].kind == entry.kind:
            label = f"{rows[-1].label}; {entry.label}"
            rows[-1] = KeyRow(at, label, entry.kind, rows[-1].cells)
        else:
            rows.append(KeyRow(at, entry.label, entry.kind, _cells(entry)))
    return rows


def _cells(entry: KeyTime) -> tuple[Cell, ...]:
    return tuple(
        cell(name, entry.values[name]) if name in entry.values else Cell("", "")
        for name in KEY_COLUMNS
    )


def cell(name: str, value: Banded) -> Cell:
    """A value with its 90% band in the unit shown, without the unit."""
    if not value.observable:
        return Cell("", "")
    shown = SHOWN[name]
    return Cell(
        shown.number(value.median),
        f"{shown.number(value.low90)} to {shown.number(value.high90)}",
    )


def seen_table(results: Results) -> list[SeenRow]:
    """For each quantity: the share of time in which it is observable, and its 90% half-widths."""
    return [_seen(results, name) for name, _ in MOTION_PANELS if name in results.bands]


def _seen(results: Results, name: str) -> SeenRow:
    shown, flags = SHOWN[name], results.observable[name]
    low, high = results.bands[name][0], results.bands[name][4]
    half = (high - low)[flags] / 2.0 / shown.factor
    decimals = shown.decimals + (1 if shown.decimals == 0 else 0)
    sizes = (
        (f"± {shown.with_unit(printed(float(x), decimals))}" for x in (np.median(half), half.max()))
        if half.size
        else ("\u2013", "\u2013")
    )
    return SeenRow(shown.title, f"{100.0 * float(flags.mean()):.0f}%", *sizes)


def printed_step(step: ReadingStep) -> str:
    """The smallest change that a source reports, in the unit shown."""
    if step.step == 0.0:
        return "without a visible step"
    name = {"vertical_rate": "vertical_speed"}.get(step.quantity, step.quantity)
    shown = SHOWN.get(name, shown_unit(step.unit))
    size = step.step / shown.factor
    decimals = next((d for d in range(9) if abs(round(size, d) / size - 1.0) < 0.005), 9)
    return shown.with_unit(printed(size, decimals))


def resolution_grid(rows: list[ResolutionRow]) -> tuple[list[float], list[tuple[str, list[str]]]]:
    """Resolution by quantity (rows) and window (columns); each cell with its word.

    Args:
        rows: The resolution table of the findings.

    Returns:
        The windows, s, and for each quantity its cells, empty where the table says nothing.
    """
    windows = sorted({row.window for row in rows})
    quantities = list(dict.fromkeys(resolution_title(row) for row in rows))
    found = {(resolution_title(row), row.window): row for row in rows}
    grid = [
        (quantity, [_resolution(found.get((quantity, window))) for window in windows])
        for quantity in quantities
    ]
    return windows, grid


def _resolution(row: ResolutionRow | None) -> str:
    if row is None:
        return "too few readings"
    size = f"± {2.0 * row.sigma:.2g}"
    return f"{size}, {'usable' if row.usable else 'too coarse'}"
