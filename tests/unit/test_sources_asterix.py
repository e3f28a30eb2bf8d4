"""ASTERIX: records made with the specifications come back; doubtful states are marked."""

from __future__ import annotations

import struct
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neutralpoint.earth.geodesy import LocalFrame
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT, NAUTICAL_MILE

pytest.importorskip("asterix.base", reason="needs the optional extra `asterix`")
import asterix.generated as specifications

from neutralpoint.sources.asterix.read import AsterixSettings, read_asterix
from neutralpoint.sources.asterix.records import COASTED
from neutralpoint.sources.radar import Site, located

DAY = date(2030, 1, 1)
SITE = Site(46.0 * DEGREE, -36.0 * DEGREE, 100.0)


def block(spec, *items) -> bytes:
    made = spec.create([spec.cv_record.create(i) for i in items])
    return made.unparse().to_bytes()


def read(data, only=None, editions=None, site=None):
    return read_asterix(data, AsterixSettings(DAY, only, editions or {}, site), "test.ast")


def system_track(k: int, *, coasting: int = 0, age: float = 0.5, time: float | None = None):
    status = (0, 0, 0, 0, 0, None)
    return {
        "010": (("SAC", 1), ("SIC", 2)),
        "040": 77,
        "070": (43200.0 + 4.0 * k if time is None else time, "s"),
        "080": (
            status,
            (0, 0, 0, 0, 0, 0, 0, None),
            (0, 0, 0, 0, 0, None),
            (coasting, *[0] * 6, None),
        ),
        "105": (("LAT", (46.0 + 0.004 * k, "°")), ("LON", (-36.0, "°"))),
        "136": (85.0, "FL"),
        "185": (("VX", (3.0, "m/s")), ("VY", (110.0, "m/s"))),
        "220": (-1500.0, "ft/min"),
        "290": {"SSR": (age, "s")},
        "295": {"MFL": (1.25, "s")},
    }


def test_system_track_and_its_ages():
    spec = specifications.Cat_062_1_20
    data = b"".join(block(spec, system_track(k)) for k in range(10))
    track, report = read(data)
    assert track.position.value[:, 0] / DEGREE == pytest.approx(
        46.0 + 0.004 * np.arange(10), abs=3e-6
    )
    assert track.ground_speed.value == pytest.approx(np.hypot(3.0, 110.0))
    assert track.vertical_rate.value / FOOT_PER_MINUTE == pytest.approx(-1500.0)
    # The level was measured 1.25 s before the state.
    assert track.pressure_altitude.time == pytest.approx(track.position.time - 1.25)
    assert track.pressure_altitude.value / FOOT == pytest.approx(8500.0)
    assert not track.position.suspect.any() and report.refused == ()


def test_coasted_and_extrapolated_states_are_kept_and_marked():
    spec = specifications.Cat_062_1_20
    states = [
        system_track(k, coasting=int(k == 4), age=9.0 if k in (6, 7) else 0.5) for k in range(10)
    ]
    track, report = read(b"".join(block(spec, s) for s in states))
    assert len(track.position) == 10
    assert np.flatnonzero(track.position.suspect).tolist() == [4, 6, 7]
    reasons = {s.row: s.reason for s in report.suspicions if s.quantity == "position"}
    assert reasons[5] == COASTED and "extrapolated" in reasons[7]


def test_midnight():
    spec = specifications.Cat_062_1_20
    times = [86396.0, 86398.0, 0.0, 2.0]
    data = b"".join(block(spec, system_track(k, time=t)) for k, t in enumerate(times))
    track, _ = read(data)
    assert track.position.time == pytest.approx([86396.0, 86398.0, 86400.0, 86402.0])


def ads_b(k: int) -> dict:
    return {
        "010": (("SAC", 1), ("SIC", 2)),
        "071": (1000.0 + k, "s"),
        "073": (1000.3 + k, "s"),
        "077": (1001.0 + k, "s"),
        "075": (1000.4 + k, "s"),
        "080": 0xDBC123,
        "131": (("LAT", (46.0 + 0.001 * k, "°")), ("LON", (-36.0, "°"))),
        "145": (85.0, "FL"),
        "155": (0, ("BVR", (-1000.0, "ft/min"))),
        "160": (0, ("GS", (200.0 / 3600.0, "NM/s")), ("TA", (10.0, "°"))),
    }


