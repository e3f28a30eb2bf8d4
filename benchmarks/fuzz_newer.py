"""Readers that came later: earlier flights, storyboards, notes, findings, and what a case keeps."""

from __future__ import annotations

import gzip
import hashlib
import importlib.util
import io
import json
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
from fuzz_target import Target, nothing_found

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import CAUTIONS, Findings, Subject, read_findings
from neutralpoint.report.compare.side import read_side
from neutralpoint.report.figures.studio.notes import parse_notes
from neutralpoint.report.film.storyboard import parse_storyboard
from neutralpoint.store import Store
from neutralpoint.study.weighing.kept import keep, kept
from neutralpoint.weighing.odds import combine

STORYBOARD = b"""
schema = 1
rate = 25.0
stop_short = 10.0
ground = "dark"

[[chapters]]
kind = "title"
title = "A descent"
seconds = 4.0

[[chapters]]
kind = "flight"
title = "From level flight on"
seconds = 20.0
from = 18:53:00
to = 18:55:10
panels = ["altitude", "normal_load_factor"]
camera = "orbit"
captions = ["Level.", "Then not."]
"""
NOTES = b"""
schema = 1

[[notes]]
figure = "motion"
chart = "altitude"
kind = "bracket"
at = 18:54:10
until = "last"
text = "The nose goes down"

[[notes]]
figure = "loads"
x = 2.0
y = 1.5
text = "Limit"
across = 0.1
"""
DIGEST = "0123456789abcdef"


def _findings() -> bytes:
    made = Findings(
        program_version="0",
        seed=1,
        cut_off="2031-05-01",
        epoch="2031-04-14T18:50:00Z",
        subject=Subject(title="Quorleigh", question="q", airplane="a"),
        cautions=list(CAUTIONS),
        sources=[],
        assumptions=[],
        key_times=[],
    )
    return made.model_dump_json(indent=1).encode()


def _folder(place: Path, name: str, data: bytes) -> Path:
    """An empty folder that holds one file."""
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir()
    (place / name).write_bytes(data)
    return place


def _stored(place: Path) -> bytes:
    """What a case keeps of a weighing."""
    odds = combine(("a", "b"), np.array([0.5, 0.5]), np.zeros((3, 2)))
    keep(odds, Store(place), DIGEST)  # type: ignore[arg-type]
    return next(place.glob("*.npz")).read_bytes()


def _kept(place: Path, data: bytes) -> object:
    """Damaged, with a name that says it is whole, as only somebody who means it makes."""
    name = f"track-{DIGEST}-{hashlib.sha256(data).hexdigest()[:16]}.npz"

    def read(path: Path) -> object:
        return kept(Store(path), DIGEST)

    return nothing_found(_folder(place, "x", b""), name, data, read)


def _tables(place: Path) -> list[Target]:
    """Tables of earlier flights, where their library is there."""
    if importlib.util.find_spec("polars") is None:
        return []
    from neutralpoint.history.generated import InventedTail, flight_rows
    from neutralpoint.history.generated_files import fleet_table
    from neutralpoint.history.running import Manner, run_history

    tail = InventedTail("inv01", "Tessera 2", 1)
    table = fleet_table([flight_rows(tail, 0, 3, rows=260)], tail)
    parquet = io.BytesIO()
    table.write_parquet(parquet)
    rows = table.write_csv().encode()

    def reader(name: str) -> Callable[[bytes], object]:
        def read(data: bytes) -> object:
            folder = _folder(place / "tracks", name, data)
            shutil.rmtree(place / "scratch", ignore_errors=True)
            fleet = run_history(folder, place / "scratch", Manner(), lambda *_: None)
            if fleet.troubles and not fleet.start.size:
                first = fleet.troubles[0]
                raise NeutralPointError("file-format", first.reason, where=first.file, hint="None.")
            return fleet

        return read

    made = (
        ("earlier flights, Parquet", "t.parquet", parquet.getvalue()),
        ("earlier flights, table", "t.csv", rows),
        ("earlier flights, packed", "t.csv.gz", gzip.compress(rows)),
    )
    return [Target(what, good, reader(name)) for what, name, good in made]


def targets(folder: Path) -> list[Target]:
    """Each with a good file.

    Args:
        folder: For those that read a file of one.
    """
    own = folder / "newer"
    own.mkdir()

    def findings(data: bytes) -> object:
        return read_findings(_folder(own / "results", "findings.json", data))

    def compared(data: bytes) -> object:
        """The case file of a study whose findings name it, as one from elsewhere may."""
        place = _folder(own / "compared", "case.toml", data)
        told = json.loads(_findings())
        sha = hashlib.sha256(data).hexdigest()
        told["sources"] = [{"role": "case", "path": "case.toml", "sha256": sha, "size": 1}]
        (place / "findings.json").write_text(json.dumps(told), "utf-8")
        return read_side(place)

    return [
        *_tables(own),
        Target("storyboard", STORYBOARD, lambda d: parse_storyboard(d.decode(errors="replace"))),
        Target("notes", NOTES, lambda d: [parse_notes(d.decode(errors="replace"))]),
        Target("findings", _findings(), findings),
        Target("compared", b'title = "x"\nseed = 3\n[analysis]\nonset = 18:54:10\n', compared),
        Target("kept odds", _stored(own / "stored"), lambda d: _kept(own / "kept", d)),
    ]
