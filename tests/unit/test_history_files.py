"""Folders of tracks: read, divided, resumed; what is wrong is named with file and row."""

from __future__ import annotations

import multiprocessing
import os
import shutil
import signal
import subprocess
import sys
import threading
import time

import numpy as np
import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.history.generated import InventedTail, fleet_of, flight_rows
from neutralpoint.vocabulary.measure import MEASURES

polars = pytest.importorskip("polars")
from neutralpoint.history import planning, running  # noqa: E402 - the engine is an extra
from neutralpoint.history.generated_files import fleet_table, write_fleet  # noqa: E402
from neutralpoint.history.parts import part_file  # noqa: E402

QUIET = lambda text, share: None  # noqa: E731
ROWS = 700  # of a flight: ten minutes and more


def tables(count: int, flights: int = 2, seed: int = 3, rows: int = ROWS):
    return [
        fleet_table([flight_rows(t, n, seed, rows=rows) for n in range(t.flights)], t)
        for t in fleet_of(count, flights)
    ]


def measured(folder, scratch, **manner):
    return running.run_history(folder, scratch, running.Manner(**manner), QUIET)


def same(one, other):
    assert one.count == other.count
    assert list(one.address) == list(other.address)
    for name in MEASURES:
        np.testing.assert_allclose(one.values[name], other.values[name], rtol=1e-9, atol=1e-12)


def test_a_table_of_many_gives_what_files_of_flights_give(tmp_path, monkeypatch):
    """Rows of all airplanes mixed by time, and too many for one part: spread by address."""
    apart, mixed = tmp_path / "apart", tmp_path / "mixed"
    apart.mkdir(), mixed.mkdir()
    each = tables(5)
    for number, table in enumerate(each):
        table.write_parquet(apart / f"{number}.parquet")
    polars.concat(each).sort("time", maintain_order=True).write_parquet(mixed / "all.parquet")
    whole = measured(apart, tmp_path / "a")
    monkeypatch.setattr(planning, "PART_ROWS", 1500)
    parts, troubles = planning.plan(mixed, None, tmp_path / "b", lambda text: None)
    assert len(parts) > 2 and not troubles
    same(whole, measured(mixed, tmp_path / "b"))


def test_text_and_columns_of_other_names_and_units_give_the_same(tmp_path):
    """Meters, m/s and radians under other names: units are found by physics."""
    (table,) = tables(1)
    first, second = tmp_path / "parquet", tmp_path / "text"
    first.mkdir(), second.mkdir()
    table.write_parquet(first / "one.parquet")
    other = table.select(
        timestamp=polars.from_epoch(polars.col("time").cast(polars.Int64) * 1000, "ms"),
        lat="latitude_deg",
        lon="longitude_deg",
        alt=polars.col("altitude_ft").cast(polars.Float64) * 0.3048,
        gs=polars.col("ground_speed_kt").cast(polars.Float64) * 1.852,
        track="track_deg",
        roc="vertical_rate_fpm",
        hex="address",
    ).with_columns(polars.col("timestamp").dt.strftime("%Y-%m-%dT%H:%M:%SZ"))
    other.write_csv(second / "one.csv", separator=";")
    one, two = (measured(folder, folder / ".s") for folder in (first, second))
    assert one.count == two.count == 2
    for name in ("trim_speed", "cruise_excess", "climb_power", "rate_bias", "load_low"):
        np.testing.assert_allclose(one.values[name][0], two.values[name][0], rtol=2e-3, atol=2e-3)


