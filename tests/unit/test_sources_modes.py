"""Mode S beyond single messages: wrong bits, upsets, several receivers, swapped times."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE, FOOT, KNOT
from neutralpoint.sources import ClockSettings

pytest.importorskip("pyModeS", reason="needs the optional extra `modes`")
import squitters

from neutralpoint.sources.modes.frame import REPAIRED
from neutralpoint.sources.modes.read import read_modes

START = ClockSettings("elapsed s", start=datetime(2030, 1, 1, tzinfo=UTC))
ADDRESS = "DBC123"


def read(lines, address=None):
    return read_modes("\n".join(lines), START, address, "test.txt")


def flight(seconds: int = 60, receiver: str = "") -> list[str]:
    return [f"{t:.6f} {m} {receiver}" for t, m in squitters.flight(ADDRESS, seconds)]


def flipped(message: str, bit: int) -> str:
    return f"{int(message, 16) ^ (1 << bit):0{len(message)}X}"


def test_encoded_flight_comes_back():
    track, report = read(flight())
    truth = squitters.truth(track.position.time)
    # A cell is 5.1 m in latitude and up to 5.3 m in longitude: half of it in each.
    assert np.abs(track.position.value[:, 0] - truth.latitude).max() * 6.371e6 < 2.7
    east = (track.position.value[:, 1] - truth.longitude) * np.cos(truth.latitude)
    assert np.abs(east).max() * 6.371e6 < 2.7
    assert track.pressure_altitude.value == pytest.approx(
        squitters.truth(track.pressure_altitude.time).altitude, abs=12.5 * FOOT + 1e-6
    )
    assert report.refused == ()


@pytest.mark.parametrize("bit", [0, 23, 40, 70, 106])
def test_one_wrong_bit_is_repaired_marked_and_told(bit):
    lines = flight()
    cells = lines[20].split(" ")
    lines[20] = " ".join([cells[0], flipped(cells[1], bit), ""])
    track, report = read(lines)
    reasons = {(s.row, s.reason) for s in report.suspicions}
    assert reasons == {(21, REPAIRED)}
    clean, _ = read(flight())
    assert len(track.pressure_altitude) == len(clean.pressure_altitude)
    assert track.position.value == pytest.approx(clean.position.value)


def test_two_wrong_bits_are_refused_and_counted():
    lines = flight()
    cells = lines[20].split(" ")
    lines[20] = " ".join([cells[0], flipped(flipped(cells[1], 40), 71), ""])
    _, report = read(lines)
    assert [(r.count, r.rows) for r in report.refused] == [(1, (21,))]


def test_bank_beyond_fifty_degrees_is_rescued():
    """A register 5,0 that ordinary rules refuse, beside squitters that it continues."""
    now = squitters.truth(np.array([30.0]))
    reply = squitters.reply_50(
        ADDRESS,
        roll_deg=-67.5,
        track_deg=float(now.track[0] / DEGREE),
        ground_speed_kt=float(now.speed[0] / KNOT),
        airspeed_kt=float(now.speed[0] / KNOT),
    )
    _, report = read([*flight(), f"30.0 {reply}"])
    roll = report.onboard["roll"]
    assert roll.value / DEGREE == pytest.approx([-67.5], abs=0.09)
    assert roll.suspect.all()
    assert {s.reason for s in report.suspicions} == {
        "bank beyond 50 deg, which ordinary rules refuse"
    }
    assert any("ten-thousandth" in sentence for sentence in report.assumed)


def test_unlikely_bank_that_contradicts_the_squitters_is_not_rescued():
    reply = squitters.reply_50(
        ADDRESS, roll_deg=-67.5, track_deg=10.0, ground_speed_kt=120.0, airspeed_kt=500.0
    )
    _, report = read([*flight(), f"30.0 {reply}"])
    assert "roll" not in report.onboard


def test_rate_at_the_end_of_its_scale_is_kept_and_marked():
    lines = [*flight(), f"30.5 {squitters.velocity(ADDRESS, 200.0, 100.0, -32640.0)}"]
    track, report = read(lines)
    assert track.vertical_rate.suspect.sum() == 1
    assert any("end of its scale" in s.reason for s in report.suspicions)


def test_receivers_are_put_on_one_clock():
    """Offset 31.4 s, drift 20 ppm, jitter 5 ms: found within three standard errors."""
    rng = np.random.default_rng(5)
    one = squitters.flight(ADDRESS, 240)
    lines = [f"{t:.6f} {m} north" for t, m in one]
    for t, m in one[::2]:
        late = t + 31.4 + 20e-6 * (t - 120.0) + 0.005 * rng.standard_normal()
        lines.append(f"{late:.6f} {m} south")
    track, report = read(lines)
    clean, _ = read([f"{t:.6f} {m}" for t, m in one])
    (said,) = [s for s in report.assumed if s.startswith("Receiver south")]
    numbers = [float(x) for x in re.findall(r"-?\d+\.\d+", said)]
    offset, offset_95, drift, drift_95, jitter = numbers
    assert abs(offset - 31.4) < 1.5 * offset_95
    assert abs(drift - 20.0) < 1.5 * drift_95
    assert jitter == pytest.approx(0.005, rel=0.15)
    assert len(track.position) == len(clean.position)
    # Copies are averaged: half of the jitter of one receiver is left in the mean of two.
    apart = track.position.time - clean.position.time
    assert np.abs(apart).max() < 0.5 * 0.005 * 4.5
    assert any("averaged" in s for s in report.assumed)
    # A third of the messages come from the second clock: so much of its error is common to all.
    assert 0.2 * 0.5 * offset_95 < track.time_sigma < 0.5 * (offset_95 + 240e-6 * drift_95)
    assert clean.time_sigma == 0.0


def test_swapped_time_stamps_do_not_move_the_airplane():
    """A late even message makes a wrong pair now and then; the vote among fixes outvotes it."""
    lines = flight()
    a, b = lines[11].split(" "), lines[90].split(" ")
    lines[11], lines[90] = " ".join([a[0], b[1], ""]), " ".join([b[0], a[1], ""])
    track, _ = read(lines)
    truth = squitters.truth(track.position.time)
    off = np.abs(track.position.value[:, 0] - truth.latitude) * 6.371e6
    assert (off < 2.7).sum() >= len(off) - 2
    assert off.max() < 50e3


def test_several_airplanes_need_a_name():
    other = [f"{t:.6f} {m}" for t, m in squitters.flight("DEF456", 5)]
    with pytest.raises(NeutralPointError, match="2 airplanes") as failed:
        read([*flight(5), *other])
    assert failed.value.code == "case-invalid"
    track, report = read([*flight(5), *other], address="dbc123")
    assert len(track.position) and report.refused[0].count == len(other)


def test_ticks_of_a_receiver_clock():
    start = ClockSettings("ticks 12 MHz", start=datetime(2030, 1, 1, tzinfo=UTC))
    lines = [f"@{round(t * 12e6):012X}{m};" for t, m in squitters.flight(ADDRESS, 20)]
    track, _ = read_modes("\n".join(lines), start, None, "test.txt")
    clean, _ = read(flight(20))
    assert track.position.time == pytest.approx(clean.position.time, abs=2e-6)


@settings(max_examples=60)
@given(st.lists(st.text(alphabet="0123456789ABCDEF,; @*\t.-:TZ", max_size=60), max_size=30))
def test_any_text_gives_a_track_or_a_reason(lines):
    try:
        track, report = read(lines)
    except NeutralPointError as refused:
        assert refused.hint
    else:
        assert track.channels()
        assert report.rows_read > 0
