"""`motion.nc`: the motion as a NetCDF file by the CF conventions, written whole or not at all."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import numpy as np
import xarray as xr

from neutralpoint.errors import NeutralPointError
from neutralpoint.motion import Motion
from neutralpoint.study.variables import VARIABLES

MOTION_FILE = "motion.nc"
COMPRESSION = {"zlib": True, "complevel": 1, "shuffle": True}


def motion_dataset(motion: Motion, *, epoch: datetime, title: str, version: str) -> xr.Dataset:
    """The motion with names and units.

    Args:
        motion: Sample paths and flags.
        epoch: UTC time that the motion counts from.
        title: Of the case.
        version: Of the program.

    Returns:
        Dataset with dimensions `sample` and `time`.
    """
    samples = next(iter(motion.paths.values())).shape[0]
    coordinates = {
        "time": ("time", motion.time, time_attributes(epoch)),
        "sample": (
            "sample",
            np.arange(samples, dtype=np.int32),
            {"long_name": "Number of the joint sample path", "cf_role": "trajectory_id"},
        ),
    }
    data = {name: _paths(name, values) for name, values in motion.paths.items()}
    data["is_fix"] = _flag("True at a fix, false on the uniform grid", motion.is_fix)
    for name, flags in motion.observable.items():
        data[f"observable_{name}"] = _flag(f"Whether the data bear a value of {name}", flags)
    return xr.Dataset(
        data,
        coordinates,
        {
            "Conventions": "CF-1.11",
            "featureType": "trajectory",
            "title": title,
            "source": f"Neutral Point {version}",
            "comment": "Each sample is one joint path; bands are quantiles over samples. "
            "Not for flight. Preliminary data; the official investigation decides.",
        },
    )


def time_attributes(epoch: datetime) -> dict[str, str]:
    """Attributes of a time in seconds after an epoch."""
    return {
        "units": f"seconds since {epoch:%Y-%m-%d %H:%M:%S}",
        "calendar": "standard",
        "standard_name": "time",
        "long_name": "Time, UTC",
        "axis": "T",
    }


def _paths(name: str, values: np.ndarray):
    variable = VARIABLES[name]
    attributes = {"units": variable.unit, "long_name": variable.long_name}
    if variable.standard_name:
        attributes["standard_name"] = variable.standard_name
    if name == "altitude":
        attributes |= {"axis": "Z", "positive": "up"}
    if name not in ("latitude", "longitude"):
        attributes["coordinates"] = "latitude longitude altitude"
        grain = variable.grain
        values = (np.rint(values / grain) * grain if grain else values).astype(np.float32)
    return ("sample", "time"), values, attributes


def _flag(meaning: str, flags: np.ndarray):
    attributes = {
        "long_name": meaning,
        "flag_values": np.array([0, 1], dtype=np.int8),
        "flag_meanings": "no yes",
    }
    return "time", flags.astype(np.int8), attributes


def write_dataset(folder: Path, name: str, dataset: xr.Dataset) -> Path:
    """Write a NetCDF file so that no reader ever sees half of it.

    Args:
        folder: The results folder; it exists.
        name: File name.
        dataset: What to write.

    Returns:
        Path of the file.
    """
    target, fresh = folder / name, folder / f".{name}.new"
    encoding = {
        key: {**COMPRESSION, "_FillValue": None} for key in dataset.variables if key != "sample"
    }
    dataset.to_netcdf(fresh, engine="h5netcdf", encoding=encoding)
    fresh.replace(target)
    return target


def read_dataset(path: Path) -> xr.Dataset:
    """Read a NetCDF file of a results folder into memory.

    Args:
        path: The file.

    Returns:
        Its content, times as seconds.

    Raises:
        NeutralPointError: `results-missing` without the file.
    """
    if not path.is_file():
        raise NeutralPointError(
            "results-missing",
            f"There is no {path.name} in the results folder.",
            where=str(path),
            hint="Run `neutralpoint study CASE` first.",
        )
    return xr.load_dataset(path, engine="h5netcdf", decode_times=False)
