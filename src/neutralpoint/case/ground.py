"""Height above ground along the track, from tiles of the terrain."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from neutralpoint.case.case import LoadedSource
from neutralpoint.case.document import TerrainEntry
from neutralpoint.case.files import read_source
from neutralpoint.earth.weather import indicated_altitude
from neutralpoint.sources import SourceReport, Terrain, read_hgt
from neutralpoint.track import Track

WITHIN = 5.0  # s between a position and the altitude taken for it


def load_ground(
    folder: Path, entries: tuple[TerrainEntry, ...], track: Track, altimeter_setting: float
) -> list[LoadedSource]:
    """Read the tiles and compare the track with them.

    Args:
        folder: The case folder.
        entries: The entries of the case file.
        track: The joined track.
        altimeter_setting: Pa, for heights above the sea.

    Returns:
        Each file with the lowest height above ground that the track has over it.

    Raises:
        NeutralPointError: Of the files and their reader.
    """
    loaded = []
    for index, entry in enumerate(entries):
        file = read_source(folder, entry.file, f"case.toml: terrain[{index + 1}].file")
        tile = read_hgt(file.data, file.path)
        report = SourceReport("terrain", int(tile.height.size), assumed=_said(tile))
        report = replace(report, assumed=(*report.assumed, _lowest(tile, track, altimeter_setting)))
        loaded.append(LoadedSource("terrain", file.path, file.sha256, len(file.data), report))
    return loaded


def _said(tile: Terrain) -> tuple[str, ...]:
    void = int((~np.isfinite(tile.height)).sum())
    return (
        "Heights are above the sea (EGM96), of the surface with trees and buildings.",
        f"{tile.height.shape[0]} posts along a side of one degree; {void} of them void.",
    )


def _lowest(tile: Terrain, track: Track, altimeter_setting: float) -> str:
    position, altitude = track.position, track.pressure_altitude
    if position is None or altitude is None or not len(altitude):
        return "The track has no position with a pressure altitude to compare."
    time = position.time[~position.suspect]
    value = position.value[~position.suspect]
    ground = tile.at(value[:, 0], value[:, 1])
    nearest = np.clip(np.searchsorted(altitude.time, time), 0, len(altitude) - 1)
    apart = np.abs(altitude.time[nearest] - time)
    above = indicated_altitude(np.interp(time, altitude.time, altitude.value), altimeter_setting)
    height = np.where(apart <= WITHIN, above - ground, np.nan)
    if not np.isfinite(height).any():
        return "The track does not pass over this tile."
    lowest = int(np.nanargmin(height))
    return (
        f"Lowest height above ground over this tile: {height[lowest]:.0f} m, "
        f"{time[lowest]:.0f} s after the start of the day of the track."
    )