def test_ads_b_times_of_applicability_before_reception():
    spec = specifications.Cat_021_2_6
    track, _ = read(b"".join(block(spec, ads_b(k)) for k in range(5)), editions={21: "2.6"})
    assert track.position.time == pytest.approx(1000.0 + np.arange(5))
    assert track.ground_speed.time == pytest.approx(1000.4 + np.arange(5), abs=1 / 128)
    assert track.ground_speed.value / KNOT == pytest.approx(200.0, abs=0.12)
    assert track.vertical_rate_source == "baro"


def test_plots_of_a_station_there_and_back():
    frame = LocalFrame(SITE.latitude, SITE.longitude, SITE.height)
    rho, theta, height = 40.0 * NAUTICAL_MILE, 1.2, 8500.0 * FOOT
    latitude, longitude = located(SITE, rho, theta, height)
    north, east, down = frame.to_ned(latitude, longitude, height)
    assert np.sqrt(north**2 + east**2 + down**2) == pytest.approx(rho, abs=0.01)
    assert np.arctan2(east, north) == pytest.approx(theta, abs=1e-9)
    assert np.isnan(located(SITE, 1000.0, theta, 9000.0)[0])


def test_plots_need_a_site_and_are_placed():
    spec = specifications.Cat_048_1_31
    plot = {
        "010": (("SAC", 1), ("SIC", 2)),
        "140": (500.0, "s"),
        "020": ((5, 0, 0, 0, 0, None),),
        "040": (("RHO", (40.0, "NM")), ("THETA", (60.0, "°"))),
        "090": (0, 0, ("FL", (85.0, "FL"))),
        "220": 0xDBC123,
    }
    ghost = plot | {"140": (504.8, "s"), "020": ((0, 0, 0, 0, 0, None),)}
    data = block(spec, plot) + block(spec, ghost)
    with pytest.raises(NeutralPointError, match="no station"):
        read(data)
    track, _ = read(data, site=SITE)
    expected = located(SITE, 40.0 * NAUTICAL_MILE, 60.0 * DEGREE, 8500.0 * FOOT)
    assert track.position.value[0] == pytest.approx(expected, abs=3e-6)
    assert track.position.suspect.tolist() == [False, True]


def test_inside_a_packet_capture():
    data = b"".join(block(specifications.Cat_062_1_20, system_track(k)) for k in range(3))
    udp = struct.pack(">HHHH", 1, 2, 8 + len(data), 0) + data
    ip = bytes([0x45, 0, 0, 0, 0, 0, 0, 0, 64, 17, 0, 0]) + bytes(8) + udp
    frame = bytes(12) + b"\x08\x00" + ip
    capture = struct.pack("<IHHiIII", 0xA1B2C3D4, 2, 4, 0, 0, 65535, 1)
    capture += struct.pack("<IIII", 0, 0, len(frame), len(frame)) + frame
    plain, _ = read(data)
    packed, _ = read(capture)
    assert (packed.position.value == plain.position.value).all()


def test_several_airplanes_need_a_name():
    spec = specifications.Cat_062_1_20
    other = system_track(1) | {"040": 78}
    data = block(spec, system_track(0)) + block(spec, other)
    with pytest.raises(NeutralPointError, match="2 airplanes"):
        read(data)
    track, report = read(data, only="track 77")
    assert len(track.position) == 1 and report.refused[0].count == 1


def test_an_edition_that_is_not_known():
    with pytest.raises(NeutralPointError, match=r"9\.9") as failed:
        read(block(specifications.Cat_062_1_20, system_track(0)), editions={62: "9.9"})
    assert "1.20" in failed.value.hint


GOOD = b"".join(block(specifications.Cat_062_1_20, system_track(k)) for k in range(4))


@settings(max_examples=80)
@given(st.data())
def test_damaged_bytes_give_a_track_or_a_reason(data):
    damaged = bytearray(GOOD)
    for _ in range(data.draw(st.integers(1, 6))):
        damaged[data.draw(st.integers(0, len(damaged) - 1))] = data.draw(st.integers(0, 255))
    try:
        track, _ = read(bytes(damaged[: data.draw(st.integers(0, len(damaged)))]))
    except NeutralPointError as refused:
        assert refused.hint
    else:
        assert track.channels()
