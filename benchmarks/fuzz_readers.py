"""Every reader and the case file, fed damaged and invented input.

    python benchmarks/fuzz_readers.py [--inputs 100000] [--seed 1] [--out FILE]

Each input is a good file with bytes changed, cut, doubled, moved or swapped with those of another
file, or is random text. A reader may return values or raise the error of the package; anything
else is a fault. Before them, every class of fault that once broke the program is tried
(`attacks.py`). Counted: outcomes, the slowest input, and the peak of memory. A reader that takes
longer than the limit, or more memory than the limit, is a fault too.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import resource
import signal
import tempfile
import time
import warnings
import wave
from collections import Counter
from datetime import UTC, date, datetime
from pathlib import Path

import asterix.generated as specifications
import attacks
import fuzz_newer
import geotiffs
import numpy as np
import squitters
import xarray as xr
from fuzz_target import Target, nothing_found

from neutralpoint.airplane_file.build import build_airplane
from neutralpoint.airplane_file.document import parse_airplane
from neutralpoint.app.folders import JOBS
from neutralpoint.app.job_history import read_jobs
from neutralpoint.case import parse_case, track_seconds
from neutralpoint.case.clocks import clocks_taken, read_clocks
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import CAUTIONS, Findings, Subject
from neutralpoint.motion.bounds import check_bounds
from neutralpoint.report.claims.file import parse_claims
from neutralpoint.sources import (
    ClockSettings,
    Column,
    ColumnMap,
    HeightDatum,
    decode,
    read_delimited,
    read_gpx,
    read_hgt,
    read_kml,
    read_metars,
    read_netcdf_profile,
    read_sounding,
    read_wind_table,
    read_winds_aloft,
)
from neutralpoint.sources.asterix.read import AsterixSettings, read_asterix
from neutralpoint.sources.geotiff import read_geotiff
from neutralpoint.sources.modes.read import read_modes
from neutralpoint.sources.radar import Site
from neutralpoint.sources.recording import read_recording
from neutralpoint.study.record import read_record
from neutralpoint.track import Observations, Track

ROOT = Path(__file__).resolve().parents[1]
EXAMPLE = ROOT / "examples" / "quorleigh"
AIRPLANE = ROOT / "src" / "neutralpoint" / "airplane" / "catalogue" / "velmar-c7.toml"
RESULTS = Path(__file__).parent / "results" / "fuzz_readers.md"
SLOWEST = 5.0  # s of the processor for one input: a hang; inputs are a few kilobytes
LARGE = 60.0  # s for an input of up to 60 MB
MOST_MEMORY = 1500.0  # MB of the process
START = datetime(2030, 1, 1, tzinfo=UTC)
# Keys that the example does without.
MORE_KEYS = """
[[terrain]]
file = "ground.tif"

[[clocks]]
name = "tape"
offset = "2.4 s +- 0.8 s"
basis = "a call heard on both"

[[events]]
time = 18:54:30
clock = "tape"
error = "0.6 s"
kind = "voice"
text = "first call"

[[prior]]
cause = "spiral-dive"
weight = 3
reason = "fleet history, invented"

[[evidence]]
kind = "impact"
pitch = "-40 deg +- 10 deg"
speed = "300 kt +- 40 kt"
source = "survey, invented"

[[evidence]]
kind = "voice"
time = 18:54:40
strain = true
source = "invented"

[[evidence]]
kind = "trim-position"
angle = "2 deg +- 1 deg"
marks_agree = false
source = "invented"

[[evidence]]
kind = "finding"
item = "breaker"
found = "as normal"
source = "invented"

[history]
tracks = "earlier"
changed = 2030-01-04
events_with_fault = { spiral-dive = 0.2 }

[history.columns]
pressure_altitude = { column = "alt", unit = "ft" }

[outside]
causes = ["tail-hatch"]
examinations = ["time-in-bank"]

[facts]
takeoff = 18:31:00
source = "invented log of the tower"

