"""What the system refuses is an error in four fields, with nothing of the case lost."""

from __future__ import annotations

import errno
import io
import json
import os
import pwd
import sys
from contextlib import contextmanager
from pathlib import Path

import pytest
from rich.table import Table
from rich.text import Text

from neutralpoint.app.replies import failure
from neutralpoint.cli.compiled import cache_folder
from neutralpoint.cli.entry import run
from neutralpoint.cli.output import console, progress, show_error, show_json
from neutralpoint.cli.terminal import Output, watch_output
from neutralpoint.errors import NeutralPointError
from neutralpoint.faults import four_fields
from neutralpoint.files import system_refusal
from neutralpoint.findings import read_findings
from neutralpoint.report.claims.ledger import load_ledger
from neutralpoint.report.results import load_results
from neutralpoint.study.lock import locked

LONG = "a" * 300


class Device(io.StringIO):
    """A stream that takes nothing."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number

    def write(self, _text: str) -> int:
        """Refuse it as the system does."""
        raise OSError(self.number, os.strerror(self.number))


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EPIPE])
@pytest.mark.parametrize("say", [lambda: console().print("x"), lambda: show_json({})])
def test_a_full_device_and_a_closed_pipe_are_said(monkeypatch, number, say):
    monkeypatch.setattr(sys, "stdout", Output(Device(number)))
    with pytest.raises(NeutralPointError) as caught:
        say()
    assert caught.value.code == "output-lost"


def test_a_question_whether_letters_are_taken_is_no_output():
    """Typer asks so; an unbuffered full device refused it, and all that followed went nowhere."""
    assert Output(Device(errno.ENOSPC)).write("") == 0


def test_the_error_goes_where_it_can_be_read(monkeypatch, capsys, tmp_path):
    monkeypatch.setattr(sys, "stdout", Output(Device(errno.ENOSPC)))
    assert run(["check", str(tmp_path / "none"), "--json"]) == 2
    assert "case-missing" in capsys.readouterr().err


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_a_terminal_of_few_letters_gets_plainer_ones(monkeypatch, encoding):
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding=encoding))
    watch_output()
    console().print("12\u00b0 \u00b1 3 \u2013 \u201cDrumoul\u00e9\u201d \u2264 \u2603")
    show_json({"title": "Drumoul\u00e9"})
    sys.stdout.flush()
    first, *rest = raw.getvalue().decode(encoding).splitlines()
    assert first.isascii() or encoding == "latin-1"
    assert "Drumoul" in first and "<=" in first and first.endswith("?")
    assert json.loads("\n".join(rest)) == {"title": "Drumoul\u00e9"}


def test_what_is_printed_commands_no_terminal(monkeypatch, capsys):
    """Codes of ISO 6429 in a name, a table or a warning are shown as question marks."""
    evil = "a\x1b[2J\x9b31m\x1b]0;b\x07\u202ec\x00\rd"
    table = Table("x")
    table.add_row(evil)
    for thing in (evil, Text(evil), table):
        console().print(thing)
    show_error(NeutralPointError("file-missing", evil, where=evil, hint=evil), as_json=False)
    show_json({evil: evil})
    told = "".join(capsys.readouterr())
    assert set(told) <= {"\n", *map(chr, range(32, 127)), *"┏━┓┃┡┩│└─┘"}
    assert told.count("a?[2J?31m") >= 6
    assert json.loads(told[told.rindex("{") : told.rindex("}") + 1]) == {evil: evil}


@pytest.mark.parametrize("name", ["[/b]", "[red]x", ":smile:"])
def test_a_name_is_no_markup(capsys, name):
    console().print(name)
    with progress() as tell:
        tell(name)
    assert run(["check", name]) == 2
    said = capsys.readouterr()
    assert said.out.strip() == name and name in said.err and "program-fault" not in said.err


@pytest.mark.parametrize(
    "command",
    [("check",), ("motion",), ("report",), ("claims",), ("film",), ("wording",), ("airplane",)],
)
def test_names_that_no_disk_takes_are_refused(capsys, tmp_path, command):
    looped = tmp_path / "looped"
    looped.symlink_to(looped)
    for name in (LONG, str(looped)):
        assert run([*command, name, "--json"]) == 2
        out = capsys.readouterr().out
        found = json.loads(out)["error"]
        assert found["code"] not in ("program-fault", "file-format"), found
        assert all(found.values()) and len(found["where"]) < 600


def test_a_user_without_a_home_keeps_no_programs(monkeypatch):
    def nobody(*_):
        raise KeyError

    for name in ("HOME", "XDG_CACHE_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(pwd, "getpwuid", nobody)
    assert cache_folder({}) is None


@contextmanager
def another_user(folder: Path):
    """Whoever may not look into a folder."""
    folder.chmod(0)
    root = os.geteuid() == 0
    if root:
        os.seteuid(12345)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)
        folder.chmod(0o755)


@pytest.mark.skipif(os.name == "nt", reason="owners of POSIX")
def test_results_of_another_owner_are_said(tmp_path):
    results = tmp_path / "case" / "results"
    results.mkdir(parents=True)
    (results / "findings.json").write_text("{}", "utf-8")
    for call in (
        lambda: read_findings(results),
        lambda: load_results(results),
        lambda: load_ledger(results.parent, results),
        lambda: locked(results).__enter__(),
    ):
        with another_user(results):
            try:
                call()
                error = None
            except Exception as fault:
                error = four_fields(fault)
        assert error is not None and error.code == "no-access", error


@pytest.mark.parametrize(
    ("number", "code"),
    [
        (errno.ENOSPC, "disk-full"),
        (errno.EACCES, "no-access"),
        (errno.EROFS, "no-access"),
        (errno.ENAMETOOLONG, "path-invalid"),
        (errno.ELOOP, "path-invalid"),
        (errno.EIO, "system-refused"),
    ],
)
def test_every_refusal_of_the_system_has_four_fields(number, code):
    broken = OSError(number, os.strerror(number), "/x")
    error = four_fields(broken)
    assert (error.code, error.where) == (code, "/x") and error.message and error.hint
    assert system_refusal(broken, "/y").where == "/y"
    assert json.loads(failure(broken).body)["error"]["code"] == code


def test_short_memory_is_no_fault_of_the_program():
    error = four_fields(MemoryError("Unable to allocate 59.0 GiB"))
    assert error.code == "memory-short" and "59.0 GiB" in error.message
    assert four_fields(IndexError("x")).code == "program-fault"
