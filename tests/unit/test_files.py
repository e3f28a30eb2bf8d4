"""A case folder from a stranger: nothing outside it is read, written, emptied or removed."""

from __future__ import annotations

import errno
import hashlib
import os
import zipfile
from types import SimpleNamespace

import matplotlib.figure
import numpy as np
import pytest
import xarray as xr

from neutralpoint import files
from neutralpoint.app.archive import write_archive
from neutralpoint.app.history import Change, History
from neutralpoint.case import load_case
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import LEFT_OVER, own_file, read_own, store, write_whole, written
from neutralpoint.findings import read_findings
from neutralpoint.report.claims.file import read_claims
from neutralpoint.report.figures import kept as drawn
from neutralpoint.report.figures.draw_matplotlib import save_sheets
from neutralpoint.report.film import write as film
from neutralpoint.report.film.storyboard import Storyboard, StoryChapter
from neutralpoint.report.results import open_result
from neutralpoint.study.lock import locked
from neutralpoint.study.motion.file import read_dataset, write_dataset
from neutralpoint.study.record import Made, read_record, record_path
from neutralpoint.study.run import _results as results_of_study
from neutralpoint.study.settings import Settings
from neutralpoint.study.stages import Known, Stage, Work, remove_leftovers, run_stage_now
from neutralpoint.study.weighing.flights import KeptFlights
from neutralpoint.study.weighing.saved import read_weighing

TITLE = (StoryChapter(kind="title", title="t", seconds=1.0),)
SECRET = b"a file of somebody else"
DATASET = xr.Dataset({"a": ("x", np.arange(3.0))})


@pytest.fixture
def victim(tmp_path):
    """A file outside the case; every test ends with it as it was."""
    path = tmp_path / "victim.txt"
    path.write_bytes(SECRET)
    yield path
    assert path.read_bytes() == SECRET


@pytest.fixture
def results(tmp_path, victim):
    """The results folder of a case that lies beside the victim."""
    folder = tmp_path / "case" / "results"
    folder.mkdir(parents=True)
    return folder


def refused(call, *arguments) -> str:
    """Code of the error that a call ends with."""
    with pytest.raises(NeutralPointError) as caught:
        call(*arguments)
    assert caught.value.where and caught.value.hint
    return caught.value.code


def stage(name: str = "made.nc") -> Stage:
    """A stage that saves a small file."""

    def run(work: Work) -> Made:
        work.save_dataset(name, DATASET)
        return Made()

    return Stage("motion", "Motion", (), run, Settings())


def forged(results, name: str) -> None:
    """A record of the right form that names a file by a path."""
    sha = hashlib.sha256(SECRET).hexdigest()
    text = '{"stage":"motion","basis":"","settings":{},"files":{"%s":"%s"},"made":{}}'
    record_path(results, "motion").write_text(text % (name, sha), "utf-8")


@pytest.mark.parametrize("name", ["../../victim.txt", "{victim}", "linked.json"])
def test_a_forged_record_names_nothing_outside(results, victim, name):
    (results / "linked.json").symlink_to(victim)
    forged(results, name.format(victim=victim))
    before = read_record(results, "motion")
    assert before is None
    run_stage_now(stage(), Work(Known(None, results), Settings(), print), "", before)
    assert read_record(results, "motion").files.keys() == {"made.nc"}


def planted(results, victim, name: str) -> None:
    """A link of a name that is written, and of those that its first draft had."""
    stem, _, suffix = name.rpartition(".")
    for link in (name, f".{name}.new", f".{stem}.new.{suffix}"):
        (results / link).symlink_to(victim)


def test_a_stage_replaces_planted_links(results, victim):
    for name in ("made.nc", "stage-motion.json", "findings.json"):
        planted(results, victim, name)
    run_stage_now(stage(), Work(Known(None, results), Settings(), print), "", None)
    assert not (results / "made.nc").is_symlink()
    assert read_dataset(results / "made.nc").identical(DATASET)
    remove_leftovers(results)
    assert not [path for path in results.iterdir() if path.name.endswith(".new")]


@pytest.mark.parametrize("name", ["report.html", "findings.json", "fly-runaway.nc"])
def test_what_is_written_replaces_planted_links(results, victim, name):
    planted(results, victim, name)
    if name.endswith(".nc"):
        write_dataset(results, name, DATASET)
    else:
        write_whole(results / name, b"whole")
    assert not (results / name).is_symlink() and (results / name).is_file()


def test_the_lock_empties_nothing(results, victim):
    (results / ".lock").symlink_to(victim)
    with locked(results):
        pass


def test_film_replaces_planted_links_and_keeps_no_part_behind_one(results, victim, monkeypatch):
    planted(results, victim, "film.mp4")
    monkeypatch.setattr(film, "digest_of", lambda *_: "digest")
    for text in ("vtt_text", "srt_text", "script_text"):
        monkeypatch.setattr(film, text, lambda *_: "said")

    def shoot(_shooting, out, _tell, *, jobs):
        out.write_bytes(b"picture")
        return jobs, jobs

    with monkeypatch.context() as patch:
        patch.setattr(film, "shoot", shoot)
        film.write_film(SimpleNamespace(folder=results), Storyboard(schema=1, chapters=TITLE),
                        results / "film.mp4")  # fmt: skip
    assert (results / "film.mp4").read_bytes() == b"picture"
    (results / ".film-digest").symlink_to(victim.parent)
    story = Storyboard(schema=1, chapters=TITLE)
    case = SimpleNamespace(folder=results)
    assert refused(film.write_film, case, story, results / "film.mp4") == "link-refused"


