"""Mode S messages of the open Mode S book and of a recording, against their published contents.

The messages: J. Sun, The 1090 Megahertz Riddle (2nd ed.), DOI 10.34641/mg.11, each recomputed bit
by bit in `authorities`' origin; last printed digits set the tolerances.
"""

from __future__ import annotations

import csv
import gzip
from datetime import UTC, datetime

import numpy as np
import pytest

from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, HECTOPASCAL, KNOT
from neutralpoint.sources import ClockSettings

pytest.importorskip("pyModeS", reason="needs the optional extra `modes`")
from neutralpoint.sources.modes.read import read_modes
from neutralpoint.sources.modes.replies import SquitteredFlight, recognise

START = ClockSettings("elapsed s", start=datetime(2030, 1, 1, tzinfo=UTC))


def read(*lines: str, address: str | None = None):
    return read_modes("\n".join(lines), START, address, "test.txt")


def only(channel) -> float:
    assert len(channel) == 1
    return channel.value[0]


def test_position_pair():
    """Even message newer: latitude 52.2572, longitude 3.91937, 38 000 ft.

    Source: J. Sun, The 1090 Megahertz Riddle, 2nd ed., DOI 10.34641/mg.11, ch. Airborne position.
    """
    track, report = read("0.0 8DD0621D58C386435CC412BF6F79", "1.0 8DD0621D58C382D690C8ACFE2608")
    assert report.refused == ()
    latitude, longitude = track.position.value.T / DEGREE
    assert latitude == pytest.approx([52.26578017412606, 52.25720214843750], abs=1e-11)
    assert longitude[1] == pytest.approx(3.91937255859375, abs=1e-11)
    assert track.pressure_altitude.value == pytest.approx(38000.0 * FOOT)
    assert track.pressure_altitude.step == pytest.approx(25.0 * FOOT)


def test_pair_too_far_apart_gives_no_place():
    """Source: J. Sun, The 1090 Megahertz Riddle, 2nd ed., DOI 10.34641/mg.11, ch. Airborne
    position: 10 s.
    """
    track, report = read("0.0 8DD0621D58C386435CC412BF6F79", "10.1 8DD0621D58C382D690C8ACFE2608")
    assert track.position is None
    assert [(r.count, r.reason) for r in report.refused] == [
        (2, "no even and odd position close enough in time to place it")
    ]


def test_ground_velocity():
    """The book prints 159.20 kt, 182.88 deg, -832 ft/min (satellite), +550 ft.

    Source: J. Sun, The 1090 Megahertz Riddle, 2nd ed., DOI 10.34641/mg.11, ch. Airborne velocity.
    """
    track, report = read("0.0 8DD85020994409940838178D6DE0")
    assert only(track.ground_speed) / KNOT == pytest.approx(159.20, abs=0.005)
    assert only(track.track_angle) / DEGREE == pytest.approx(182.88, abs=0.005)
    assert only(track.vertical_rate) / FOOT_PER_MINUTE == pytest.approx(-832.0)
    assert track.vertical_rate_source == "geometric"
    assert only(report.onboard["height_difference"]) / FOOT == pytest.approx(550.0)


def test_airspeed_and_heading():
    """Source: J. Sun, The 1090 Megahertz Riddle, 2nd ed., DOI 10.34641/mg.11, ch. Airborne
    velocity.
    """
    track, report = read("0.0 8DD05F219B06B6AF1894002CAC5D")
    assert only(report.onboard["squitter_heading"]) / DEGREE == pytest.approx(243.98, abs=0.005)
    assert only(report.onboard["squitter_true_airspeed"]) / KNOT == pytest.approx(375.0)
    assert only(track.vertical_rate) / FOOT_PER_MINUTE == pytest.approx(-2304.0)
    assert track.vertical_rate_source == "baro"
    assert "height_difference" not in report.onboard


