"""Inputs that once broke the program, one for each class of fault, for the fuzzing of readers.

Each is made for a reader of `fuzz_readers.py` and must be refused with the code beside it. What is
large here is larger than the stated budgets, so that the refusal is tried and not the reading.
"""

from __future__ import annotations

import io
import json
import wave
import zlib

import geotiffs
import h5py
import numpy as np
import tifffile

HEAD = "time_utc,latitude,longitude,altitude_ft,ground_speed_kt,track_deg,vertical_rate_ftmin"
ROW = "{},{:.5f},{:.5f},14675,270,71,-1344"

# Values that a key of a case file must not have, by key: (line before, line after).
CASE_VALUES = {
    "onset in year 1": ("onset = ", "onset = 0001-01-01T00:00:00Z"),
    "onset in year 9999": ("onset = ", "onset = 9999-12-31T23:59:59Z"),
    "start in year 9999": ("[analysis]", "[analysis]\nstart = 9999-12-31T23:59:59-12:00"),
    "event in year 1": ("time = 18:", "time = 0001-01-01T00:00:00Z"),
    "a clock off by 1e300 s": ('offset = "2.4 s', 'offset = "1e300 s +- 0.8 s"'),
    "an error of 1e300 kt": ("wind_error = ", 'wind_error = "1e300 kt"'),
    "positions 1e6 s old": ("title = ", 'title = "x"\nposition_age = "1e6 s"'),
    "a mass of 1e9 lb": ("[airplane]", '[airplane]\nmass = "1e9 lb"'),
    "a column 0": ("time = ", "time = 0"),
    "a number for a time": ("onset = ", "onset = 68070"),
    "a title that commands a terminal": ("title = ", 'title = "a\\u001b[2J"'),
    "a number of 5,000 digits": ("seed = ", f"seed = {'9' * 5000}"),
}


WIND = b"""
[[weather]]
kind = "constant"
wind_from = "270 deg"
wind_speed = "5000 kt"
wind_error = "5 kt"
"""


CHUNK = b"junk\xff\xff\xff\x7f"


def _track(stamps: list[str], step: float = 0.001) -> bytes:
    rows = [ROW.format(t, 46.0 + step * k, -36.0) for k, t in enumerate(stamps)]
    return "\n".join([HEAD, *rows]).encode()


def _minute(second: int, day: str = "2031-04-14") -> str:
    return f"{day}T18:{52 + second // 60:02d}:{second % 60:02d}Z"


def _tracks() -> dict[str, tuple[bytes, str]]:
    """Tables of a track, each with the code that refuses it."""
    good = [_minute(k) for k in range(60)]
    rough = (ROW.format(t, 89.0 * (-1) ** k, 97.0 * k % 180) for k, t in enumerate(good))
    weeks = [*good[:30], *(_minute(k, "2031-04-21") for k in range(30))]
    plain = _track(good).decode()
    polar = "\n".join([HEAD, *(ROW.format(t, 89.99, 0.1 * k) for k, t in enumerate(good))]).encode()
    commas = plain.replace("46.", "46,")
    twice = plain.replace(HEAD, f"{HEAD},longitude").replace("-1344", "-1344,10.0")
    return {
        "all rows at one time": (_track([good[0]] * 60), "track-too-short"),
        "one row years away": (_track([*good[:59], "2075-04-14T18:52:00Z"]), "track-too-long"),
        "a week without rows": (_track(weeks), "track-too-long"),
        "past a pole at a kilometer": (polar, "track-pole"),
        "a decimal comma among commas": (commas.encode(), "file-format"),
        "a name over two columns": (twice.encode(), "file-format"),
        "100,000 columns": (plain.replace("\n", "," * 100_000 + "\n").encode(), "file-format"),
        "noise in place of positions": ("\n".join([HEAD, *rough]).encode(), "track-mixed"),
        "times of year 1 and 9999": (
            _track(["0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z"] * 30),
            "file-empty",
        ),
    }


