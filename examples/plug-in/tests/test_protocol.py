"""Every entry point of this package keeps to the protocol: `pytest` beside an installed program.

It reads the names from `pyproject.toml`, so that it serves a copy of this package as it stands.
"""

from __future__ import annotations

import tomllib
from importlib.metadata import EntryPoint
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import xarray as xr

from neutralpoint import NeutralPointError

PROJECT = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text("utf-8"))
MOST = 20_000  # histories of a cause
LONGEST = 300  # characters of an attribute


def named(group: str) -> list:
    """Functions of a group, by their names."""
    points = PROJECT["project"]["entry-points"].get(f"neutralpoint.{group}", {})
    made = [EntryPoint(name, value, f"neutralpoint.{group}") for name, value in points.items()]
    return [pytest.param(point.load(), id=point.name) for point in made]


def flight(times: int) -> xr.Dataset:
    """A dive as a cause sees it, at times that are not equally far apart."""
    time = 60.0 * np.linspace(0.0, 1.0, times) ** 1.2
    speed = 110.0 + 0.8 * time
    values = {
        "true_airspeed": (speed, "m s-1"),
        "dynamic_pressure": (0.45 * speed**2, "Pa"),
        "mach": (speed / 325.0, "1"),
        "normal_load_factor": (1.0 - 0.3 * np.sin(0.1 * time), "1"),
    }
    return xr.Dataset(
        {name: ("time", value, {"units": unit}) for name, (value, unit) in values.items()},
        {"time": ("time", time, {"units": "s"})},
        {"epoch": "2031-04-14T18:50:00+00:00", "airplane": "Invented"},
    )


def has_words(found: xr.Dataset, *keys: str) -> None:
    """Units on every variable, and words that the report can print."""
    assert all(each.attrs.get("units") for each in found.data_vars.values())
    for key in keys:
        assert 0 < len(found.attrs[key]) <= LONGEST, key


@pytest.mark.parametrize("make", named("causes"))
@pytest.mark.parametrize("times", [3, 40])
def test_a_cause_gives_histories_at_the_times_asked(make, times):
    given = flight(times)
    found = make(given)
    made, start = found["moment_coefficient"], found["start"]
    assert made.dims == ("history", "time") and made.sizes["time"] == times
    assert 0 < made.sizes["history"] <= MOST and start.dims == ("history",)
    assert np.isfinite(made).all() and np.isfinite(start).all()
    assert float(abs(made).max()) > 0.0, "it changes nothing"
    has_words(found, "title", "mechanism", "source", "settles")
    xr.testing.assert_identical(given, flight(times))  # what it was given is not changed


@pytest.mark.parametrize("make", named("causes"))
def test_a_cause_supplies_nothing_before_it_starts(make):
    given = flight(40)
    found = make(given)
    before = given["time"] < found["start"]
    assert not found["moment_coefficient"].where(before).fillna(0.0).any()


@pytest.mark.parametrize("examine", named("examinations"))
def test_an_examination_gives_numbers_with_units(examine):
    grid = np.arange("2031-04-14T18:50", "2031-04-14T18:51", dtype="datetime64[s]")
    bank = 0.4 * np.sin(0.1 * np.arange(60.0) + np.arange(5.0)[:, None])
    motion = xr.Dataset(
        {
            "bank_angle": (("sample", "time"), bank, {"units": "rad"}),
            "is_fix": ("time", np.zeros(60, int), {"units": "1"}),
        },
        {"time": grid.astype("datetime64[ns]")},
    )
    found = examine(SimpleNamespace(motion=motion))
    assert found.data_vars
    has_words(found, "title", "source")


@pytest.mark.parametrize("read", named("sources"))
def test_a_reader_refuses_what_is_no_file_of_its_kind(read):
    with pytest.raises(NeutralPointError) as fault:
        read(b"\x00\xff nothing of the kind", {})
    assert fault.value.hint
