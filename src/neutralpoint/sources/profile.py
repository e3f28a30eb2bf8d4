"""One weather profile from what several sources say of the air."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from neutralpoint.earth import atmosphere
from neutralpoint.earth.weather import Weather, components, from_surface_report
from neutralpoint.errors import NeutralPointError
from neutralpoint.sources.levels import AirLevels, Floats
from neutralpoint.sources.metar import SurfaceReport

# A surface wind is a ten-minute mean at 10 m; the analyst's allowance for what flies above it.
SURFACE_SIGMA_WIND = 2.0  # m/s
SURFACE_SIGMA_TEMPERATURE = 1.0  # K
SAME_LEVEL = 30.0  # m: levels of several sources closer than this are averaged


@dataclass(frozen=True)
class AirSource:
    """Levels with the standard deviation that they are given.

    Attributes:
        levels: Wind and temperature.
        sigma_wind: Of each component, m/s.
        sigma_temperature: K.
    """

    levels: AirLevels
    sigma_wind: float
    sigma_temperature: float


def surface_source(
    report: SurfaceReport, elevation: float, altimeter_setting: float
) -> AirSource | None:
    """A surface report as one level; None where it has neither wind nor temperature.

    Args:
        report: The report.
        elevation: Of the station, m above mean sea level.
        altimeter_setting: QNH, Pa.

    Returns:
        One level at the station; a variable wind is no wind with its speed as the error.
    """
    if report.wind_speed is None and report.temperature is None:
        return None
    station = elevation + float(atmosphere.pressure_altitude(altimeter_setting))
    north, east, sigma = _surface_wind(report)
    warmth = np.nan if report.temperature is None else report.temperature
    height, blown_north, blown_east, warm = np.array([[station], [north], [east], [warmth]])
    levels = AirLevels(height, blown_north, blown_east, warm, report.time)
    return AirSource(levels, sigma, SURFACE_SIGMA_TEMPERATURE)


def _surface_wind(report: SurfaceReport) -> tuple[float, float, float]:
    if report.wind_speed is None:
        return np.nan, np.nan, SURFACE_SIGMA_WIND
    if report.wind_from is None:
        return 0.0, 0.0, max(SURFACE_SIGMA_WIND, report.wind_speed)
    north, east = components(report.wind_speed, report.wind_from)
    return float(north), float(east), SURFACE_SIGMA_WIND


def surface_profile(report: SurfaceReport, elevation: float, altimeter_setting: float) -> Weather:
    """A profile from one surface report alone; its error grows with height.

    Args:
        report: The report, with wind.
        elevation: Of the station, m above mean sea level.
        altimeter_setting: QNH, Pa.

    Returns:
        The profile.
    """
    north, east, _ = _surface_wind(report)
    station = elevation + float(atmosphere.pressure_altitude(altimeter_setting))
    warmth = report.temperature
    return from_surface_report(
        wind_north=0.0 if np.isnan(north) else north,
        wind_east=0.0 if np.isnan(east) else east,
        temperature=float(atmosphere.temperature(station)) if warmth is None else warmth,
        elevation=elevation,
        altimeter_setting=altimeter_setting,
    )


def join_profiles(sources: Sequence[AirSource], where: str) -> Weather:
    """One profile from the levels of several sources.

    Args:
        sources: Levels with their errors, at least one.
        where: Name of the case, for errors.

    Returns:
        The profile on all levels. Between the levels of one source wind and the deviation from
        standard temperature are linear; without any temperature the standard one is taken.

    Raises:
        NeutralPointError: `weather-invalid` where no source holds a wind.
    """
    winds = [_known(s, s.levels.wind_north + s.levels.wind_east) for s in sources]
    warmths = [_known(s, s.levels.temperature) for s in sources]
    altitude = np.concatenate([s.levels.altitude[k] for s, k in zip(sources, winds, strict=True)])
    if not altitude.size:
        raise NeutralPointError(
            "weather-invalid",
            "No weather entry holds a wind.",
            where=where,
            hint="Add a wind: a sounding, a wind table, a report or a constant.",
        )
    grid = np.concatenate([s.levels.altitude for s in sources])
    grid, _ = _grouped(grid, grid)
    north = _gathered(sources, winds, grid, lambda s: s.levels.wind_north)
    east = _gathered(sources, winds, grid, lambda s: s.levels.wind_east)
    spread = _gathered(
        sources, winds, grid, lambda s: np.full_like(s.levels.altitude, s.sigma_wind)
    )
    deviation = _gathered(sources, warmths, grid, _deviation)
    doubt = _gathered(
        sources, warmths, grid, lambda s: np.full_like(s.levels.altitude, s.sigma_temperature)
    )
    return Weather(
        grid,
        north,
        east,
        atmosphere.temperature(grid) + np.nan_to_num(deviation),
        sigma_wind=spread,
        sigma_temperature=np.where(np.isnan(doubt), 10.0, doubt),
    )


def _deviation(source: AirSource) -> Floats:
    return source.levels.temperature - atmosphere.temperature(source.levels.altitude)


def _known(source: AirSource, values: Floats):
    return np.isfinite(values) & np.isfinite(source.levels.altitude)


def _gathered(sources, known, grid: Floats, pick) -> Floats:
    """Values of all sources on the grid, linear between levels; equal levels are averaged."""
    altitude = np.concatenate([s.levels.altitude[k] for s, k in zip(sources, known, strict=True)])
    values = np.concatenate([pick(s)[k] for s, k in zip(sources, known, strict=True)])
    if not altitude.size:
        return np.full(grid.shape, np.nan)
    return np.interp(grid, *_grouped(altitude, values))


def _grouped(altitude: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Mean altitude and value of the levels that lie together, rising."""
    _, where = np.unique(np.round(altitude / SAME_LEVEL), return_inverse=True)
    count = np.bincount(where)
    return np.bincount(where, altitude) / count, np.bincount(where, values) / count
