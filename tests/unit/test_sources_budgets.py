"""A hostile file is refused with the figure before it costs minutes or gigabytes."""

from __future__ import annotations

import io
import time
import tracemalloc
import zlib
from datetime import UTC, date, datetime

import geotiffs
import pytest
import tifffile

from neutralpoint.errors import NeutralPointError
from neutralpoint.sources import geotiff
from neutralpoint.sources.asterix import blocks
from neutralpoint.sources.asterix.read import AsterixSettings, read_asterix
from neutralpoint.sources.clock import ClockSettings
from neutralpoint.sources.modes import lines
from neutralpoint.sources.modes.read import read_modes
from neutralpoint.sources.xml_safe import elements

MEMORY = 400e6  # bytes; 2 GiB is the promise, for files of the largest size


def refusal(read, *arguments) -> NeutralPointError:
    """The error that a read ends with, below the bound of memory."""
    tracemalloc.start()
    try:
        with pytest.raises(NeutralPointError) as caught:
            read(*arguments)
        assert tracemalloc.get_traced_memory()[1] < MEMORY
    finally:
        tracemalloc.stop()
    return caught.value


def test_blocks_are_counted_before_they_are_kept(monkeypatch):
    assert blocks.MOST_BLOCKS <= 300_000  # half a minute and below 1 GiB, measured
    monkeypatch.setattr(blocks, "MOST_BLOCKS", 3000)
    data = b"\x30\x00\x04\x00" * 3001
    error = refusal(read_asterix, data, AsterixSettings(date(2031, 4, 14), None, {}, None), "x")
    assert error.code == "file-too-large" and str(blocks.MOST_BLOCKS) in error.message


def test_lines_are_counted_before_they_are_read():
    text = "x\n" * (lines.MOST_LINES + 1)
    clock = ClockSettings("elapsed s", start=datetime(2031, 4, 14, tzinfo=UTC))
    error = refusal(read_modes, text, clock, None, "x")
    assert error.code == "file-too-large" and str(lines.MOST_LINES) in error.hint


def seconds(data: bytes) -> float:
    """Processor time of going through an XML file."""
    begun = time.process_time()
    assert sum(1 for _ in elements(data, "x")) == 2
    return time.process_time() - begun


def test_a_long_attribute_costs_time_by_its_length_and_not_by_its_square():
    def named(size: int) -> bytes:
        return b'<gpx><wpt name="' + b"a" * size + b'"/></gpx>'

    short, long = seconds(named(2_000_000)), seconds(named(16_000_000))
    assert long < 30.0 * max(short, 0.02)  # 256 times by the square


def test_a_strip_that_unpacks_to_more_than_it_stands_for_is_refused():
    good = geotiffs.written(geotiffs.slope(), compression="deflate", tile=(16, 16))
    assert geotiff.read_geotiff(good, "x")
    bomb = zlib.compress(bytes(20_000_000), 9)
    error = refusal(geotiff.read_geotiff, with_strip(good, bomb), "x")
    assert error.code == "file-too-large" and "MB" in error.message


def with_strip(data: bytes, strip: bytes) -> bytes:
    """A file whose first strip is another, put behind its end."""
    with tifffile.TiffFile(io.BytesIO(data)) as file:
        page = file.pages.first
        places = page.tags[324].valueoffset, page.tags[325].valueoffset
        kinds = page.tags[324].dtype, page.tags[325].dtype
        order = "little" if file.byteorder == "<" else "big"
    made = bytearray(data + strip)
    for place, kind, number in zip(places, kinds, (len(data), len(strip)), strict=True):
        size = {3: 2, 4: 4}[int(kind)]
        made[place : place + size] = number.to_bytes(size, order)
    return bytes(made)
