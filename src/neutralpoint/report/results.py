"""A results folder, read: the findings and, from the NetCDF files, bands and readings."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import xarray as xr

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import check_netcdf, own_file, present, system_refusal
from neutralpoint.findings import Banded, Findings, read_findings
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.numerics.quantiles import bands
from neutralpoint.report.figures.kept import Arrays, kept_arrays
from neutralpoint.vocabulary import CIRCULAR

MOTION = "motion.nc"
TRACK = "track.nc"
NEAR = 0.5  # s: a time stands for the nearest of the grid within this
PATHS = ("latitude", "longitude", "pressure_altitude")


@dataclass(frozen=True)
class Channel:
    """Readings of one channel, SI, times in s after the epoch."""

    time: Array
    value: Array
    suspect: Flags
    step: float


@dataclass(frozen=True)
class Results:
    """What a results folder holds, as far as a report needs it.

    Attributes:
        folder: The folder.
        findings: The findings document.
        time: s after the epoch, shape (m,).
        bands: 5, 25, 50, 75 and 95% by variable, SI, each (5, m).
        units: By variable.
        observable: By variable, each (m,).
        samples: A few whole sample paths of place and height, each (k, m).
        channels: Readings by channel; empty where they were not saved.
    """

    folder: Path
    findings: Findings
    time: Array
    bands: dict[str, Array]
    units: dict[str, str]
    observable: dict[str, Flags]
    samples: dict[str, Array]
    channels: dict[str, Channel]


def load_results(folder: Path, *, samples: int = 12) -> Results:
    """Read a results folder.

    Args:
        folder: The folder with `findings.json`.
        samples: How many whole sample paths to keep for the views of the path.

    Returns:
        The results.

    Raises:
        NeutralPointError: `results-missing` or `results-version`.
    """
    findings = read_findings(folder)
    path = present(folder, MOTION)
    motion = kept_arrays(path, f"motion {samples}", lambda: _motion(path, samples))
    names = [str(name) for name in motion["names"]]
    return Results(
        folder=folder,
        findings=findings,
        time=motion["time"],
        bands={name: motion[f"bands {name}"] for name in names},
        units={name: str(unit) for name, unit in zip(names, motion["units"], strict=True)},
        observable={name: motion[f"observable {name}"] for name in names},
        samples={name: motion[f"samples {name}"] for name in PATHS},
        channels=_channels(folder),
    )


def _motion(path: Path, samples: int) -> Arrays:
    """What is drawn of the motion, read variable by variable: all of six hours are 800 MB."""
    with opened(path) as motion:
        names = [str(name) for name in motion.variables if motion[name].dims == ("sample", "time")]
        found: Arrays = {
            "names": np.array(names),
            "units": np.array([str(motion[name].attrs.get("units", "")) for name in names]),
            "time": _values(motion, "time"),
        }
        for name in names:
            values = motion[name].values
            found[f"bands {name}"] = bands(values, circular=name in CIRCULAR)
            found[f"observable {name}"] = _flags(motion, name)
            if name in PATHS:
                found[f"samples {name}"] = values[:samples].astype(float)
        return found


def case_lookup(folder: Path) -> tuple[Findings, Callable[[str, float], Banded | None]]:
    """The findings of a results folder, and the band of a variable at any time.

    Args:
        folder: The results folder.

    Returns:
        The document and the function; it gives None where the motion says nothing.

    Raises:
        NeutralPointError: `results-missing` or `results-version`.
    """
    results = load_results(folder)
    return results.findings, band_lookup(results)


def band_lookup(results: Results) -> Callable[[str, float], Banded | None]:
    """The band of a variable at any time.

    Args:
        results: A results folder, read.

    Returns:
        The function; it gives None where the motion says nothing.
    """

    def lookup(name: str, time: float) -> Banded | None:
        at = int(np.argmin(np.abs(results.time - time)))
        if name not in results.bands or abs(results.time[at] - time) > NEAR:
            return None
        low90, low50, median, high50, high90 = (float(x) for x in results.bands[name][:, at])
        return Banded(
            median=median, low50=low50, high50=high50, low90=low90, high90=high90,
            unit=results.units[name],
            observable=bool(results.observable[name][at]),
        )  # fmt: skip

    return lookup


def open_result(folder: Path, name: str) -> xr.Dataset:
    """A NetCDF file of the results folder, read whole.

    Args:
        folder: The results folder.
        name: Plain file name.

    Returns:
        Its content, times in seconds.

    Raises:
        NeutralPointError: `results-missing` without the file, `results-version` for one that
            cannot be read.
    """
    with opened(present(folder, name)) as data:
        return data.load()


@contextmanager
def opened(path: Path, group: str | None = None) -> Iterator[xr.Dataset]:
    """A NetCDF file, open: its variables are read when they are asked for.

    Args:
        path: The file.
        group: Of the file; None for its root.

    Yields:
        Its content, times in seconds.

    Raises:
        NeutralPointError: `no-access` where it may not be read, `results-version` where it cannot.
    """
    try:
        check_netcdf(path)
        with xr.open_dataset(path, group=group, engine="h5netcdf", decode_times=False) as data:
            yield data
    except PermissionError as broken:
        raise system_refusal(broken, path) from broken
    except (OSError, ValueError) as broken:
        raise NeutralPointError(
            "results-version",
            f"The file cannot be read as NetCDF: {broken}.",
            where=str(path),
            hint="Run `neutralpoint study CASE` again.",
        ) from broken


def _values(dataset: xr.Dataset, name: str) -> Array:
    return dataset[name].values.astype(float)


def _flags(motion: xr.Dataset, name: str) -> Flags:
    flag = f"observable_{name}"
    if flag not in motion:
        return np.ones(motion.sizes["time"], bool)
    return motion[flag].values.astype(bool)


def _channels(folder: Path) -> dict[str, Channel]:
    if own_file(folder, TRACK) is None:
        return {}
    track = open_result(folder, TRACK)
    names = [str(n).removesuffix("_time") for n in track.variables if str(n).endswith("_time")]
    found = {}
    for name in names:
        columns = ("latitude", "longitude") if name == "position" else (name,)
        found[name] = Channel(
            time=_values(track, f"{name}_time"),
            value=np.stack([_values(track, column) for column in columns], axis=-1),
            suspect=track[f"{name}_suspect"].values.astype(bool),
            step=float(track[columns[0]].attrs.get("quantization_step", 0.0)),
        )
    return found