[[recordings]]
file = "farm.wav"
kind = "ground"
start = 18:52:52
error = "1 s"
blades = 4
slowest = "1200 rpm"
fastest = "1900 rpm"
latitude = "46.2 deg"
longitude = "-36.1 deg"
height = "619 m"
source = "invented camera at a farm"

[[debris]]
name = "left tailplane half"
mass = "46 kg +- 4.6 kg"
area = "3.25 m2"
drag = "0.8 +- 0.3"
latitude = "46.2 deg"
longitude = "-36.1 deg"
place_error = "15 m"
source = "invented survey of the hillside"
"""
WORDS = [
    *(b"\x00", b"\xff\xfe", b"nan", b"1e999", b"-", b"9" * 40, b"\n", b",", b"<a>", b"&x;"),
    # What a case or airplane file must refuse by its ranges, and what is nested without end.
    *(b"1e300", b"1e9 lb", b"2 degC", b"0001-01-01", b"9999-12-31T23:59:59-12:00", b"9" * 5000),
    *(b"a" + b".a" * 5000, b"[" * 3000, b"+- 1e300"),
]


def _gpx() -> bytes:
    point = '<trkpt lat="{}" lon="-36"><ele>{}</ele><time>2031-04-14T18:57:{:02d}Z</time></trkpt>'
    points = "".join(point.format(46 + k / 1e3, 900 + k, k) for k in range(20))
    return f"<gpx><trk><trkseg>{points}</trkseg></trk></gpx>".encode()


def _kml() -> bytes:
    when = "".join(f"<when>2031-04-14T18:57:{k:02d}Z</when>" for k in range(20))
    coord = "".join(f"<gx:coord>-36 {46 + k / 1e3} 900</gx:coord>" for k in range(20))
    return f'<kml xmlns:gx="g"><gx:Track>{when}{coord}</gx:Track></kml>'.encode()


def _asterix() -> bytes:
    """System tracks with estimated accuracies, then reports with quality indicators."""
    spec = specifications.Cat_062_1_20
    records = [
        {
            "010": (("SAC", 1), ("SIC", 2)),
            "040": 77,
            "070": (43200.0 + 4.0 * k, "s"),
            "105": (("LAT", (46.0 + 0.004 * k, "°")), ("LON", (-36.0, "°"))),
            "136": (85.0, "FL"),
            "185": (("VX", (3.0, "m/s")), ("VY", (110.0, "m/s"))),
            "500": {"APC": (("X", (30.0, "m")), ("Y", (40.0, "m"))), "ARC": (100.0, "ft/min")},
        }
        for k in range(6)
    ]
    reports = [
        {
            "010": (("SAC", 1), ("SIC", 2)),
            "161": 77,
            "071": (43200.0 + k, "s"),
            "131": (("LAT", (46.0 + 0.001 * k, "°")), ("LON", (-36.0, "°"))),
            "090": ((2, 8, None), (0, 3, 9, None)),
        }
        for k in range(4)
    ]
    second = specifications.Cat_021_2_6
    return b"".join(
        s.create([s.cv_record.create(r)]).unparse().to_bytes()
        for s, every in ((spec, records), (second, reports))
        for r in every
    )


def _netcdf() -> bytes:
    level = np.array([1000.0, 850.0, 500.0])
    along = ("level",)
    data = xr.Dataset(
        {"u": (along, level * 0.01), "v": (along, level * 0.0), "t": (along, level * 0.0 + 280.0)},
        {"level": level},
    )
    return bytes(data.to_netcdf(engine="scipy", format="NETCDF3_64BIT"))


def _squitted() -> bytes:
    """Squitters and status messages of one airplane, as two receivers hear them."""
    sent = squitters.flight("DBC123", 10)
    sent += [(0.1, squitters.status("DBC123", 9, 3)), (5.1, squitters.target("DBC123", 8, 2))]
    lines = [f"{t:.3f} {m} north" for t, m in sorted(sent)]
    lines += [f"{t + 0.8:.3f} {m} south" for t, m in sorted(sent)[::3]]
    return "\n".join(lines).encode()


def _case(data: bytes) -> object:
    """A case file, and what is made of its clocks and times."""
    document = parse_case(data.decode("utf-8", errors="replace"))
    place = np.array([[0.8, -0.6]] * 2)
    row = np.arange(2)
    seen = Observations(np.array([68000.0, 68200.0]), place, 0.0, row, row * 0, row < 0)
    track = Track(START, position=seen)
    clocks = read_clocks(document)
    return [
        (track_seconds(event.time, track), clocks.get(event.clock or ""))
        for event in document.events
    ], clocks_taken(document, track)


def _airplane(data: bytes) -> object:
    document = parse_airplane(data.decode("utf-8", errors="replace"), "x")
    return build_airplane(document, "x")


def _modes(data: bytes) -> object:
    clock = ClockSettings("elapsed s", start=START)
    return read_modes(decode(data, "x"), clock, None, "x")


def _asterix_read(data: bytes) -> object:
    site = Site(0.8, -0.6, 100.0)
    return read_asterix(data, AsterixSettings(date(2030, 1, 1), None, {}, site), "x")


def _findings() -> Findings:
    return Findings(
        program_version="0",
        seed=1,
        cut_off="2031-05-01",
        epoch=START,
        subject=Subject(title="Quorleigh", question="q", airplane="a"),
        cautions=list(CAUTIONS),
        sources=[],
        assumptions=[],
        key_times=[],
    )


CLAIMS = b"""
schema = 1

