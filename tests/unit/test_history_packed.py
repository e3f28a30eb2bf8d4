"""Packed files of tracks: damaged ones and those that unpack to far more are refused."""

from __future__ import annotations

import gzip

import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.history import packed
from neutralpoint.history.planning import plan

HEAD = b"time,latitude_deg,longitude_deg,altitude_ft\n"


def test_what_is_whole_is_read(tmp_path):
    for name, data in (("a.gpx", b"<gpx/>"), ("b.gpx.gz", gzip.compress(b"<gpx/>"))):
        (tmp_path / name).write_bytes(data)
        assert packed.read_whole(str(tmp_path / name), name) == b"<gpx/>"
    (tmp_path / "c.csv.gz").write_bytes(gzip.compress(HEAD))
    packed.check_table(str(tmp_path / "c.csv.gz"), "c.csv.gz")


@pytest.mark.parametrize("name", ["a.gpx.gz", "a.ast.gz", "a.csv.gz"])
def test_a_file_that_unpacks_to_far_more_is_left_out(tmp_path, name, monkeypatch):
    monkeypatch.setattr(packed, "WHOLE", 100_000)
    monkeypatch.setattr(packed, "TABLE", 100_000)
    (tmp_path / name).write_bytes(gzip.compress(HEAD + bytes(1_000_000)))
    read = packed.check_table if "csv" in name else packed.read_whole
    with pytest.raises(NeutralPointError) as caught:
        read(str(tmp_path / name), name)
    assert caught.value.code == "file-too-large" and caught.value.where == name


def test_the_stated_limits_hold_for_a_table_of_a_folder(tmp_path, monkeypatch):
    monkeypatch.setattr(packed, "TABLE", 100_000)
    (tmp_path / "a.csv.gz").write_bytes(gzip.compress(HEAD + bytes(1_000_000)))
    parts, troubles = plan(tmp_path, None, tmp_path / ".s", lambda _: None)
    assert not parts and [t.reason for t in troubles] == ["file-too-large"]


@pytest.mark.parametrize(
    "damage", [lambda d: d[:-9], lambda d: d[:12] + b"\xff" * 8 + d[20:], lambda d: b"x" + d]
)
@pytest.mark.parametrize("name", ["a.gpx.gz", "a.csv.gz"])
def test_a_damaged_one_is_said_to_be(tmp_path, damage, name):
    (tmp_path / name).write_bytes(damage(gzip.compress(bytes(range(256)) * 40)))
    read = packed.check_table if "csv" in name else packed.read_whole
    with pytest.raises(NeutralPointError) as caught:
        read(str(tmp_path / name), name)
    assert caught.value.code == "file-format"
