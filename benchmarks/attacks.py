"""Inputs that once broke the program, one for each class of fault, for the fuzzing of readers.

Each is made for a reader of `fuzz_readers.py` and must be refused with a reason, or read where it
is only odd. What is large here is larger than the stated budgets, so that the refusal is tried and
not the reading.
"""

from __future__ import annotations

import io
import json
import zlib

import geotiffs
import numpy as np
import tifffile

HEAD = "time_utc,latitude,longitude,altitude_ft,ground_speed_kt,track_deg,vertical_rate_ftmin"
ROW = "{},{:.5f},{:.5f},14675,270,71,-1344"
REFUSED, ODD = "refused", "read or refused"

# Values that a key of a case file must not have, by key: (line before, line after).
CASE_VALUES = {
    "onset in year 1": ("onset = ", "onset = 0001-01-01T00:00:00Z"),
    "onset in year 9999": ("onset = ", "onset = 9999-12-31T23:59:59Z"),
    "start in year 9999": ("[analysis]", "[analysis]\nstart = 9999-12-31T23:59:59-12:00"),
    "event in year 1": ("[[events]]", "[[events]]\ntime = 0001-01-01T00:00:00Z\nkind = 'radar'"),
    "a clock off by 1e300 s": ('offset = "2.4 s', 'offset = "1e300 s +- 0.8 s"'),
    "wind of 5,000 kt": ("wind_speed = ", 'wind_speed = "5000 kt"'),
    "an error of 1e300 kt": ("wind_error = ", 'wind_error = "1e300 kt"'),
    "positions 1e6 s old": ("title = ", 'title = "x"\nposition_age = "1e6 s"'),
    "a mass of 1e9 lb": ("mass = ", 'mass = "1e9 lb"'),
    "a number of 5,000 digits": ("seed = ", f"seed = {'9' * 5000}"),
}


def _track(stamps: list[str], step: float = 0.001) -> bytes:
    rows = [ROW.format(t, 46.0 + step * k, -36.0) for k, t in enumerate(stamps)]
    return "\n".join([HEAD, *rows]).encode()


def _minute(second: int, day: str = "2031-04-14") -> str:
    return f"{day}T18:{52 + second // 60:02d}:{second % 60:02d}Z"


def _tracks() -> dict[str, bytes]:
    good = [_minute(k) for k in range(60)]
    return {
        "all rows at one time": _track([good[0]] * 60),
        "one row years away": _track([*good[:59], "2075-04-14T18:52:00Z"]),
        "a week without rows": _track([*good[:30], *(_minute(k, "2031-04-21") for k in range(30))]),
        "noise in place of positions": "\n".join(
            [HEAD, *(ROW.format(t, 89.0 * (-1) ** k, 97.0 * k % 180) for k, t in enumerate(good))]
        ).encode(),
        "times of year 1 and 9999": _track(["0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z"] * 30),
    }


def _case(good: bytes, line: str, put: str) -> bytes:
    """The case file with the first line that begins so replaced."""
    lines = good.decode().splitlines()
    for k, text in enumerate(lines):
        if text.startswith(line):
            lines[k] = put
            return "\n".join(lines).encode()
    raise KeyError(line)


def _cases(good: bytes) -> dict[str, bytes]:
    made = {}
    for name, (line, put) in CASE_VALUES.items():
        try:
            made[name] = _case(good, line, put)
        except KeyError:  # a key that the example does without: a table of its own at the end
            made[name] = good + f"\n[[clocks]]\nname = 'z'\n{put}\n".encode()
    made["sources nested without end"] = good + b"\nx = " + b"[" * 9000 + b"]" * 9000
    made["a key of 200,000 parts"] = b"a" + b".a" * 200_000 + b" = 1\n" + good
    made["tables nested without end"] = b"x = " + b"{a = " * 3000 + b"1" + b"}" * 3000
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


def attacks(good: dict[str, bytes]) -> list[tuple[str, str, str, bytes]]:
    """Every class of fault as one input.

    Args:
        good: A good file by the name of its reader.

    Returns:
        Reader, what is attempted, what must come of it, and the input.
    """
    point = b'<gpx><trk><trkseg><trkpt lat="46" lon="-36" name="'
    end = b'"/></trkseg></trk></gpx>'
    entity = b'<!DOCTYPE g [<!ENTITY a "aaaa">]><gpx>&a;</gpx>'
    job = {"id": "0" * 12, "kind": "study", "command": ["rm"], "state": "running"}
    record = {"stage": "motion", "basis": "", "settings": {}, "made": {}}
    found = [("table", name, REFUSED, data) for name, data in _tracks().items()]
    found += [
        ("case file", name, REFUSED, data) for name, data in _cases(good["case file"]).items()
    ]
    found += [
        ("GPX", "an attribute of 60 MB", ODD, point + b"a" * 60_000_000 + end),
        ("GPX", "entities within entities", REFUSED, entity),
        ("Mode S", "1.1 million lines of noise", REFUSED, b"8d00 x\n" * 1_100_000),
        ("ASTERIX", "5 million blocks of 4 bytes", REFUSED, b"\x30\x00\x04\x00" * 5_000_000),
        ("GeoTIFF", "a tile that unpacks to 2 GB", REFUSED, _bomb()),
        (
            "stage record",
            "a file outside the case",
            REFUSED,
            json.dumps(record | {"files": {"../../victim.txt": "0" * 64}}).encode(),
        ),
        ("stage record", "nested without end", REFUSED, b"[" * 100_000),
        ("job history", "a command of its own", REFUSED, json.dumps([job]).encode()),
        ("job history", "nested without end", REFUSED, b"[" * 100_000),
        ("claims", "a number of 5,000 digits", REFUSED, b"[[claims]]\nvalue = " + b"9" * 5000),
        ("claims", "a key of 200,000 parts", REFUSED, b"a" + b".a" * 200_000 + b" = 1"),
    ]
    return found