[[claims]]
name = "onset"
says = "The load factor fell."
data = ["track.csv"]
method = "Bands of the motion."
kind = "derived"
at = 18:54:30
low = "0.1"
high = "0.3"
quantity = "normal_load_factor"
"""
RECORD = b'{"stage": "motion", "basis": "x", "settings": {}, "files": {}, "made": {}}'
JOB = b"""[{"id": "0123456789ab", "kind": "study", "state": "done", "stage": "Done",
"started": "2031-04-14T18:00:00Z", "lines": ["a"]}]"""


def of_a_case(folder: Path) -> list[Target]:
    """Files that a case folder from elsewhere may hold beside its sources."""
    findings = _findings()
    return [
        Target("claims", CLAIMS, lambda d: parse_claims(d.decode(errors="replace"), findings)),
        Target(
            "stage record",
            RECORD,
            lambda d: nothing_found(
                folder, "stage-motion.json", d, lambda f: read_record(f, "motion")
            ),
        ),
        Target("job history", JOB, lambda d: nothing_found(folder, JOBS, d, read_jobs)),
    ]


def _sounds() -> list[Target]:
    """A second of a hum as WAV, and as FLAC where its library is there."""
    hum = 0.3 * np.sin(np.arange(8000) / 7.0)

    def read(data: bytes) -> object:
        return read_recording(data, "x")

    made = io.BytesIO()
    with wave.open(made, "wb") as file:
        file.setparams((2, 2, 4000, 0, "NONE", ""))
        file.writeframes((hum * 32767.0).astype("<i2").tobytes())
    found = [Target("WAV", made.getvalue(), read)]
    with contextlib.suppress(ImportError):
        import soundfile

        packed = io.BytesIO()
        soundfile.write(packed, hum.reshape(-1, 2), 4000, format="FLAC")
        found.append(Target("FLAC", packed.getvalue(), read))
    return found


def targets() -> list[Target]:
    """Every reader with a good file."""
    lines = (EXAMPLE / "track.csv").read_bytes().splitlines()[:40]
    columns = {
        "time": Column("time_utc"),
        "latitude": Column("latitude"),
        "longitude": Column("longitude"),
        "pressure_altitude": Column("altitude_ft", "ft"),
        "ground_speed": Column("ground_speed_kt", "kt"),
        "track_angle": Column("track_deg"),
        "vertical_rate": Column("vertical_rate_ftmin", "ft/min"),
    }
    table_map = ColumnMap(columns, ClockSettings(day=date(2031, 4, 14)), out_of_order="sort")
    wind = {
        "altitude": Column("altitude_ft"),
        "wind_from": Column("from_deg"),
        "wind_speed": Column("speed_kt"),
    }
    winds = b"altitude_ft,from_deg,speed_kt\n1000,270,20\n5000,280,30\n9000,290,45\n"
    bulletin = b"VALID 150000Z\nFT  3000    6000    9000\nQQA 9900 2715+04 2720-01\n"
    day = date(2031, 4, 14)
    return [
        Target("table", b"\n".join(lines), lambda d: read_delimited(d, table_map, "x")),
        Target("Mode S", _squitted(), _modes),
        Target("ASTERIX", _asterix(), _asterix_read),
        Target("GPX", _gpx(), lambda d: read_gpx(d, HeightDatum(), "x")),
        Target("KML", _kml(), lambda d: read_kml(d, HeightDatum(), "x")),
        Target(
            "METAR",
            (EXAMPLE / "metar.txt").read_bytes(),
            lambda d: read_metars(decode(d, "x"), day, "x"),
        ),
        Target(
            "upper air",
            (EXAMPLE / "sounding.txt").read_bytes(),
            lambda d: read_sounding(decode(d, "x"), "x"),
        ),
        Target("winds aloft", bulletin, lambda d: read_winds_aloft(decode(d, "x"), "QQA", "x")),
        Target("wind table", winds, lambda d: read_wind_table(d, wind, "x")),
        Target("NetCDF", _netcdf(), lambda d: read_netcdf_profile(d, (46.0, -36.0), "x")),
        *_sounds(),
        Target("HGT", bytes(200), lambda d: read_hgt(d, "N46W037.hgt")),
        Target("GeoTIFF", geotiffs.written(geotiffs.slope(12, 14)), lambda d: read_geotiff(d, "x")),
        Target(
            "GeoTIFF, packed",
            geotiffs.written(geotiffs.slope(), void=-9999, compression="deflate", tile=(16, 16)),
            lambda d: read_geotiff(d, "x"),
        ),
        Target("case file", (EXAMPLE / "case.toml").read_bytes() + MORE_KEYS.encode(), _case),
        Target("airplane file", AIRPLANE.read_bytes(), _airplane),
    ]


def damaged(good: bytes, other: bytes, rng: np.random.Generator) -> bytes:
    """A good file after one to six accidents."""
    data = bytearray(good)
    for _ in range(int(rng.integers(1, 7))):
        size = max(len(data), 1)
        at = int(rng.integers(0, size))
        span = int(min(rng.geometric(0.05), size - at))
        kind = int(rng.integers(0, 8))
        if kind == 0 and data:
            data[at % len(data)] = int(rng.integers(0, 256))
        elif kind == 1:
            del data[at : at + span]
        elif kind == 2:
            data[at:at] = data[at : at + span] * int(rng.integers(1, 20))
        elif kind == 3:
            data[at:at] = WORDS[int(rng.integers(0, len(WORDS)))]
        elif kind == 4:
            del data[at:]
        elif kind == 5:
            start = int(rng.integers(0, len(other)))
            data[at : at + span] = other[start : start + span]
        elif kind == 6 and data:
            data[at % len(data)] ^= 1 << int(rng.integers(0, 8))
        else:
            data[at:at] = rng.integers(0, 256, span, dtype=np.uint8).tobytes()
    return bytes(data[:60_000])


def _hang(*_: object) -> None:
    raise TimeoutError


def feed(target: Target, data: bytes, limit: float = SLOWEST) -> None:
    """Give one input to a reader and count what comes of it."""
    target.inputs += 1
    target.code = ""
    started = time.process_time()
    signal.setitimer(signal.ITIMER_PROF, limit)
    try:
        found = target.read(data)
        if isinstance(found, tuple) and isinstance(found[0], Track):
            check_bounds(found[0])
        target.outcomes["values"] += 1
        report = found[1] if isinstance(found, tuple) else None
        target.refused_rows += sum(r.count for r in getattr(report, "refused", ()))
    except NeutralPointError as refused:
        target.outcomes["refused with a reason"] += 1
        target.code = refused.code
        if not (refused.message and refused.where and refused.hint):
            target.faults.append(f"an empty field: {refused!r}")
    except Exception as fault:
        target.faults.append(f"{type(fault).__name__}: {str(fault)[:80]} on {data[:60]!r}")
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        took = time.process_time() - started
        target.slowest = max(target.slowest, took)
        target.spent += took


def attempted(every: list[Target]) -> list[str]:
    """Try each class of fault on its reader; faults are counted with the reader's own."""
    by_name = {target.name: target for target in every}
    rows = ["| reader | what | came of it | s of the processor | MB more at the peak |"]
    rows.append("|---|---|---|---:|---:|")
    for name, what, wanted, data in attacks.attacks({t.name: t.good for t in every}):
        held, by_name[name].outcomes = by_name[name].outcomes, Counter()
        faults = len(by_name[name].faults)
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        begun = time.process_time()
        feed(by_name[name], data, LARGE)
        took = time.process_time() - begun
        more = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024.0
        came = next(iter(by_name[name].outcomes), "a fault")
        if code := by_name[name].code:
            came = f"refused: {code}"
        if by_name[name].code != wanted:
            by_name[name].faults.append(f"{what}: {came}, and not {wanted}")
        if len(by_name[name].faults) > faults:
            came = f"FAULT: {by_name[name].faults[-1][:80]}"
        by_name[name].outcomes = held + by_name[name].outcomes
        by_name[name].slowest = 0.0
        rows.append(f"| {name} | {what} | {came} | {took:.2f} | {more:.0f} |")
    return rows


