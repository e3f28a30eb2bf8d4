"""A profile of wind and temperature from a NetCDF file, at one place."""

from __future__ import annotations

import io

import numpy as np

from neutralpoint.earth import atmosphere
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import HECTOPASCAL, KELVIN_AT_0_C
from neutralpoint.sources.levels import AirLevels
from neutralpoint.sources.own_data import foreign_data
from neutralpoint.sources.report import SourceReport

MAGIC = (b"\x89HDF\r\n\x1a\n", b"CDF\x01", b"CDF\x02", b"CDF\x05")
GRIB = b"GRIB"
# Standard names of CF 1.11 and short names in common use.
EAST = ("eastward_wind", "u", "ua", "ugrd", "u_component_of_wind")
NORTH = ("northward_wind", "v", "va", "vgrd", "v_component_of_wind")
WARMTH = ("air_temperature", "t", "ta", "tmp", "temperature")
PRESSURE = ("air_pressure", "pressure_level", "level", "isobaricinhpa", "plev", "lev", "pressure")
LATITUDE, LONGITUDE = ("latitude", "lat"), ("longitude", "lon")
LARGEST = 64 * 1024 * 1024  # bytes
MOST_VALUES = 20_000_000  # of all variables; a limit against files that unpack to far more
FAR = 2.0  # degrees between the place asked for and the nearest column


def read_netcdf_profile(
    data: bytes, place_deg: tuple[float, float], where: str
) -> tuple[AirLevels, SourceReport]:
    """Levels of the column nearest to a place.

    Args:
        data: The file; pressure levels, one time or several (the middle one is taken).
        place_deg: Latitude and longitude, degrees.
        where: Name of the file, for errors.

    Returns:
        Levels in order of altitude, and what was found.

    Raises:
        NeutralPointError: `file-format` for GRIB, `file-too-large`, or `weather-invalid`.
    """
    if data.startswith(GRIB):
        raise NeutralPointError(
            "file-format",
            "The file is GRIB, which this reader does not decode.",
            where=where,
            hint="Convert it to NetCDF and name that file: see how-to, give the weather.",
        )
    if len(data) > LARGEST:
        raise NeutralPointError(
            "file-too-large",
            f"The file has {len(data) / 1e6:.0f} MB.",
            where=where,
            hint="Cut it to the place and time of the flight.",
        )
    if not data.startswith(MAGIC):
        raise _invalid("The file is no NetCDF.", where)
    with np.errstate(all="ignore"):  # a damaged file holds any number; what is none is left out
        return _column(_opened(data, where), place_deg, where)


def _opened(data: bytes, where: str):
    import xarray as xr

    engine = "h5netcdf" if data.startswith(MAGIC[0]) else "scipy"
    try:
        if engine == "h5netcdf" and (wrong := foreign_data(io.BytesIO(data), 8.0 * MOST_VALUES)):
            raise _invalid(f"The file is not read: {wrong}.", where)
        dataset = xr.open_dataset(io.BytesIO(data), engine=engine, decode_times=False)
        held = sum(int(v.size) for v in dataset.variables.values())
        if held > MOST_VALUES:
            raise _invalid(f"Its variables hold {held} values.", where)
        return dataset.load()
    except NeutralPointError:
        raise
    except Exception as broken:
        # A broken file raises whatever the library happens to meet first.
        raise _invalid(
            f"The file cannot be opened: {type(broken).__name__}: {str(broken)[:100]}.", where
        ) from broken