def _replaced(good: bytes, line: str, put: str) -> bytes:
    """The case file with the first line that begins so replaced."""
    lines = good.decode().splitlines()
    at = next(k for k, text in enumerate(lines) if text.startswith(line))
    lines[at] = put
    return "\n".join(lines).encode()


def _cases(good: bytes) -> dict[str, tuple[bytes, str]]:
    """Case files, each with the code that refuses it."""
    made = {
        name: (_replaced(good, line, put), "quantity-range")
        for name, (line, put) in CASE_VALUES.items()
    }
    for name in ("a number of 5,000 digits", "a title that commands a terminal"):
        made[name] = made[name][0], "case-syntax"
    for name in ("a column 0", "a number for a time"):
        made[name] = made[name][0], "case-invalid"
    made["wind of 5,000 kt"] = good + WIND, "quantity-range"
    made["sources nested without end"] = good + b"\nx = " + b"[" * 9000 + b"]" * 9000, "case-syntax"
    made["a key of 200,000 parts"] = b"a" + b".a" * 200_000 + b" = 1\n" + good, "case-syntax"
    tables = b"x = " + b"{a = " * 3000 + b"1" + b"}" * 3000
    made["tables nested without end"] = tables, "case-syntax"
    return made


def _bomb() -> bytes:
    """A GeoTIFF whose one tile unpacks to 2 GB, from 9 MB of the file."""
    rough = np.random.default_rng(1).normal(500.0, 50.0, (256, 256)).astype(np.float32)
    good = geotiffs.written(rough, compression="deflate", tile=(256, 256))
    packer, parts = zlib.compressobj(1), []
    for _ in range(200):
        parts.append(packer.compress(bytes(10_000_000)))
    strip = b"".join([*parts, packer.flush()])
    with tifffile.TiffFile(io.BytesIO(good)) as file:
        page = file.pages.first
        tags = page.tags[324], page.tags[325]
        order = "little" if file.byteorder == "<" else "big"
    made = bytearray(good + strip)
    for tag, number in zip(tags, (len(good), len(strip)), strict=True):
        size = {3: 2, 4: 4}[int(tag.dtype)]
        made[tag.valueoffset : tag.valueoffset + size] = number.to_bytes(size, order)
    return bytes(made)


def _profile(kind: str) -> bytes:
    """A NetCDF profile that reads another file, or that unpacks to 9 GB from 25 kB."""
    made = io.BytesIO()
    with h5py.File(made, "w") as file:
        level = file.create_dataset("pressure_level", data=np.array([1000.0, 850.0, 700.0]))
        level.make_scale("pressure_level")
        if kind == "device":
            file.create_dataset("temperature", (3,), "f8", external=[("/dev/zero", 0, 24)])
        elif kind == "link":
            file["temperature"] = h5py.ExternalLink("/etc/other.h5", "x")
        else:
            for number in range(60):
                file.create_dataset(f"v{number}", (19_000_000,), "f8", chunks=(1_000_000,))
    return made.getvalue()