def test_figures_replace_planted_links(results, victim):
    for name in ("strips.svg", "strips.png"):
        planted(results, victim, name)
    written_to = save_sheets({"strips": matplotlib.figure.Figure(figsize=(1, 1))}, results)
    assert all(path.is_file() and not path.is_symlink() for path in written_to)


def test_the_archive_packs_no_link_and_follows_none(results, victim):
    planted(results, victim, "case.zip")
    (results / "linked.nc").symlink_to(victim)
    (results.parent / "case.toml").write_text("schema = 1", "utf-8")
    with zipfile.ZipFile(write_archive(results.parent)) as packed:
        assert packed.namelist() == ["case/case.toml"]


def test_folders_that_are_links_are_refused(results, victim, tmp_path, monkeypatch):
    (tmp_path / "flights.npz").write_bytes(SECRET)
    case = results.parent
    for name in (".weighing", ".drawn"):
        (results / name).symlink_to(tmp_path)
    assert refused(KeptFlights, results, print) == "link-refused"
    monkeypatch.setattr(drawn, "LONG", 0)
    (results / "motion.nc").write_bytes(b"motion")
    drawn.kept_arrays(results / "motion.nc", "mark", lambda: {"a": np.zeros(1)})
    (case / ".history").symlink_to(tmp_path)
    change = Change({"note.txt": (None, "a")})
    assert refused(History(case).make, change) == "link-refused"
    assert {p.name for p in tmp_path.iterdir()} == {"flights.npz", "victim.txt", "case"}


def test_results_that_are_a_link_are_refused(tmp_path, victim):
    case = tmp_path / "case"
    case.mkdir()
    (case / "results").symlink_to(tmp_path)
    for call in (results_of_study, write_archive):
        assert refused(call, case) == "link-refused"
    for call in (read_findings, read_weighing):
        assert refused(call, case / "results") == "link-refused"
    assert not [p for p in tmp_path.iterdir() if p.name.startswith(".")]


def test_files_that_are_links_are_not_read(results, victim):
    case = results.parent
    for name in ("case.toml", "claims.toml"):
        (case / name).symlink_to(victim)
    for name in ("findings.json", "motion.nc", "weighing.json"):
        (results / name).symlink_to(victim)
    assert refused(load_case, case) == "link-refused"
    assert refused(read_claims, case, None) == "link-refused"
    assert refused(read_findings, results) == "link-refused"
    assert refused(read_weighing, results) == "link-refused"
    assert refused(open_result, results, "motion.nc") == "link-refused"
    assert refused(read_dataset, results / "motion.nc") == "link-refused"


@pytest.mark.skipif(os.name == "nt", reason="pipes of POSIX")
def test_a_pipe_is_no_file(results):
    """Opening one waits until somebody writes, which is never."""
    os.mkfifo(results / "findings.json")
    assert refused(read_findings, results) == "results-missing"
    assert own_file(results, "findings.json") is None


def test_what_stood_there_stands_where_the_disk_is_full(results):
    target = write_whole(results / "report.html", b"before")

    def full(*_):
        raise OSError(errno.ENOSPC, "No space left on device")

    def write():
        with written(target) as fresh:
            store(fresh, b"half")
            full()

    assert refused(write) == "disk-full"
    assert [p.name for p in results.iterdir()] == ["report.html"]
    assert target.read_bytes() == b"before"


def test_drafts_of_a_killed_program_go_after_an_hour(results):
    for name, age in ((".report.html.old.new", 2 * LEFT_OVER), (".report.html.now.new", 0.0)):
        (results / name).touch()
        at = (results / name).stat().st_mtime - age
        os.utime(results / name, (at, at))
    write_whole(results / "report.html", b"whole")
    assert {p.name for p in results.iterdir()} == {"report.html", ".report.html.now.new"}


def test_a_file_keeps_its_rights(results):
    target = write_whole(results / "a", b"1")
    assert target.stat().st_mode & 0o777 == 0o644
    target.chmod(0o600)
    write_whole(target, b"2")
    assert target.stat().st_mode & 0o777 == 0o600
    assert read_own(target) == b"2"


def test_a_new_file_appears_whole_or_not_at_all(tmp_path, monkeypatch):
    target = tmp_path / "claims.toml"

    def full(path, data):
        path.write_bytes(data[:3])
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr(files, "store", full)
        with pytest.raises(NeutralPointError) as caught:
            files.write_new(target, b"a = 1")
    assert caught.value.code == "disk-full" and list(tmp_path.iterdir()) == []
    assert files.write_new(target, b"a = 1").read_bytes() == b"a = 1"
    with pytest.raises(FileExistsError):
        files.write_new(target, b"b = 2")
    assert target.read_bytes() == b"a = 1" and list(tmp_path.iterdir()) == [target]