def _column(dataset, place_deg: tuple[float, float], where: str):
    east, north, warmth = (_named(dataset, names) for names in (EAST, NORTH, WARMTH))
    level = _named(dataset, PRESSURE)
    if level is None or (warmth is None and (east is None or north is None)):
        raise _invalid("There are no winds or temperatures on pressure levels.", where)
    try:
        said, pick = _pick(dataset, place_deg, where)
        pressure = _pascal(_flat(dataset[level], pick))
        along = [
            np.full(pressure.size, np.nan)
            if name is None
            else np.broadcast_to(_flat(dataset[name], pick), pressure.shape)
            for name in (north, east, warmth)
        ]
    except NeutralPointError:
        raise
    except (ValueError, KeyError, TypeError, IndexError) as broken:
        raise _invalid(
            f"The variables do not fit together: {str(broken)[:100]}.", where
        ) from broken
    altitude = np.asarray(atmosphere.pressure_altitude(np.clip(pressure, 1.0, 2e5)))
    usable = np.isfinite(altitude) & (pressure > 50.0) & (pressure < 1.1e5)
    warm = along[2] + (KELVIN_AT_0_C if _celsius(dataset, warmth) else 0.0)
    wind_ok = np.abs(along[0]) + np.abs(along[1]) < 400.0
    warm = np.where((warm > 130.0) & (warm < 350.0), warm, np.nan)
    table = np.column_stack(
        [altitude, np.where(wind_ok, along[0], np.nan), np.where(wind_ok, along[1], np.nan), warm]
    )
    table = table[usable & np.isfinite(table[:, 1:]).any(axis=1)]
    if table.shape[0] < 2:
        raise _invalid("Fewer than two levels can be used.", where)
    table = table[np.argsort(table[:, 0], kind="stable")]
    return AirLevels(*table.T), SourceReport(
        "NetCDF profile",
        int(pressure.size),
        assumed=(*said, "Winds are taken as true east and north, not along the grid."),
    )


def _named(dataset, names: tuple[str, ...]) -> str | None:
    for name in dataset.variables:
        standard = str(dataset[name].attrs.get("standard_name", "")).lower()
        if str(name).lower() in names or standard == names[0]:
            return str(name)
    return None


def _pick(dataset, place_deg: tuple[float, float], where: str):
    """Index of every dimension but the levels, and what it means."""
    pick: dict[str, int] = {}
    said = []
    off = []
    for names, wanted in ((LATITUDE, place_deg[0]), (LONGITUDE, place_deg[1])):
        name = _named(dataset, names)
        if name is None or dataset[name].ndim != 1:
            continue
        values = np.asarray(dataset[name].values, dtype=np.float64)
        apart = np.abs(np.mod(values - wanted + 180.0, 360.0) - 180.0)
        pick[dataset[name].dims[0]] = int(np.nanargmin(apart))
        off.append(float(np.nanmin(apart)))
        said.append(f"{names[0]} {values[pick[dataset[name].dims[0]]]:.3f} is the nearest.")
    if off and max(off) > FAR:
        raise _invalid(f"The nearest column is {max(off):.1f} degrees away.", where)
    for dimension in dataset.dims:
        if "time" in str(dimension).lower():
            pick[dimension] = dataset.sizes[dimension] // 2
            if dataset.sizes[dimension] > 1:
                said.append(
                    f"The middle one of {dataset.sizes[dimension]} times is taken; cut the file "
                    "to the time of the flight if that is wrong."
                )
    return tuple(said), pick


def _flat(variable, pick: dict[str, int]):
    here = {d: k for d, k in pick.items() if d in variable.dims}
    values = np.asarray(variable.isel(here).values, dtype=np.float64).squeeze()
    if values.ndim > 1:
        raise ValueError(f"{variable.name} has dimensions {variable.dims}")
    return np.atleast_1d(values)


def _pascal(level):
    """Pressure levels in Pa; levels below 2000 are in hPa."""
    return level * HECTOPASCAL if np.nanmax(level) < 2000.0 else level


def _celsius(dataset, name: str | None) -> bool:
    unit = "" if name is None else str(dataset[name].attrs.get("units", "K")).lower()
    return unit in ("c", "degc", "celsius", "deg_c", "degrees_celsius")


def _invalid(message: str, where: str) -> NeutralPointError:
    return NeutralPointError(
        "weather-invalid",
        message,
        where=where,
        hint="A file needs winds or temperatures on pressure levels, with latitude and longitude.",
    )
