"""`motion.nc`: the motion as a NetCDF file by the CF conventions, written whole or not at all."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np
import xarray as xr

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import check_netcdf, present, store, system_refusal, written
from neutralpoint.motion import ONSET_SIGNALS, Motion, Onsets, upset_onsets
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.cautions import IN_BRIEF

MOTION_FILE = "motion.nc"
COMPRESSION = {"zlib": True, "complevel": 1, "shuffle": True}
# The onset that the motion shows, each a number: name and long name.
ONSET = {
    "onset": "Onset of the upset that the motion shows, middle of its distribution",
    "onset_earliest": "Onset, lower edge of the 90% interval",
    "onset_latest": "Onset, upper edge of the 90% interval",
    "onset_probability": "Probability that the motion left ordinary flight at all",
}


@dataclass(frozen=True)
class KeptMotion:
    """The motion as it is kept: what every later stage starts from.

    Attributes:
        time: s after the track's epoch, the fixes and a uniform grid, shape (m,).
        is_fix: True where `time` is a fix, shape (m,).
        fix_interval: Usual time between fixes, s.
        paths: Sample paths by name, SI and radians, each shape (S, m).
        observable: Flags by the same names, each shape (m,).
        onsets: When the motion left ordinary flight, and whether it did.
        ground: True where the airplane is on the ground, shape (m,).
    """

    time: Array
    is_fix: Flags
    fix_interval: float
    paths: dict[str, Array]
    observable: dict[str, Flags]
    onsets: Onsets
    ground: Flags


def read_motion(path: Path) -> KeptMotion:
    """Read `motion.nc`, bit for bit as it was saved.

    Args:
        path: The file.

    Returns:
        The motion.

    Raises:
        NeutralPointError: `results-missing` without the file, `results-version` for one that is
            no NetCDF, `link-refused` or `no-access`.
    """
    saved = read_dataset(path)
    names = [str(name) for name in saved.variables if saved[name].dims == ("sample", "time")]
    return KeptMotion(
        time=saved["time"].values,
        is_fix=saved["is_fix"].values.astype(bool),
        fix_interval=float(saved["fix_interval"]),
        paths={name: saved[name].values for name in names},
        observable={name: saved[f"observable_{name}"].values.astype(bool) for name in names},
        onsets=Onsets(
            saved["onset_candidate"].values,
            saved["onset_weight"].values,
            1.0 - float(saved["onset_probability"]),
        ),
        ground=saved["on_ground"].values.astype(bool),
    )


def motion_dataset(
    motion: Motion, *, ground: Flags, onsets: Onsets, epoch: datetime, version: str
) -> xr.Dataset:
    """The motion with names and units.

    Args:
        motion: Sample paths and flags.
        ground: True where the airplane is on the ground, shape (m,).
        onsets: When the motion left ordinary flight.
        epoch: UTC time that the motion counts from.
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
    data: dict[str, tuple] = {name: _paths(name, values) for name, values in motion.paths.items()}
    data["is_fix"] = _flag("True at a fix, false on the uniform grid", motion.is_fix)
    interval = {"units": "s", "long_name": "Usual time between fixes"}
    data["fix_interval"] = ((), motion.fix_interval, interval)
    for name, flags in motion.observable.items():
        data[f"observable_{name}"] = _flag(f"Whether the data support a value of {name}", flags)
    data["on_ground"] = _flag("True where the airplane is on the ground", ground)
    coordinates["onset_candidate"] = (
        "onset_candidate",
        onsets.time,
        time_attributes(epoch) | {"long_name": "Moment at which the upset may have begun"},
    )
    data |= _onset(onsets, epoch)
    return xr.Dataset(
        data,
        coordinates,
        {
            "Conventions": "CF-1.11",
            "featureType": "trajectory",
            "title": "Motion of one flight",
            "source": f"Neutral Point {version}",
            "comment": "Each sample is one joint path; bands are quantiles over samples. "
            + IN_BRIEF,
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


def onsets_of(motion: Motion, ground: Flags) -> Onsets:
    """When a motion left ordinary flight.

    Args:
        motion: Sample paths.
        ground: True where the airplane is on the ground, shape (m,).

    Returns:
        The candidates.
    """
    grid = ~motion.is_fix
    paths = {name: motion.paths[name][:, grid] for name in ONSET_SIGNALS}
    return upset_onsets(motion.time[grid], paths, ground[grid])


def _paths(name: str, values: np.ndarray):
    variable = QUANTITIES[name]
    attributes = {"units": variable.udunits, "long_name": variable.long_name}
    if variable.standard_name:
        attributes["standard_name"] = variable.standard_name
    if name == "altitude":
        attributes |= {"axis": "Z", "positive": "up"}
    if name not in ("latitude", "longitude"):
        attributes["coordinates"] = "latitude longitude altitude"
        grain = variable.grain
        values = (np.rint(values / grain) * grain if grain else values).astype(np.float32)
    return ("sample", "time"), values, attributes


def _onset(found: Onsets, epoch: datetime) -> dict[str, tuple]:
    """The onset as numbers without a dimension, NaN where there is none, and all candidates."""
    numbers = {"onset_probability": 1.0 - found.none}
    if found.found:
        first, last = found.interval
        numbers |= {"onset": found.median, "onset_earliest": first, "onset_latest": last}
    moment = {"units": time_attributes(epoch)["units"], "calendar": "standard"}
    units = {"onset_probability": {"units": "1"}}
    data = {
        name: ((), float(numbers.get(name, np.nan)), units.get(name, moment) | {"long_name": text})
        for name, text in ONSET.items()
    }
    told = {"units": "1", "long_name": "Probability that the upset began about then"}
    return data | {"onset_weight": ("onset_candidate", found.weight, told)}


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
    with written(folder / name) as fresh:
        store_dataset(fresh, dataset)
    return folder / name


def store_dataset(path: Path, dataset: xr.Dataset) -> None:
    """Write a NetCDF file; the same dataset gives the same bytes.

    It is made in memory, packed: the library ends the program where a disk is full.

    Args:
        path: Where.
        dataset: What to write.
    """
    made = io.BytesIO()
    dataset.to_netcdf(made, engine="h5netcdf", encoding=_packing(dataset))
    store(path, made.getbuffer())


def _packing(dataset: xr.Dataset) -> dict[str, dict]:
    plain, packed = {"_FillValue": None}, {**COMPRESSION, "_FillValue": None}
    return {
        str(key): packed if variable.ndim else plain
        for key, variable in dataset.variables.items()
        if key != "sample" and variable.dtype.kind in "fiu"
    }


def store_tree(path: Path, tree: xr.DataTree) -> None:
    """Write a NetCDF file with groups; the same tree gives the same bytes.

    Args:
        path: Where.
        tree: What to write.
    """
    encoding = {node.path: _packing(node.to_dataset(inherit=False)) for node in tree.subtree}
    made = io.BytesIO()
    tree.to_netcdf(made, engine="h5netcdf", encoding=encoding)
    store(path, made.getbuffer())


def read_dataset(path: Path) -> xr.Dataset:
    """Read a NetCDF file of a results folder into memory.

    Args:
        path: The file.

    Returns:
        Its content, times as seconds.

    Raises:
        NeutralPointError: `results-missing` without the file, `results-version` for one that is
            no NetCDF, `link-refused` or `no-access`.
    """
    present(path.parent, path.name)
    try:
        return xr.load_dataset(check_netcdf(path), engine="h5netcdf", decode_times=False)
    except OSError as broken:
        if broken.errno is not None:
            raise system_refusal(broken, path) from broken
        raise NeutralPointError(
            "results-version",
            f"The file cannot be read as NetCDF: {str(broken)[:120]}.",
            where=str(path),
            hint="Run `neutralpoint study CASE` again.",
        ) from broken
