"""Locks, leftovers and kept programs: what a run leaves behind for the next one."""

from __future__ import annotations

import os
import zlib

import pytest

from neutralpoint.cli.compiled import cache_folder, keep_compiled
from neutralpoint.errors import NeutralPointError
from neutralpoint.study.lock import locked
from neutralpoint.study.record import Record, read_record, record_path
from neutralpoint.study.stages import remove_leftovers


def test_one_study_at_a_time(tmp_path):
    with locked(tmp_path):
        with pytest.raises(NeutralPointError) as caught, locked(tmp_path):
            pass
        assert caught.value.code == "case-busy"
    with locked(tmp_path):
        pass
    assert not list(tmp_path.iterdir())


def test_the_file_of_a_killed_process_locks_nobody_out(tmp_path):
    (tmp_path / ".lock").touch()
    with locked(tmp_path):
        pass


# Of commands that may run beside a study.
KEPT = (".fly-spiral.nc.new", ".report.html.new")


def test_leftovers_of_a_killed_run_go(tmp_path):
    for name in (".motion.nc.new", ".stage-motion.json.new", "motion.nc", *KEPT):
        (tmp_path / name).touch()
    remove_leftovers(tmp_path)
    assert {path.name for path in tmp_path.iterdir()} == {"motion.nc", *KEPT}


@pytest.mark.parametrize("text", ["", "{", '{"stage": "motion"}', "\xff"])
def test_a_record_that_cannot_be_read_is_none(tmp_path, text):
    record_path(tmp_path, "motion").write_text(text, encoding="latin-1")
    assert read_record(tmp_path, "motion") is None


def test_a_record_holds_as_long_as_its_files_do(tmp_path):
    made = tmp_path / "motion.nc"
    made.write_bytes(b"123")
    digest = "a665a45920422f9d417e4867efdc4fb8a04a1f3fff1fa07e998e86f7f7a27ae3"  # of 123
    record = Record(stage="motion", basis="", settings={}, files={made.name: digest}, made={})
    record_path(tmp_path, "motion").write_text(record.model_dump_json(), "utf-8")
    assert read_record(tmp_path, "motion") == record
    made.write_bytes(b"124")
    assert read_record(tmp_path, "motion") is None
    made.unlink()
    assert read_record(tmp_path, "motion") is None


def test_programs_are_kept_where_the_user_says(tmp_path):
    environment = {"NEUTRALPOINT_CACHE": str(tmp_path)}
    folder = keep_compiled(environment)
    assert folder is not None and folder.parent == tmp_path
    assert environment["JAX_COMPILATION_CACHE_DIR"] == str(folder)
    assert keep_compiled({"NEUTRALPOINT_CACHE": "off"}) is None
    assert keep_compiled({"JAX_COMPILATION_CACHE_DIR": "elsewhere"}) is None


@pytest.mark.skipif(os.name == "nt", reason="folders of POSIX")
def test_the_user_folder_follows_the_platform():
    assert cache_folder({"XDG_CACHE_HOME": "/x"}).name == "neutralpoint"


def test_nothing_is_kept_where_nothing_can_be_written(tmp_path):
    (tmp_path / "file").touch()
    assert keep_compiled({"NEUTRALPOINT_CACHE": str(tmp_path / "file")}) is None


def test_a_program_cut_short_is_removed(tmp_path):
    environment = {"NEUTRALPOINT_CACHE": str(tmp_path)}
    folder = keep_compiled(environment)
    data = zlib.compress(bytes(range(256)) * 9)
    (folder / "whole-cache").write_bytes(data)
    (folder / "short-cache").write_bytes(data[:-9])
    (folder / "empty-cache").touch()
    keep_compiled({"NEUTRALPOINT_CACHE": str(tmp_path)})
    assert [path.name for path in folder.glob("*-cache")] == ["whole-cache"]