def main() -> int:
    """Feed all readers in turn and write the table; 1 where there was a fault."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--inputs", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    warnings.simplefilter("error")  # a warning of a library on hostile input is a fault too
    signal.signal(signal.SIGPROF, _hang)
    rng = np.random.default_rng(options.seed)
    with tempfile.TemporaryDirectory() as folder:
        return fed(Path(folder), rng, options)


def fed(folder: Path, rng: np.random.Generator, options: argparse.Namespace) -> int:
    """Feed the readers, with a folder for those that read a file of one."""
    every = [*targets(), *of_a_case(folder), *fuzz_newer.targets(folder)]
    tried = attempted(every)
    for target in every:
        feed(target, target.good)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    for k in range(options.inputs - len(every)):
        target = every[k % len(every)]
        other = every[int(rng.integers(0, len(every)))].good
        feed(target, damaged(target.good, other, rng))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    faults = sum(len(t.faults) for t in every)
    rows = [
        "# Readers and case file on damaged input",
        "",
        f"Seed {options.seed}, {sum(t.inputs for t in every)} inputs, {faults} faults; peak of "
        f"memory {peak:.0f} MB, {before:.0f} MB before the damaged inputs. A fault is anything but "
        f"values or the error of the package, a warning, or more than {SLOWEST:.0f} s of the "
        "processor. Made by benchmarks/fuzz_readers.py.",
        "",
        "| reader | inputs | values | refused with a reason | rows refused and counted | faults | "
        "slowest s | mean ms |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for t in every:
        rows.append(
            f"| {t.name} | {t.inputs} | {t.outcomes['values']} | "
            f"{t.outcomes['refused with a reason']} | {t.refused_rows} | {len(t.faults)} | "
            f"{t.slowest:.2f} | {1e3 * t.spent / t.inputs:.2f} |"
        )
    rows += ["", "## Every class of fault that once broke the program", "", *tried]
    options.out.write_text("\n".join(rows) + "\n")
    print("\n".join(rows))
    for t in every:
        for fault in sorted(set(t.faults))[:6]:
            print(f"{t.name}: {fault}")
    return int(faults > 0 or peak > MOST_MEMORY)


if __name__ == "__main__":
    raise SystemExit(main())
