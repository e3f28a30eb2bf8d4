"""Accuracy categories: tables of the standard, messages, items, and what motion makes of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from neutralpoint.motion.horizontal import nominal
from neutralpoint.quantities import KNOT, NAUTICAL_MILE
from neutralpoint.sources import ClockSettings, Column, ColumnMap, read_delimited
from neutralpoint.sources.accuracy import (
    contained_sigma,
    height_sigma,
    position_sigma,
    velocity_sigmas,
)
from neutralpoint.sources.assembly import Assembly
from neutralpoint.track import Observations

ADDRESS = "DBC123"
START = ClockSettings("elapsed s", start=datetime(2030, 1, 1, tzinfo=UTC))
# 95 % bounds by category: the open Mode S book (DOI 10.34641/mg.11), chapter on uncertainties.
EPU = {
    11: 3,
    10: 10,
    9: 30,
    8: 92.6,
    7: 185.2,
    6: 555.6,
    5: 926,
    4: 1852,
    3: 3704,
    2: 7408,
    1: 18520,
}
VELOCITY = {4: (0.3, 0.46), 3: (1.0, 1.5), 2: (3.0, 4.5), 1: (10.0, 15.2)}
last_printed_digit = 0.02  # the printed vertical bounds have two digits


def test_the_bounds_are_those_of_the_standard():
    for category, bound in EPU.items():
        assert 2.4477 * position_sigma(category) == pytest.approx(bound, rel=1e-3)
    for category, bounds in VELOCITY.items():
        level, vertical = velocity_sigmas(category)
        assert 2.4477 * level == pytest.approx(bounds[0], rel=1e-3)
        assert 1.96 * vertical == pytest.approx(bounds[1], rel=last_printed_digit)


def test_a_bound_holds_what_it_says():
    """95 % of round Gaussian errors lie within the bound of NACp 9; 1e-3 beyond the radius."""
    rng = np.random.default_rng(1)
    error = np.linalg.norm(rng.standard_normal((2, 400_000)), axis=0)
    assert np.mean(error * position_sigma(9) < 30.0) == pytest.approx(0.95, abs=0.002)
    beyond = np.mean(error * contained_sigma(12, 1) > 0.2 * NAUTICAL_MILE)
    assert beyond == pytest.approx(1e-3, abs=2e-4)
    assert contained_sigma(12, 3) < contained_sigma(12, 1) == contained_sigma(12, None)


def test_nothing_stated_is_nothing_known():
    unknown = [position_sigma(0), position_sigma(None), *velocity_sigmas(0), contained_sigma(18, 3)]
    assert np.isnan([*unknown, height_sigma(0)]).all()


def test_what_counts_is_the_ratio_of_the_stated():
    row = np.arange(3)
    plain = Observations(row * 1.0, row * 1.0, 0.0, row, row * 0, row < 0)
    assert nominal(plain, 5.0).tolist() == [5.0, 5.0, 5.0]
    told = replace(plain, sigma=np.array([12.0, np.nan, 36.0]))
    assert nominal(told, 5.0).tolist() == [2.5, 5.0, 7.5]
    assert nominal(replace(plain, sigma=np.full(3, 50.0)), 5.0).tolist() == [5.0, 5.0, 5.0]
    assert told.taken(np.array([2, 0])).sigma.tolist() == [36.0, 12.0]


def test_readings_of_another_step_keep_it():
    """As messages without the Q bit: 100 ft among 25 ft."""
    assembly = Assembly()
    for k in range(12):
        step = 30.48 if k % 4 == 0 else float("nan")
        assembly.add("pressure_altitude", float(k), 30.48 * k, k, step=step)
    channel = assembly.channels["pressure_altitude"].observations(7.62)
    fine, rough = channel.by_step()
    assert (fine.step, len(fine), rough.step, len(rough)) == (7.62, 9, 30.48, 3)
    assert channel.taken(np.array([0, 1])).steps.tolist() == [30.48, 7.62]


def test_columns_of_categories_reach_the_readings():
    lines = ["time,lat,lon,gs,trk,nacp,nacv"]
    for k in range(12):
        stated = "9,2" if k < 6 else "x," if k < 9 else "0,4"
        lines.append(f"2030-01-01T00:00:{k:02d}Z,{46 + k / 1e3:.3f},-36,216,0,{stated}")
    names = {"latitude": "lat", "longitude": "lon", "ground_speed": "gs", "track_angle": "trk"}
    columns = {role: Column(name) for role, name in names.items()} | {
        "time": Column("time"),
        "ground_speed": Column("gs", "kt"),
        "nacp": Column("nacp"),
        "nacv": Column("nacv"),
    }
    track, report = read_delimited("\n".join(lines).encode(), ColumnMap(columns), "x.csv")
    assert track.position.sigma[:6] == pytest.approx(position_sigma(9))
    assert np.isnan(track.position.sigma[6:]).all()
    assert track.ground_speed.sigma[9:] == pytest.approx(velocity_sigmas(4)[0])
    assert track.track_angle.sigma[0] == pytest.approx(velocity_sigmas(2)[0] / (216.0 * KNOT))
    assert [(r.reason, r.count) for r in report.refused] == [("nacp is no whole number", 3)]


class TestModeS:
    """Status messages between the squitters of an invented flight."""

    @pytest.fixture
    def squitters(self):
        pytest.importorskip("pyModeS", reason="needs the optional extra `modes`")
        return pytest.importorskip("squitters")

    def read(self, lines):
        from neutralpoint.sources.modes.read import read_modes

        return read_modes("\n".join(f"{t:.3f} {m}" for t, m in lines), START, None, "x")

    def test_fields_are_those_that_the_kept_decoder_reads(self, squitters):
        from pyModeS.decoder.bds.bds62 import decode_bds62
        from pyModeS.decoder.bds.bds65 import decode_bds65

        from neutralpoint.sources.modes.frame import Frame
        from neutralpoint.sources.modes.status import stated

        for nacp, sil in ((9, 3), (10, 2), (5, 1), (0, 0)):
            for text, decode in (
                (squitters.status(ADDRESS, nacp, sil, gva=1), decode_bds65),
                (squitters.target(ADDRESS, nacp, sil), decode_bds62),
            ):
                frame = Frame(1.0, text, 1, 0, 17, ADDRESS)
                found, theirs = stated(frame), decode(frame.bits(33, 88))
                assert (found.position, found.integrity) == (nacp, sil)
                assert (theirs["nac_p"], theirs["sil"]) == (nacp, sil)
        assert (
            stated(Frame(1.0, squitters.status(ADDRESS, 9, 3, gva=1), 1, 0, 17, ADDRESS)).height
            == 1
        )

    def test_a_position_carries_the_accuracy_that_was_stated_last(self, squitters):
        lines = squitters.flight(ADDRESS, 60)
        lines += [(0.05, squitters.status(ADDRESS, 9, 3)), (30.05, squitters.target(ADDRESS, 5, 2))]
        track, report = self.read(sorted(lines))
        early = track.position.time < 30.05
        assert track.position.sigma[early] == pytest.approx(position_sigma(9))
        assert track.position.sigma[~early] == pytest.approx(position_sigma(5))
        (said,) = [s for s in report.assumed if s.startswith("Accuracies")]
        assert "on NACp 9" in said and "on NACp 5" in said and "SIL 2, 3" in said

    def test_without_a_status_the_containment_radius_is_taken(self, squitters):
        track, _ = self.read(squitters.flight(ADDRESS, 20))
        assert track.position.sigma == pytest.approx(contained_sigma(11, None))
        assert track.ground_speed.sigma is None  # NACv 0: unknown

    def test_accuracy_of_velocity_and_geometric_rate(self, squitters):
        from neutralpoint.sources.modes.frame import Frame
        from neutralpoint.sources.modes.velocity import velocity

        text = squitters.velocity(ADDRESS, 200.0, 100.0, -640.0)
        bits = int(text, 16) | (2 << (112 - 45))
        said = velocity(Frame(1.0, f"{bits:028X}", 1, 0, 17, ADDRESS))
        assert (said.speed_sigma, said.geometric_rate_sigma) == velocity_sigmas(2)


class TestAsterix:
    """Items 021/090 and 062/500."""

    @pytest.fixture
    def specifications(self):
        pytest.importorskip("asterix.base", reason="needs the optional extra `asterix`")
        import asterix.generated as specifications

        return specifications

    def read(self, spec, records):
        from datetime import date

        from neutralpoint.sources.asterix.read import AsterixSettings, read_asterix

        data = b"".join(
            spec.create([spec.cv_record.create(r)]).unparse().to_bytes() for r in records
        )
        return read_asterix(data, AsterixSettings(date(2030, 1, 1), None, {}, None), "x")[0]

    def test_quality_indicators_of_a_report(self, specifications):
        records = [
            {
                "010": (("SAC", 1), ("SIC", 2)),
                "080": 0xDBC123,
                "071": (43200.0 + k, "s"),
                "131": (("LAT", (46.0 + 0.001 * k, "°")), ("LON", (-36.0, "°"))),
                "090": ((2, 8, None), (0, 3, 9, None)),
                "160": (0, (0.05, "NM/s"), (10.0, "°")),
            }
            for k in range(6)
        ]
        track = self.read(specifications.Cat_021_2_6, records)
        assert track.position.sigma == pytest.approx(position_sigma(9))
        level, _ = velocity_sigmas(2)
        assert track.ground_speed.sigma == pytest.approx(level)
        assert track.track_angle.sigma == pytest.approx(level / track.ground_speed.value)

    def test_estimated_accuracies_of_a_tracker(self, specifications):
        records = [
            {
                "010": (("SAC", 1), ("SIC", 2)),
                "040": 77,
                "070": (43200.0 + 4.0 * k, "s"),
                "105": (("LAT", (46.0 + 0.004 * k, "°")), ("LON", (-36.0, "°"))),
                "185": (("VX", (3.0, "m/s")), ("VY", (110.0, "m/s"))),
                "220": (-1500.0, "ft/min"),
                "500": {
                    "APC": (("X", (30.0, "m")), ("Y", (40.0, "m"))),
                    "ATV": (("X", (3.0, "m/s")), ("Y", (4.0, "m/s"))),
                    "ARC": (100.0, "ft/min"),
                },
            }
            for k in range(6)
        ]
        track = self.read(specifications.Cat_062_1_20, records)
        assert track.position.sigma == pytest.approx(50.0 / np.sqrt(2.0))
        assert track.ground_speed.sigma == pytest.approx(5.0 / np.sqrt(2.0))
        assert track.vertical_rate.sigma == pytest.approx(100.0 * 0.00508, rel=0.01)  # 6.25 ft/min
        assert track.pressure_altitude is None
