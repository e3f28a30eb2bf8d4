"""NetCDF files from strangers: what they name on the machine is not read, nor what they unpack."""

from __future__ import annotations

import os
from pathlib import Path

import h5py
import numpy as np
import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import check_netcdf
from neutralpoint.report.results import opened
from neutralpoint.sources import read_netcdf_profile
from neutralpoint.sources.own_data import foreign_data

LEVELS = np.array([1000.0, 850.0, 700.0])


def profile(path: Path, kind: str) -> Path:
    """A profile whose temperature lies in the file itself, or where it must not."""
    other = path.parent / "other.h5"
    other.write_bytes(b"SECRET" * 4)
    if kind in ("linked", "virtual"):
        with h5py.File(other, "w") as file:
            file["x"] = 300.0 - LEVELS / 100.0
    with h5py.File(path, "w") as file:
        level = file.create_dataset("pressure_level", data=LEVELS)
        level.make_scale("pressure_level")
        if kind == "linked":
            file["temperature"] = h5py.ExternalLink(str(other), "x")
            return path
        if kind == "external":
            held = file.create_dataset("temperature", (3,), "f8", external=[(str(other), 0, 24)])
        elif kind == "virtual":
            layout = h5py.VirtualLayout((3,), "f8")
            layout[:] = h5py.VirtualSource(str(other), "x", (3,))
            held = file.create_virtual_dataset("temperature", layout)
        else:
            held = file.create_dataset("temperature", data=300.0 - LEVELS / 100.0)
        held.dims[0].attach_scale(level)
        if kind == "deep":
            file.create_group("nearest").create_dataset(
                "x", (3,), "f8", external=[(str(other), 0, 24)]
            )
    return path


def test_a_file_that_holds_what_it_names_is_read(tmp_path):
    path = profile(tmp_path / "own.nc", "own")
    assert check_netcdf(path) == path
    levels, _ = read_netcdf_profile(path.read_bytes(), (0.0, 0.0), "own.nc")
    assert levels.temperature == pytest.approx([290.0, 291.5, 293.0])
    with h5py.File(path, "a") as file:
        file["again"] = file["/"]  # a group within itself
    with path.open("rb") as opened_file:
        assert foreign_data(opened_file) == ""


@pytest.mark.parametrize("kind", ["external", "virtual", "linked", "deep"])
def test_numbers_of_other_files_are_not_read(tmp_path, kind):
    path = profile(tmp_path / "stranger.nc", kind)
    with pytest.raises(NeutralPointError) as caught:
        read_netcdf_profile(path.read_bytes(), (0.0, 0.0), "stranger.nc")
    assert caught.value.code == "weather-invalid" and "another file" in caught.value.message
    with pytest.raises(NeutralPointError) as caught, opened(path):
        pass
    assert caught.value.code == "link-refused"


def test_a_pipe_that_a_file_names_is_not_waited_for(tmp_path):
    path, pipe = profile(tmp_path / "stranger.nc", "external"), tmp_path / "other.h5"
    pipe.unlink()
    os.mkfifo(pipe)
    with pytest.raises(NeutralPointError, match="another file"):
        check_netcdf(path)


def test_many_variables_are_not_unpacked(tmp_path):
    """A file of a few kilobytes whose variables would take 640 MB, each within its own limit."""
    path = profile(tmp_path / "large.nc", "own")
    with h5py.File(path, "a") as file:
        for number in range(8):
            file.create_dataset(f"v{number}", (10_000_000,), "f8", chunks=(1_000_000,))
    assert path.stat().st_size < 100_000
    with pytest.raises(NeutralPointError, match="unpacks to 640 MB"):
        read_netcdf_profile(path.read_bytes(), (0.0, 0.0), "large.nc")
