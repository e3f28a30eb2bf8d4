"""Weather entries of a case: read and joined into one profile with its error."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path

import numpy as np

from neutralpoint.case.case import LoadedSource, Taken
from neutralpoint.case.document import CaseDocument
from neutralpoint.case.files import SourceFile, read_source
from neutralpoint.case.tracks import columns_of
from neutralpoint.case.weather_entries import (
    ConstantEntry,
    NetcdfEntry,
    ProfileEntry,
    ReportEntry,
    SoundingEntry,
    TableEntry,
    WindsAloftEntry,
)
from neutralpoint.documents.quantity import Uncertain
from neutralpoint.earth.weather import Weather, components
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import (
    DEGREE,
    FOOT,
    HECTOPASCAL,
    KELVIN_AT_0_C,
    KNOT,
    MINUTE,
    SEA_LEVEL_PRESSURE,
    SEA_LEVEL_TEMPERATURE,
)
from neutralpoint.sources import (
    AirLevels,
    AirSource,
    SourceReport,
    SurfaceReport,
    decode,
    join_profiles,
    read_metars,
    read_netcdf_profile,
    read_sounding,
    read_wind_table,
    read_winds_aloft,
    surface_profile,
    surface_source,
)

FILED = SoundingEntry | TableEntry | WindsAloftEntry | NetcdfEntry


@dataclass
class AirOfCase:
    """What the weather entries of a case give, gathered entry by entry.

    Attributes:
        weather: The profile.
        setting: Altimeter setting, Pa.
        sources: Files read.
        taken: What was taken as given.
        reports: Surface reports with the height of their stations above the sea, m.
        warnings: What may affect a result.
    """

    weather: Weather = field(init=False)  # the last that `load_air` works out
    setting: Uncertain = field(default_factory=lambda: Uncertain(SEA_LEVEL_PRESSURE))
    sources: list[LoadedSource] = field(default_factory=list)
    taken: list[Taken] = field(default_factory=list)
    reports: list[tuple[SurfaceReport, float]] = field(default_factory=list)
    warnings: list[NeutralPointError] = field(default_factory=list)


def load_air(folder: Path, document: CaseDocument, middle: datetime) -> AirOfCase:
    """Read all weather entries.

    Args:
        folder: The case folder.
        document: The case file.
        middle: UTC time in the middle of the track.

    Returns:
        The profile, the altimeter setting, and what was read and taken.

    Raises:
        NeutralPointError: Of the files and their readers; `case-invalid` where a constant wind
            stands beside other entries.
    """
    air = AirOfCase()
    reports, levels = [], []
    for index, entry in enumerate(document.weather):
        key = f"case.toml: weather[{index + 1}]"
        if isinstance(entry, ReportEntry):
            report = _nearest(_reports(folder, entry, middle.date(), key, air), middle)
            reports.append((report, entry.elevation.value, key))
            air.reports.append((report, entry.elevation.value))
            if entry.file is not None:
                air.sources[-1] = _told(air.sources[-1], _report_said(report, middle))
        else:
            levels.append(_levels(folder, entry, key, air))
    if len(document.weather) > 1 and any(isinstance(e, ConstantEntry) for e in document.weather):
        raise NeutralPointError(
            "case-invalid",
            "A constant wind stands beside other weather.",
            where="case.toml: weather",
            hint="Leave the constant out, or leave it alone.",
        )
    air.setting = _setting(document, reports, air)
    air.weather = _profile(levels, reports, air.setting.value)
    return air


def _reports(
    folder: Path, entry: ReportEntry, day: date, key: str, air: AirOfCase
) -> list[SurfaceReport]:
    if entry.file is None:
        reports, found = read_metars(entry.text or "", day, f"{key}.text")
        for refusal in found.refused:
            air.warnings.append(
                NeutralPointError(
                    "weather-invalid",
                    f"A group of the report was not used: {refusal.reason}.",
                    where=f"{key}.text",
                    hint="Correct the text if it was copied wrongly.",
                )
            )
        return reports
    file = read_source(folder, entry.file, f"{key}.file")
    reports, found = read_metars(decode(file.data, file.path), day, file.path)
    air.sources.append(LoadedSource("weather", file.path, file.sha256, len(file.data), found))
    return reports


def _nearest(reports: list[SurfaceReport], middle: datetime) -> SurfaceReport:
    return min(reports, key=lambda report: abs((report.time - middle).total_seconds()))


def _told(source: LoadedSource, sentence: str) -> LoadedSource:
    """A source with one more sentence on what it holds."""
    if source.report is None:
        return source
    report = replace(source.report, assumed=(sentence, *source.report.assumed))
    return replace(source, report=report)


def _report_said(report: SurfaceReport, middle: datetime) -> str:
    parts = []
    if report.wind_speed is not None:
        way = "variable" if report.wind_from is None else f"{report.wind_from / DEGREE:03.0f} deg"
        parts.append(f"wind {way} {report.wind_speed / KNOT:.0f} kt")
    if report.temperature is not None:
        parts.append(f"{report.temperature - KELVIN_AT_0_C:.0f} deg C")
    if report.altimeter_setting is not None:
        parts.append(f"QNH {report.altimeter_setting / HECTOPASCAL:.1f} hPa")
    apart = abs((report.time - middle).total_seconds()) / MINUTE
    return (
        f"Used: {report.station} of {report.time:%Y-%m-%d %H:%M} UTC, {apart:.0f} min from the "
        f"middle of the track: {', '.join(parts) or 'neither wind, temperature nor setting'}."
    )


def _levels_said(levels: AirLevels) -> str:
    wind = np.isfinite(levels.wind_north + levels.wind_east)
    warm = np.isfinite(levels.temperature)
    low, high = levels.altitude.min() / FOOT, levels.altitude.max() / FOOT
    when = "" if levels.valid is None else f", valid {levels.valid:%Y-%m-%d %H:%M} UTC"
    return (
        f"Used: {levels.altitude.size} levels from {low:,.0f} to {high:,.0f} ft of pressure "
        f"altitude{when}; wind at {int(wind.sum())}, temperature at {int(warm.sum())} of them."
    )


def _levels(folder: Path, entry, key: str, air: AirOfCase) -> AirSource:
    if isinstance(entry, FILED):
        file = read_source(folder, entry.file, f"{key}.file")
        levels, found = _read(entry, file)
        loaded = LoadedSource("weather", file.path, file.sha256, len(file.data), found)
        air.sources.append(_told(loaded, _levels_said(levels)))
        origin = file.path
    else:
        levels = _inline(entry) if isinstance(entry, ProfileEntry) else _constant(entry)
        origin = key
    air.taken.append(
        Taken(
            f"error of wind and temperature from {origin}",
            f"+- {_text(entry.wind_error, 'm/s')}, +- {_text(entry.temperature_error, 'K')}",
            "case file"
            if "wind_error" in entry.model_fields_set
            else "default, analyst's estimate",
            "Airspeeds, and through them angle of attack and lift coefficient.",
        )
    )
    return AirSource(levels, 0.5 * entry.wind_error.value, 0.5 * entry.temperature_error.value)


def _read(entry, file: SourceFile) -> tuple[AirLevels, SourceReport]:
    if isinstance(entry, SoundingEntry):
        return read_sounding(decode(file.data, file.path), file.path)
    if isinstance(entry, WindsAloftEntry):
        return read_winds_aloft(decode(file.data, file.path), entry.station, file.path)
    if isinstance(entry, NetcdfEntry):
        where_deg = entry.latitude.value / DEGREE, entry.longitude.value / DEGREE
        return read_netcdf_profile(file.data, where_deg, file.path)
    return read_wind_table(file.data, columns_of(entry.columns), file.path)


def _text(quantity: Uncertain, unit: str) -> str:
    return quantity.text or f"{quantity.value:g} {unit}"


def _inline(entry: ProfileEntry) -> AirLevels:
    def values(name: str) -> np.ndarray:
        found = [getattr(level, name) for level in entry.levels]
        return np.array([np.nan if q is None else q.value for q in found])

    north, east = components(values("wind_speed"), values("wind_from"))
    order = np.argsort(values("altitude"), kind="stable")
    return AirLevels(
        values("altitude")[order], north[order], east[order], values("temperature")[order]
    )


def _constant(entry: ConstantEntry) -> AirLevels:
    north, east = components(entry.wind_speed.value, entry.wind_from.value)
    warmth = SEA_LEVEL_TEMPERATURE + entry.warmer_than_standard.value
    one = [np.array([float(x)]) for x in (north, east, warmth)]
    return AirLevels(np.zeros(1), one[0], one[1], one[2])


def _setting(document: CaseDocument, reports, air: AirOfCase) -> Uncertain:
    """The altimeter setting: of the case, else of a report, else standard with a warning."""
    found, source = document.altimeter_setting, "case file"
    if found is None:
        for report, _, key in reports:
            if report.altimeter_setting is not None:
                pressure = report.altimeter_setting
                text = f"{pressure / HECTOPASCAL:.1f} hPa"
                found, source = (
                    Uncertain(pressure, 0.5 * HECTOPASCAL, text),
                    f"{key} ({report.station})",
                )
                break
    if found is None:
        found, source = Uncertain(SEA_LEVEL_PRESSURE, 0.0, "1013.25 hPa"), "standard atmosphere"
        air.warnings.append(
            NeutralPointError(
                "weather-invalid",
                "No altimeter setting is known: heights above the sea are pressure altitudes.",
                where="case.toml: altimeter_setting",
                hint='Give `altimeter_setting = "1009.5 hPa"` or a METAR report with one.',
            )
        )
    air.taken.append(
        Taken(
            "altimeter setting",
            _text(found, "Pa"),
            source,
            "Height above the sea; 1 hPa is about 8.4 m.",
        )
    )
    return found


def _profile(levels: list[AirSource], reports, setting: float) -> Weather:
    if not levels:
        report, elevation, _ = reports[0]
        return surface_profile(report, elevation, setting)
    surface = [surface_source(report, elevation, setting) for report, elevation, _ in reports]
    return join_profiles([*levels, *(s for s in surface if s is not None)], "case.toml: weather")
