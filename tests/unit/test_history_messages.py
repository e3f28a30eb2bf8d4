"""Raw Mode S and ASTERIX among the tracks of a history: every airplane of a file, its own row."""

from __future__ import annotations

import gzip

import numpy as np
import pytest

from neutralpoint.quantities import DEGREE, KNOT

pytest.importorskip("polars", reason="needs the optional extra `history`")
pytest.importorskip("pyModeS", reason="needs the optional extra `modes`")
import squitters

from neutralpoint.history.messages import read_messages
from neutralpoint.history.running import Manner, run_history

SECONDS = 330
QUIET = lambda text, share: None  # noqa: E731


def lines(address: str, seconds: int = SECONDS) -> list[str]:
    return [f"{t:.6f},{m}" for t, m in squitters.flight(address, seconds)]


def measured(folder):
    return run_history(folder, folder / ".s", Manner(), QUIET)


def test_every_airplane_of_a_recording_of_mode_s_is_measured(tmp_path):
    """Two airplanes climb at 8 m/s in a turn; a third is hardly heard, and one line is noise."""
    mixed = sorted(lines("DBC123") + lines("DBC456"), key=lambda line: float(line.split(",")[0]))
    text = "\n".join(["t_s,msg", *mixed, *lines("DBC789", 20), "1.0,8D00"])
    (tmp_path / "2031-04-14.modes.gz").write_bytes(gzip.compress(text.encode()))
    (tmp_path / "undated.modes").write_text(text, "utf-8")
    found = measured(tmp_path)
    assert list(found.address) == ["dbc123", "dbc456"]
    assert set(found.file) == {"2031-04-14.modes.gz"}
    # 2031-04-14 00:00 UTC in seconds, by the calendar: 22,383 days.
    np.testing.assert_allclose(found.start, 22_383 * 86_400.0, atol=2.0)
    for flight in range(2):
        rate = found.curve(flight)[1]
        np.testing.assert_allclose(rate[np.isfinite(rate)], 8.0, atol=0.5)  # a step over 20 s
    (undated,) = {t.reason for t in found.troubles if t.file == "undated.modes"}
    assert undated == "time-unclear"


def test_readings_are_those_that_were_sent(tmp_path):
    path = tmp_path / "2031-04-14.avr"
    path.write_text("\n".join(lines("DBC123", 60)), "utf-8")
    table, addresses = read_messages(str(path), path.name)
    truth = squitters.truth(table.time - table.time[0])
    assert addresses == ["dbc123"]
    speed = table.values["ground_speed"]
    assert np.nanmax(np.abs(speed - truth.speed)) < 1.0 * KNOT  # half a step in each part
    turned = np.unwrap(table.values["track_angle"]) - np.unwrap(truth.track)
    assert np.nanmax(np.abs(turned - np.nanmedian(turned))) < 1.0 * DEGREE


def test_every_airplane_of_an_asterix_recording_is_measured(tmp_path):
    pytest.importorskip("asterix.base", reason="needs the optional extra `asterix`")
    import asterix.generated as specifications

    spec = specifications.Cat_021_2_6
    data = b""
    for k in range(SECONDS):
        for address in (0xDBC123, 0xDBC456):
            one = {
                "010": (("SAC", 1), ("SIC", 2)),
                "071": (1000.0 + k, "s"),
                "073": (1000.3 + k, "s"),
                "080": address,
                "131": (("LAT", (46.0 + 0.001 * k, "°")), ("LON", (-36.0, "°"))),
                "145": (85.0, "FL"),
            }
            data += spec.create([spec.cv_record.create(one)]).unparse().to_bytes()
    (tmp_path / "2031-04-14.ast").write_bytes(data)
    (tmp_path / "undated.ast").write_bytes(data)
    found = measured(tmp_path)
    assert sorted(found.address) == ["dbc123", "dbc456"]
    height = found.curve(0)[0]
    np.testing.assert_allclose(height, 8500.0 * 0.3048, atol=1.0)
    assert [t.reason for t in found.troubles if t.file == "undated.ast"] == ["time-unclear"]