def _sound(channels: int, rate: int, frames: int, more: bytes = b"") -> bytes:
    """A WAV of 8 bits with a hum; `more` stands before it as a chunk of its own."""
    made = io.BytesIO()
    with wave.open(made, "wb") as file:
        file.setparams((channels, 1, rate, 0, "NONE", ""))
        file.writeframes(bytes(range(100, 150)) * (frames * channels // 50 + 1))
    data = made.getvalue()
    return data[:12] + more + data[12:]


def _flacs(good: bytes) -> list[tuple[str, str, str, bytes]]:
    """A FLAC with another number of samples in its head (RFC 9639, 8.2: 36 bits; 0 = not known)."""

    def told(samples: int) -> bytes:
        return good[:21] + (good[21] >> 4 << 36 | samples).to_bytes(5, "big") + good[26:]

    return [
        ("FLAC", "a length that is not told", "file-format", told(0)),
        ("FLAC", "more told than there is", "file-format", told(90_000)),
        ("FLAC", "a length of 4,700 hours", "file-too-large", told(2**36 - 1)),
        ("FLAC", "its end is lost", "file-format", good[: len(good) // 2]),
    ]


def _beside(good: dict[str, bytes]) -> list[tuple[str, str, str, bytes]]:
    """Of files beside the sources; an empty code: passed over, at once."""
    deep, parts = b"[" * 100_000, b"a" + b".a" * 200_000 + b" = 1"
    tree = io.BytesIO()
    np.savez(tree, tree=np.array(deep.decode()))
    found = [
        ("storyboard", "a key of 200,000 parts", "storyboard-invalid", parts),
        ("notes", "a key of 200,000 parts", "figures-invalid", parts),
        ("findings", "nested without end", "results-version", deep),
        ("compared", "a key of 200,000 parts", "", parts),
        ("kept odds", "a tree nested without end", "not-found", tree.getvalue()),
    ]
    if whole := good.get("earlier flights, Parquet"):
        lost = whole[:100] + whole[500:]
        found.append(("earlier flights, Parquet", "its middle is lost", "file-format", lost))
    return found


def attacks(good: dict[str, bytes]) -> list[tuple[str, str, str, bytes]]:
    """Every class of fault as one input.

    Args:
        good: A good file by the name of its reader.

    Returns:
        Reader, what is attempted, the code that must refuse it, and the input.
    """
    point = b'<gpx><trk><trkseg><trkpt lat="46" lon="-36" name="'
    end = b'"/></trkseg></trk></gpx>'
    entity = b'<!DOCTYPE g [<!ENTITY a "aaaa">]><gpx>&a;</gpx>'
    job = {"id": "0" * 12, "kind": "study", "command": ["rm"], "state": "running"}
    record = {"stage": "motion", "basis": "", "settings": {}, "made": {}}
    found = [("table", name, code, data) for name, (data, code) in _tracks().items()]
    cases = _cases(good["case file"])
    found += [("case file", name, code, data) for name, (data, code) in cases.items()]
    outside = json.dumps(record | {"files": {"../../victim.txt": "0" * 64}}).encode()
    blocks = b"\x30\x00\x04\x00" * 5_000_000
    found += [
        ("GPX", "an attribute of 60 MB", "file-empty", point + b"a" * 60_000_000 + end),
        ("GPX", "entities within entities", "file-format", entity),
        ("Mode S", "1.1 million lines of noise", "file-too-large", b"8d00 x\n" * 1_100_000),
        ("ASTERIX", "5 million blocks of 4 bytes", "file-too-large", blocks),
        ("GeoTIFF", "a tile that unpacks to 2 GB", "file-too-large", _bomb()),
        ("NetCDF", "numbers of a device", "weather-invalid", _profile("device")),
        ("NetCDF", "a link to another file", "weather-invalid", _profile("link")),
        ("NetCDF", "60 variables that unpack to 9 GB", "weather-invalid", _profile("bomb")),
        ("WAV", "a chunk longer than the file", "file-format", _sound(1, 4000, 8000, CHUNK)),
        ("WAV", "300 channels of 40 MB", "file-format", _sound(300, 4000, 130_000)),
        ("WAV", "a day", "file-too-large", _sound(1, 800, 70_000_000)),
        ("stage record", "a file outside the case", "not-found", outside),
        ("stage record", "nested without end", "not-found", b"[" * 100_000),
        ("job history", "a command of its own", "not-found", json.dumps([job]).encode()),
        ("job history", "nested without end", "not-found", b"[" * 100_000),
        ("claims", "a number of 5,000 digits", "claims-invalid", b"[[claims]]\nv = " + b"9" * 5000),
        ("claims", "a key of 200,000 parts", "claims-invalid", b"a" + b".a" * 200_000 + b" = 1"),
    ]
    return found + _beside(good) + (_flacs(good["FLAC"]) if "FLAC" in good else [])
