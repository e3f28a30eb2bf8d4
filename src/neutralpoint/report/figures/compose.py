"""From results to the figure that all renderers draw."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import xarray as xr

from neutralpoint.findings import PanelRequest as Request
from neutralpoint.numerics.arrays import Array, Flags, Index
from neutralpoint.numerics.quantiles import bands
from neutralpoint.report.figures import display
from neutralpoint.report.figures.display import SHOWN, Shown
from neutralpoint.report.figures.figure import (
    Axis,
    Band,
    Figure,
    Level,
    Mark,
    Panel,
    PathView,
    PlottedReadings,
    Shade,
    Strips,
)
from neutralpoint.report.figures.kept import Arrays, kept_arrays
from neutralpoint.report.figures.thinning import kept_times
from neutralpoint.report.figures.views import path_views, view_at
from neutralpoint.report.results import Channel, Results, open_result
from neutralpoint.vocabulary import CIRCULAR

# Variable of motion.nc and the channel of readings that belongs to it.
MOTION_PANELS: tuple[tuple[str, str], ...] = (
    ("pressure_altitude", "pressure_altitude"),
    ("vertical_speed", "vertical_rate"),
    ("calibrated_airspeed", ""),
    ("true_airspeed", ""),
    ("ground_speed", "ground_speed"),
    ("normal_load_factor", ""),
    ("longitudinal_load_factor", ""),
    ("flight_path_angle", ""),
    ("pitch_angle", ""),
    ("angle_of_attack", ""),
    ("bank_angle", ""),
    ("track_angle", "track_angle"),
    ("specific_energy_height", ""),
)
Within = tuple[float, float]
WHOLE: Within = (-np.inf, np.inf)
MARGIN = 0.06  # of the range, above and below the curves
DAY = 86400.0


def compose_figure(
    results: Results,
    *,
    limit: int,
    within: Within = WHOLE,
    views: tuple[PathView, ...] | None = None,
) -> Figure:
    """The strip charts of the motion and the views of the path, or of a stretch of them.

    Args:
        results: A results folder, read.
        limit: Largest number of times drawn.
        within: First and last moment drawn, s after the first; one more time on each side is
            drawn where there is one. The time axis stays that of the whole.
        views: Of all times, as `path_views` returned them, where it was called before.

    Returns:
        The figure, in the units shown.
    """
    strips, kept = _motion_strips(results, limit, within)
    whole = path_views(results) if views is None else views
    return Figure(strips=strips, views=tuple(view_at(view, kept) for view in whole))


def _motion_strips(results: Results, limit: int, within: Within) -> tuple[Strips, Index]:
    present = [entry for entry in MOTION_PANELS if entry[0] in results.bands]
    start = float(results.time[0])
    kept = kept_within(
        results.time - start, [results.bands[name][2] for name, _ in present], limit, within
    )
    strips = Strips(
        day=results.findings.epoch.date().isoformat(),
        start=start + _since_midnight(results),
        time=results.time[kept] - start,
        panels=tuple(_motion_panel(results, *entry, kept) for entry in present),
        marks=_marks(results, start),
    )
    return strips, kept


def kept_within(time: Array, curves: list[Array], limit: int, within: Within) -> Index:
    """Which times are drawn of a stretch, with the neighbours of its ends.

    Args:
        time: s after the first, shape (m,).
        curves: Whose extremes are kept, each (m,).
        limit: Largest number of times.
        within: First and last moment, s.

    Returns:
        Indices.
    """
    first = max(int(np.searchsorted(time, within[0], "left")) - 1, 0)
    last = min(int(np.searchsorted(time, within[1], "right")) + 1, len(time))
    part = slice(min(first, len(time) - 1), max(last, 1))
    return part.start + kept_times(time[part], [curve[part] for curve in curves], limit)


@dataclass(frozen=True)
class StageCurves:
    """What a stage asks to be drawn, read from its files.

    Attributes:
        time: s after the epoch, shape (m,).
        panels: Each request with its quantiles, SI, shape (5, m).
    """

    time: Array
    panels: tuple[tuple[Request, Array], ...]


def load_stage(results: Results, requests: list[Request]) -> StageCurves:
    """Read the curves that a later stage asks for.

    Args:
        results: A results folder, read.
        requests: Panels of one stage; all from files on one time axis.

    Returns:
        The curves.
    """
    files = {file: _stage_arrays(results, requests, file) for file in {r.file for r in requests}}
    return StageCurves(
        time=files[requests[0].file]["time"],
        panels=tuple((r, files[r.file][f"bands {r.variable}"]) for r in requests),
    )


def _stage_arrays(results: Results, requests: list[Request], file: str) -> Arrays:
    wanted = sorted({r.variable for r in requests if r.file == file})

    def read() -> Arrays:
        data = open_result(results.folder, file)
        found = {f"bands {name}": _stage_bands(name, data) for name in wanted}
        return found | {"time": data["time"].values.astype(float)}

    return kept_arrays(results.folder / Path(file).name, f"stage {wanted}", read)


def compose_stage(results: Results, requests: list[Request], *, limit: int) -> Strips:
    """The strip charts that a later stage asks for, on the times of its own file.

    Args:
        results: A results folder, read.
        requests: Panels of one stage; all from files on one time axis.
        limit: Largest number of times drawn.

    Returns:
        The strip charts, in the units shown.
    """
    return draw_stage(results, load_stage(results, requests), limit=limit)


def draw_stage(
    results: Results, curves: StageCurves, *, limit: int, within: Within = WHOLE
) -> Strips:
    """Strip charts of curves that were read before.

    Args:
        results: A results folder, read.
        curves: Of one stage.
        limit: Largest number of times drawn.
        within: As in `compose_figure`.

    Returns:
        The strip charts, in the units shown.
    """
    time, found = curves.time, [quantiles for _, quantiles in curves.panels]
    start = float(time[0])
    kept = kept_within(time - start, [quantiles[2] for quantiles in found], limit, within)
    return Strips(
        day=results.findings.epoch.date().isoformat(),
        start=start + _since_midnight(results),
        time=time[kept] - start,
        panels=tuple(
            _stage_panel(request, quantiles[:, kept], _shades(time - start, hidden(quantiles)))
            for request, quantiles in curves.panels
        ),
        marks=_marks(results, start),
    )


def _since_midnight(results: Results) -> float:
    epoch = results.findings.epoch
    return epoch.hour * 3600.0 + epoch.minute * 60.0 + epoch.second + epoch.microsecond * 1e-6


def _marks(results: Results, start: float) -> tuple[Mark, ...]:
    return tuple(
        Mark(number, event.time - start, event.half_width, event.kind, event.text)
        for number, event in enumerate(results.findings.events, start=1)
    )


def _motion_panel(results: Results, name: str, channel: str, kept: Index) -> Panel:
    shown = SHOWN[name]
    seen = results.observable[name]
    quantiles = np.where(seen, results.bands[name], np.nan)[:, kept] / shown.factor
    readings = None
    if channel in results.channels:
        readings = _readings(results, results.channels[channel], name, shown)
    return Panel(
        key=name,
        title=shown.title,
        axis=_axis(shown, quantiles, readings),
        bands=(Band(shown.title, "derived", quantiles),),
        readings=readings,
        shades=_shades(results.time - results.time[0], ~seen),
    )


def _readings(results: Results, channel: Channel, name: str, shown: Shown) -> PlottedReadings:
    value = channel.value[:, 0]
    if name in CIRCULAR:
        near = np.interp(channel.time, results.time, results.bands[name][2])
        value = value + 2.0 * np.pi * np.round((near - value) / (2.0 * np.pi))
    return PlottedReadings(
        label=f"{shown.title}, as received",
        time=channel.time - results.time[0],
        value=value / shown.factor,
        suspect=channel.suspect.astype(float),
        half_step=channel.step / shown.factor / 2.0,
    )


def _axis(
    shown: Shown,
    quantiles: Array,
    readings: PlottedReadings | None = None,
    levels: tuple[Level, ...] = (),
) -> Axis:
    drawn = [quantiles[np.isfinite(quantiles)], np.array([level.value for level in levels])]
    if readings is not None:
        drawn.append(readings.value[readings.suspect == 0])
    values = np.concatenate(drawn)
    low, high = (values.min(), values.max()) if values.size else (0.0, 1.0)
    margin = MARGIN * (high - low) or 1.0
    return Axis(
        unit=shown.unit,
        low=float(low - margin),
        high=float(high + margin),
        decimals=shown.decimals,
        second_unit=shown.second_unit,
        second_factor=shown.second_factor,
        wrap=shown.wrap,
    )


def _shades(time: Array, hidden: Flags) -> tuple[Shade, ...]:
    edges = np.flatnonzero(np.diff(np.r_[False, hidden, False].astype(np.int8)))
    return tuple(
        Shade(float(time[first]), float(time[last - 1])) for first, last in edges.reshape(-1, 2)
    )


def _stage_bands(name: str, data: xr.Dataset) -> Array:
    """Quantiles, NaN where the stage says that the data bear no value."""
    samples = data[name].values.astype(float)
    quantiles = np.full((5, samples.shape[1]), np.nan)
    known = np.isfinite(samples).all(axis=0)
    flag = f"observable_{name}"
    if flag in data:
        known &= data[flag].values.astype(bool)
    if known.any():
        circular = name in CIRCULAR
        quantiles[:, known] = bands(samples[:, known], circular=circular)
    return quantiles


def hidden(quantiles: Array) -> Flags:
    """Where there is no value, shape (m,)."""
    return ~np.isfinite(quantiles[2])


def _stage_panel(request: Request, quantiles: Array, shades: tuple[Shade, ...]) -> Panel:
    shown = display.shown_unit(request.unit, request.variable)
    scaled = quantiles / shown.factor
    levels = tuple(Level(limit.value / shown.factor, limit.label) for limit in request.limits)
    return Panel(
        key=f"{request.file.removesuffix('.nc')}_{request.variable}",
        title=request.label,
        axis=_axis(shown, scaled, levels=levels),
        bands=(Band(request.label, "derived", scaled),),
        levels=levels,
        shades=shades,
    )
