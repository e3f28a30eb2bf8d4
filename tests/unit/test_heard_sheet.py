"""The picture of a recording shows what was found in it, and nothing that was not."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import xarray as xr

from neutralpoint.findings import HeardFindings, HeardRecording
from neutralpoint.report.figures.heard_sheet import heard_sheets

EVERY = {
    "name": "a.wav", "microphone": "radio", "begin": 10.0, "end": 40.0, "source": "x", "silent": "",
    "present": 0.5,
    "events": [{"kind": "falls", "time": 25.0, "share": -0.1}],
    "tones": [
        {"name": "horn", "kind": "stall", "frequency": 300.0, "reached": True,
         "spans": [{"begin": 12.0, "end": 14.0}, {"begin": 20.0, "end": 21.0}]},
        {"name": "not heard", "kind": "gear", "frequency": 200.0, "reached": True, "spans": []},
    ],
    "carrier": [{"begin": 15.0, "end": 18.0}],
    "calls": [{"speaker": "A", "begin": 15.0, "end": 17.0, "pitch": None, "quartiles": None}],
}  # fmt: skip


def _sheet(tmp_path, *, second: bool, **changed):
    time = np.linspace(10.0, 40.0, 60)
    line = np.stack([np.full(60, value) for value in (99.0, 100.0, 101.0)])
    present = np.where(time < 30.0, 1.0, 0.0)
    data = {
        "time_0": ("frame_0", time),
        "frequency_0": ("bin_0", np.linspace(0.0, 520.0, 40)),
        "power_0": (("frame_0", "bin_0"), np.zeros((60, 40), np.int8)),
        "line_0": (("level", "frame_0"), line),
        "present_0": ("frame_0", present),
    }
    if second:
        data |= {"second_0": (("level", "frame_0"), 1.1 * line),
                 "second_present_0": ("frame_0", present)}  # fmt: skip
    xr.Dataset(data).to_netcdf(tmp_path / "heard.nc", engine="h5netcdf")
    one = HeardRecording.model_validate(EVERY | changed)
    found = HeardFindings(file="heard.nc", recordings=[one], onset=22.0, step=0.02)
    epoch = datetime(2030, 1, 1, 12, tzinfo=UTC)
    results = SimpleNamespace(findings=SimpleNamespace(heard=found, epoch=epoch), folder=tmp_path)
    (sheet,) = heard_sheets(results)
    return sheet, sheet.axes[0], [text.get_text() for text in sheet.legends[0].get_texts()]


def test_all_that_was_found_is_drawn(tmp_path):
    _, axes, told = _sheet(tmp_path, second=True)
    assert told == [
        "blade rate followed, with its 90% band", "its harmonics", "a second propeller",
        "blade rate falls (in it)", "horn", "channel in use", "calls", "onset",
    ]  # fmt: skip
    lines = [line.get_ydata() for line in axes.lines]
    # Five lines of one family where it is present, and gaps where it is not.
    for harmonic in range(1, 6):
        (one,) = (y for y in lines if np.nanmedian(y) == harmonic * 100.0 and len(y) == 60)
        assert np.isfinite(one).sum() == 40
    horn = [line for line in axes.lines if list(line.get_ydata()) == [300.0, 300.0]]
    assert [list(line.get_xdata() - 43200.0) for line in horn] == [[12.0, 14.0], [20.0, 21.0]]


def test_what_was_not_found_is_not_in_the_legend(tmp_path):
    _, _, told = _sheet(tmp_path, second=False, events=[], tones=[], carrier=None, calls=[])
    assert told == ["blade rate followed, with its 90% band", "its harmonics", "onset"]