@pytest.mark.parametrize(
    ("message", "register", "expected"),
    [
        (
            "A80006ACF9363D3BBF9CE91F1E1D",
            "5,0",
            {
                "roll": (-9.7, DEGREE, 0.05),
                "true_track": (140.273, DEGREE, 0.0005),
                "track_rate": (-0.406, DEGREE, 0.0005),
                "replied_ground_speed": (476.0, KNOT, 1e-9),
                "true_airspeed": (466.0, KNOT, 1e-9),
            },
        ),
        (
            "A80004AAA74A072BFDEFC145CB4F",
            "6,0",
            {
                "magnetic_heading": (110.391, DEGREE, 0.0005),
                "indicated_airspeed": (259.0, KNOT, 1e-9),
                "mach": (0.700, 1.0, 0.0005),
                "baro_vertical_rate": (-2144.0, FOOT_PER_MINUTE, 1e-9),
                "inertial_vertical_rate": (-2016.0, FOOT_PER_MINUTE, 1e-9),
            },
        ),
        (
            "A8001EBCAEE57730A801064E1344",
            "4,0",
            {
                "selected_altitude": (24000.0, FOOT, 1e-9),
                "pressure_setting": (1013.2, HECTOPASCAL, 0.05),
            },
        ),
    ],
)
def test_replies(message, register, expected):
    """Source: J. Sun, The 1090 Megahertz Riddle, 2nd ed., DOI 10.34641/mg.11, ch. Enhanced
    surveillance.
    """
    payload = int(message[8:22], 16)
    reply = recognise(payload, 0.0, SquitteredFlight())
    assert (reply.register, reply.doubt) == (register, "")
    for name, (value, unit, tolerance) in expected.items():
        assert reply.values[name] / unit == pytest.approx(value, abs=tolerance), name


def test_altitude_reply():
    """Format 4: 36 000 ft; the address is what the parity leaves.

    Source: J. Sun, The 1090 Megahertz Riddle, 2nd ed., DOI 10.34641/mg.11, ch. Surveillance
        replies.
    """
    track, _ = read("0.0 2000171896A983", address="DCA7E8")
    assert only(track.pressure_altitude) / FOOT == pytest.approx(36000.0)


@pytest.mark.recorded
def test_recording_against_its_decoded_copy(recorded_flights):
    """Every altitude, velocity and reply of the recording; positions to the cell of the code.

    Source: the recording's copy, decoded by another program, beside the project.
    """
    with gzip.open(recorded_flights / "airliner_modes_msgs.csv.gz", "rt") as file:
        text = file.read()
    with gzip.open(recorded_flights / "airliner_modes_decoded.csv.gz", "rt", newline="") as file:
        rows = list(csv.DictReader(file))
    track, report = read_modes(text, START, None, "airliner")

    def told(name: str) -> tuple[np.ndarray, np.ndarray]:
        found = [(float(r["t_s"]), float(r[name])) for r in rows if r[name]]
        return tuple(np.array(found).T)

    for name, channel, unit in (
        ("altitude", track.pressure_altitude, FOOT),
        ("vertical_rate", track.vertical_rate, FOOT_PER_MINUTE),
        ("track", track.track_angle, DEGREE),
        ("roll", report.onboard["roll"], DEGREE),
        ("true_airspeed", report.onboard["true_airspeed"], KNOT),
        ("indicated_airspeed", report.onboard["indicated_airspeed"], KNOT),
        ("mach", report.onboard["mach"], 1.0),
        ("magnetic_heading", report.onboard["magnetic_heading"], DEGREE),
        ("selected_altitude_mcp", report.onboard["selected_altitude"], FOOT),
    ):
        time, value = told(name)
        assert channel.time == pytest.approx(time, abs=2e-6), name
        assert channel.value / unit == pytest.approx(value, abs=1e-9), name
    # The copy leaves out positions before its first pair; all that it has are here.
    time, latitude = told("latitude")
    _, longitude = told("longitude")
    mine = np.searchsorted(track.position.time, time - 1e-5)
    assert track.position.value[mine, 0] / DEGREE == pytest.approx(latitude, abs=1e-9)
    assert track.position.value[mine, 1] / DEGREE == pytest.approx(longitude, abs=1e-9)
    assert len(track.position) > len(time)
    assert not track.position.suspect.any()
