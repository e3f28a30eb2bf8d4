"""Height above ground along the track, from grids of the terrain."""

from __future__ import annotations

import logging
from collections.abc import Callable
from pathlib import Path

import numpy as np

from neutralpoint.case.case import LoadedSource
from neutralpoint.case.document import TerrainEntry
from neutralpoint.case.files import SourceFile, read_source
from neutralpoint.documents.quantity import Uncertain
from neutralpoint.earth.weather import indicated_altitude
from neutralpoint.numerics.arrays import Floats
from neutralpoint.sources import SourceReport, Terrain, read_hgt
from neutralpoint.sources.extras import optional
from neutralpoint.track import Track

WITHIN = 5.0  # s between a position and the altitude taken for it
TIFF = (b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+")  # what TIFF and BigTIFF begin with


def load_ground(
    folder: Path,
    entries: tuple[TerrainEntry, ...],
    track: Track,
    altimeter_setting: float,
    geoid: Uncertain | None,
) -> list[LoadedSource]:
    """Read the grids and compare the track with them.

    Args:
        folder: The case folder.
        entries: The entries of the case file.
        track: The joined track.
        altimeter_setting: Pa, for heights above the sea.
        geoid: Height of the geoid above the ellipsoid, m.

    Returns:
        Each file with the lowest height above ground that the track has over it.

    Raises:
        NeutralPointError: Of the files and their readers; `extra-missing`.
    """
    loaded = []
    for index, entry in enumerate(entries):
        file = read_source(folder, entry.file, f"case.toml: terrain[{index + 1}].file")
        grid, said = _read(file)
        said = (*said, _posts(grid), _lowest(grid, track, altimeter_setting, geoid))
        report = SourceReport("terrain", int(grid.height.size), assumed=said)
        loaded.append(LoadedSource("terrain", file.path, file.sha256, len(file.data), report))
    return loaded


def ground_along(
    folder: Path,
    entries: tuple[TerrainEntry, ...],
    geoid: Uncertain | None,
    latitude: Floats,
    longitude: Floats,
) -> Floats:
    """Heights of the ground below a path.

    Args:
        folder: The case folder.
        entries: The entries of the case file.
        geoid: Height of the geoid above the ellipsoid, m.
        latitude: rad, shape (n,).
        longitude: rad, shape (n,).

    Returns:
        m above the sea, shape (n,); NaN where no grid reaches, or where one counts from the
        ellipsoid and the height of the geoid is not known.

    Raises:
        NeutralPointError: As `load_ground`.
    """
    found = np.full(len(latitude), np.nan)
    for index, entry in enumerate(entries):
        file = read_source(folder, entry.file, f"case.toml: terrain[{index + 1}].file")
        grid, _ = _read(file)
        height = grid.at(latitude, longitude)
        if grid.datum == "ellipsoid":
            height = height - (np.nan if geoid is None else geoid.value)
        found = np.where(np.isfinite(found), found, height)
    return found


def ground_of(
    folder: Path, entries: tuple[TerrainEntry, ...], geoid: Uncertain | None
) -> Callable[[Floats, Floats], Floats]:
    """Heights of the ground by place, the grids read once.

    Args:
        folder: The case folder.
        entries: The entries of the case file.
        geoid: Height of the geoid above the ellipsoid, m.

    Returns:
        Gives m above the sea at latitudes and longitudes, rad; NaN where no grid reaches.

    Raises:
        NeutralPointError: As `load_ground`.
    """
    grids = []
    for index, entry in enumerate(entries):
        grid, _ = _read(read_source(folder, entry.file, f"case.toml: terrain[{index + 1}].file"))
        off = 0.0 if grid.datum != "ellipsoid" else (np.nan if geoid is None else geoid.value)
        grids.append((grid, off))

    def at(latitude: Floats, longitude: Floats) -> Floats:
        found = np.full(np.shape(latitude), np.nan)
        for grid, off in grids:
            found = np.where(np.isfinite(found), found, grid.at(latitude, longitude) - off)
        return found

    return at


def _read(file: SourceFile) -> tuple[Terrain, tuple[str, ...]]:
    """A grid by what its file begins with."""
    if file.data.startswith(TIFF):
        optional("tifffile", "terrain", file.path)
        logging.getLogger("tifffile").setLevel(logging.CRITICAL)  # the reader says what is wrong
        from neutralpoint.sources.geotiff import read_geotiff

        return read_geotiff(file.data, file.path)
    said = ("Heights are above the sea (EGM96), of the surface with trees and buildings.",)
    return read_hgt(file.data, file.path), said


def _posts(grid: Terrain) -> str:
    void = int((~np.isfinite(grid.height)).sum())
    rows, columns = grid.height.shape
    return (
        f"{rows} by {columns} posts, {3600.0 * grid.steps[0]:.3g} by {3600.0 * grid.steps[1]:.3g} "
        f"arc seconds apart; {void} of them void."
    )


def _lowest(grid: Terrain, track: Track, altimeter_setting: float, geoid: Uncertain | None) -> str:
    position, altitude = track.position, track.pressure_altitude or track.geometric_altitude
    if position is None or altitude is None or not len(altitude):
        return "The track has no position with an altitude to compare."
    geometric = track.pressure_altitude is None
    ellipsoid = grid.datum == "ellipsoid"
    if geometric != ellipsoid and geoid is None:
        return (
            "No height above ground: one of ground and track counts from the ellipsoid, the other "
            "from the sea, and the case names no `geoid_height`."
        )
    time = position.time[~position.suspect]
    value = position.value[~position.suspect]
    ground = grid.at(value[:, 0], value[:, 1])
    nearest = np.clip(np.searchsorted(altitude.time, time), 0, len(altitude) - 1)
    apart = np.abs(altitude.time[nearest] - time)
    above = np.interp(time, altitude.time, altitude.value)
    if not geometric:
        above = indicated_altitude(above, altimeter_setting)
    undulation = 0.0 if geoid is None else geoid.value
    shift = undulation * (float(ellipsoid) - float(geometric))
    height = np.where(apart <= WITHIN, above + shift - ground, np.nan)
    if not np.isfinite(height).any():
        return "The track does not pass over this grid."
    lowest = int(np.nanargmin(height))
    rests = f", with a geoid height of {geoid.text}" if shift and geoid is not None else ""
    return (
        f"Lowest height above ground over this grid: {height[lowest]:.0f} m, "
        f"{time[lowest]:.0f} s after the start of the day of the track{rests}."
    )