def test_bad_files_are_named_and_the_rest_goes_on(tmp_path):
    good, other, mixed, jumping = tables(4)
    good.write_parquet(tmp_path / "good.parquet")
    other.write_parquet(tmp_path / "cut.parquet")
    whole = (tmp_path / "cut.parquet").read_bytes()
    (tmp_path / "cut.parquet").write_bytes(whole[: len(whole) // 2])
    (tmp_path / "empty.csv").write_bytes(b"")
    (tmp_path / "notes.csv").write_text("name,remark\nsomebody,nothing of note\n", "utf-8")
    pair = [fleet_table([flight_rows(t, 0, 9, rows=ROWS)], t) for t in fleet_of(2, 1)]
    pair[1] = pair[1].with_columns(polars.col("latitude_deg") + 3.0)
    polars.concat(pair).sort("time").drop("address").write_parquet(tmp_path / "mixed.parquet")
    late = polars.int_range(polars.len())
    jumping.with_columns(
        time=polars.col("time") + polars.when(late.is_between(200, 320)).then(9000.0).otherwise(0.0)
    ).write_parquet(tmp_path / "jumping.parquet")
    text = mixed.head(600).write_csv().splitlines()
    text[50] = text[50].replace(text[50].split(",")[3], "n/a", 1)
    (tmp_path / "cells.csv").write_text("\n".join(text), "utf-8")
    found = measured(tmp_path, tmp_path / ".s")
    reasons = {(t.file, t.reason) for t in found.troubles}
    assert ("cut.parquet", "file-format") in reasons
    assert ("empty.csv", "file-empty") in reasons
    assert ("notes.csv", "column-missing") in reasons
    assert ("mixed.parquet", "track-mixed") in reasons
    assert ("jumping.parquet", "clock-back") in reasons
    (cell,) = [t for t in found.troubles if t.reason == "cell-unreadable"]
    assert (cell.file, cell.row, cell.count) == ("cells.csv", 50, 1)
    (back,) = [t for t in found.troubles if t.reason == "clock-back"]
    assert back.row == 322 and back.count == 1
    assert {"good.parquet", "jumping.parquet"} <= set(found.file)
    assert not {"cut.parquet", "mixed.parquet"} & set(found.file)


def test_no_tracks_is_said(tmp_path):
    with pytest.raises(NeutralPointError) as refused:
        measured(tmp_path, tmp_path / ".s")
    assert refused.value.code == "file-missing"


def test_a_stopped_run_goes_on_and_a_damaged_part_is_done_again(tmp_path, monkeypatch):
    write_fleet(tmp_path / "t", fleet_of(4, 1), 5, rows=ROWS)
    monkeypatch.setattr(planning, "PART_ROWS", 600)
    whole = measured(tmp_path / "t", tmp_path / "whole")
    calls, real = [], running.measure_part

    def counted(part, folder):
        calls.append(part.key)
        if len(calls) == 3:
            raise KeyboardInterrupt
        return real(part, folder)

    monkeypatch.setattr(running, "measure_part", counted)
    with pytest.raises(KeyboardInterrupt):
        measured(tmp_path / "t", tmp_path / "s")
    parts, _ = planning.plan(tmp_path / "t", None, tmp_path / "s", lambda text: None)
    part_file(tmp_path / "s", parts[0]).write_bytes(b"PK")
    calls[:] = ["", "", ""]
    same(whole, measured(tmp_path / "t", tmp_path / "s"))
    assert sorted(calls[3:]) == sorted(parts[k].key for k in (0, 2, 3))


def test_a_killed_worker_loses_nothing(tmp_path, monkeypatch):
    """Two processes; one of them is killed as soon as it is there."""
    write_fleet(tmp_path / "t", fleet_of(4, 1), 5, rows=ROWS)
    monkeypatch.setattr(planning, "PART_ROWS", 600)
    whole = measured(tmp_path / "t", tmp_path / "whole")
    killed = []

    def kill():
        until = time.monotonic() + 60.0
        while not killed and time.monotonic() < until:
            for child in multiprocessing.active_children():
                os.kill(child.pid, signal.SIGKILL)
                killed.append(child.pid)
                return
            time.sleep(0.01)

    watcher = threading.Thread(target=kill)
    watcher.start()
    found = measured(tmp_path / "t", tmp_path / "s", workers=2)
    watcher.join()
    assert killed
    same(whole, found)


def test_a_worker_that_starts_as_another_dies_is_not_waited_for(tmp_path, monkeypatch, begun):
    """The pool breaks while its second process is being started, which nobody ends then."""
    write_fleet(tmp_path / "t", fleet_of(4, 1), 5, rows=ROWS)
    monkeypatch.setattr(planning, "PART_ROWS", 600)
    whole = measured(tmp_path / "t", tmp_path / "whole")
    same(whole, measured(tmp_path / "t", tmp_path / "s", workers=2))
    assert len(begun) > 2


@pytest.mark.slow
def test_a_local_cluster_of_two_processes_gives_the_same_numbers(tmp_path, monkeypatch):
    """Through a scheduler and two workers of Dask; one of the workers is killed on the way."""
    distributed = pytest.importorskip("distributed", reason="needs the optional extra `dask`")
    write_fleet(tmp_path / "t", fleet_of(4, 1), 5, rows=ROWS)
    monkeypatch.setattr(planning, "PART_ROWS", 600)
    whole = measured(tmp_path / "t", tmp_path / "whole")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        (tmp_path / "s").mkdir()
        one = next(iter(cluster.workers.values()))
        one.process.process.kill()
        same(whole, measured(tmp_path / "t", tmp_path / "s", dask=cluster.scheduler_address))


@pytest.mark.slow  # starts every command, six seconds
def test_no_other_command_loads_the_engine():
    code = (
        "import sys, neutralpoint.cli.commands, neutralpoint.study, neutralpoint.case, "
        "neutralpoint.report.words.sections; sys.exit('polars' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_the_generator_is_deterministic(tmp_path):
    tail = InventedTail("again", "Quillon 6", 1, "hunting")
    for name in ("a", "b"):
        write_fleet(tmp_path / name, [tail], 8, rows=400)
    first, second = ((tmp_path / name / "again.parquet").read_bytes() for name in ("a", "b"))
    assert first == second


def test_a_table_that_is_spread_follows_no_planted_link(tmp_path, monkeypatch):
    """A case folder from elsewhere may hold the folder of its spread tables as a link."""
    mixed, scratch, victim = tmp_path / "mixed", tmp_path / "scratch", tmp_path / "victim"
    mixed.mkdir(), scratch.mkdir(), victim.mkdir()
    polars.concat(tables(5)).sort("time", maintain_order=True).write_csv(mixed / "all.csv")
    monkeypatch.setattr(planning, "PART_ROWS", 1500)
    parts, troubles = planning.plan(mixed, None, scratch, lambda text: None)
    assert len(parts) > 2 and not troubles
    for place in scratch.iterdir():
        shutil.rmtree(place)
        place.symlink_to(victim)
    _, troubles = planning.plan(mixed, None, scratch, lambda text: None)
    assert [one.reason for one in troubles] == ["link-refused"]
    assert not list(victim.iterdir())
