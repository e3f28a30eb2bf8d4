"""Plug-ins of another package: the example is found, read and examined; faults are theirs."""

from __future__ import annotations

import importlib.metadata
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from neutralpoint import NeutralPointError, plugins
from neutralpoint.case.track_entries import PluggedEntry
from neutralpoint.sources.plugged import read_plugged

EXAMPLE = Path(__file__).parents[2] / "examples" / "plug-in"
START = 1_933_959_600.0
LOG = "KESTRELFOLD 1\n" + "\n".join(f"{k}|{46e6 + 900 * k:.0f}|-36000000|{30000 + 50 * k}"
                                     for k in range(60))  # fmt: skip


@pytest.fixture(autouse=True)
def installed(monkeypatch, entry_points_of_example):
    """The example as an installed package: its entry points, from its own project file."""
    found = list(entry_points_of_example)
    faulty = {"raises": "raising", "shapes": "shapes", "unknown": "unknown", "text": "text"}
    found += [
        importlib.metadata.EntryPoint(name, f"test_plugins_faults:{value}", plugins.SOURCES)
        for name, value in faulty.items()
    ]
    found.append(importlib.metadata.EntryPoint("gone", "no_such_module:read", plugins.SOURCES))
    monkeypatch.setattr(
        plugins, "entry_points", lambda group: [e for e in found if e.group == group]
    )
    faults = type(sys)("test_plugins_faults")
    faults.raising = lambda data, options: 1 / 0
    faults.shapes = lambda data, options: {"position": ([START], [1.0])}
    faults.unknown = lambda data, options: {"mood": ([START], [1.0])}
    faults.text = lambda data, options: {"pressure_altitude": (["now"], [1.0])}
    monkeypatch.setitem(sys.modules, "test_plugins_faults", faults)
    yield
    for name in [name for name in sys.modules if name.startswith("kestrelfold")]:
        del sys.modules[name]


def test_the_example_is_found_by_its_names():
    assert "kestrelfold-log" in plugins.plugin_names(plugins.SOURCES)
    assert plugins.plugin_names(plugins.EXAMINATIONS) == ["time-in-bank"]


def test_its_reader_gives_a_track():
    track, report = read_plugged(LOG.encode(), "kestrelfold-log", {"start": START}, "flight.klog")
    assert track.epoch.timestamp() + track.position.time[0] == START
    np.testing.assert_allclose(np.degrees(track.position.value[0]), [46.0, -36.0])
    np.testing.assert_allclose(track.pressure_altitude.value[:2], [3000.0, 3005.0])
    assert "plug-in" in report.assumed[0]


def test_its_own_errors_reach_the_reader_of_the_case():
    with pytest.raises(NeutralPointError) as wrong:
        read_plugged(b"nonsense", "kestrelfold-log", {}, "flight.klog")
    assert wrong.value.code == "file-format"


@pytest.mark.parametrize("name", ["raises", "shapes", "unknown", "text", "gone"])
def test_a_fault_of_a_plugin_is_told_as_its_own(name):
    with pytest.raises(NeutralPointError) as fault:
        read_plugged(LOG.encode(), name, {}, "flight.klog")
    assert fault.value.code == "plugin-fault"
    assert name in fault.value.message


def test_one_that_is_not_installed_is_named():
    with pytest.raises(NeutralPointError) as missing:
        read_plugged(b"", "elsewhere", {}, "flight.klog")
    assert missing.value.code == "plugin-missing" and "kestrelfold-log" in missing.value.message


def test_its_examination_counts_path_by_path():
    """Half of 100 s at 20 deg of bank, and one path at 50 deg throughout: by hand."""
    work = plugins.load_plugin(plugins.EXAMINATIONS, "time-in-bank", "here")
    time = np.datetime64("2031-04-14") + (1000 * np.arange(100)).astype("timedelta64[ms]")
    bank = np.radians(np.stack([np.where(np.arange(100) < 50, 20.0, 0.0), np.full(100, 50.0)]))
    motion = xr.Dataset(
        {"bank_angle": (("sample", "time"), bank), "is_fix": ("time", np.zeros(100))},
        {"time": time},
    )
    found = work(type("Saved", (), {"motion": motion}))
    assert found["time_beyond"].values.tolist() == [[50.0, 0.0, 0.0], [100.0, 100.0, 100.0]]
    assert found["time_beyond"].attrs["units"] == "s"


def test_the_entry_of_the_case_is_that_of_the_document():
    text = (EXAMPLE.parents[1] / "docs/how-to/write-a-plug-in.md").read_text("utf-8")
    entry = text.split("[[tracks]]\n")[1].split("```")[0]
    read = PluggedEntry.model_validate(tomllib.loads(entry))
    assert read.reader == "kestrelfold-log" and read.options["start"] == START
