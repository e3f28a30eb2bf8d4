"""Long work: told as it goes, one at a time, cancelled with everything that it started."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sys
import threading
import time
import zipfile
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

import pytest

from neutralpoint.app import jobs as module
from neutralpoint.app.events import Hub
from neutralpoint.app.folders import JOBS
from neutralpoint.app.job_history import KEPT, KeptJob, keep_jobs, read_jobs
from neutralpoint.app.job_kinds import KINDS, command_of
from neutralpoint.app.jobs import Jobs
from neutralpoint.app.telling import OneAtATime
from neutralpoint.errors import NeutralPointError

API = "/c/hollow/api"
PATIENCE = 30.0  # s; a loaded machine starts processes slowly


def until(true, patience: float = PATIENCE):
    """Wait until something is so."""
    end = time.monotonic() + patience
    while not true():
        assert time.monotonic() < end
        time.sleep(0.02)


def alive(process: int) -> bool:
    """Whether a process runs; one that ended and was not waited for does not."""
    try:
        with open(f"/proc/{process}/stat") as about:  # noqa: PTH123
            return about.read().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


@pytest.fixture
def run(monkeypatch, tmp_path):
    """Jobs whose command is a piece of Python; and what was told."""
    told = []
    held = Jobs(
        lambda case, kind, value: told.append((case, kind, value)),
        lambda case: told.append((case, "state", {})),
    )
    script = {}

    def command(kind, folder, options):
        return [sys.executable, "-c", script[options["part"]], str(folder)]

    monkeypatch.setattr(module, "command_of", command)

    def start(text: str, case: str = "a"):
        script[text] = text
        return held.submit(case, tmp_path, "study", {"part": text})

    yield start, held, told
    held.close()


def test_progress_is_told(run):
    start, _, told = run
    job = start(
        "import json, sys\n"
        "print(json.dumps({'stage': 'motion', 'text': 'Half way', 'fraction': 0.5}), flush=True)\n"
        "print('plain words ...', file=sys.stderr, flush=True)\n"
        "print('{\"broken', flush=True)\n"
        "print(json.dumps({'text': 'On', 'fraction': 'x'}), flush=True)\n"
        "print(json.dumps({'done': {}}))\n"
    )
    until(lambda: job.over)
    assert job.state == "done"
    assert job.fraction == 1.0
    assert list(job.lines) == ["Half way", "plain words ...", '{"broken', "On"]
    until(lambda: any(kind == "job" and v["state"] == "done" for _, kind, v in told))
    assert ("a", "state", {}) in told
    assert job.as_dict()["error"] is None


def test_a_failure_has_four_fields(run):
    start, _, _ = run
    error = {"code": "case-invalid", "message": "m", "where": "w", "hint": "h"}
    told = start(f"print({json.dumps(json.dumps({'error': error}))}); raise SystemExit(2)")
    silent = start("raise SystemExit(3)")
    until(lambda: told.over and silent.over)
    assert told.state == silent.state == "failed"
    assert told.error == error
    assert set(silent.error) == set(error)
    assert "3" in silent.error["message"]


def test_one_job_at_a_time_in_a_case(run):
    start, held, _ = run
    first = start("import time; time.sleep(60)")
    second = start("print('second')")
    other = start("print('other')", case="b")
    until(lambda: other.over)
    assert (first.state, second.state) == ("running", "waiting")
    held.cancel(first)
    until(lambda: second.over)
    assert (first.state, second.state) == ("cancelled", "done")
    assert [job.id for job in held.of("a")] == [second.id, first.id]
    with pytest.raises(NeutralPointError):
        held.find("b", first.id)


def test_cancelling_ends_the_whole_group(run, tmp_path):
    start, held, _ = run
    job = start(
        "import subprocess, sys, signal, time, pathlib, os\n"
        "signal.signal(signal.SIGTERM, signal.SIG_IGN)\n"
        "stubborn = 'import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); "
        "time.sleep(600)'\n"
        "child = subprocess.Popen([sys.executable, '-c', stubborn])\n"
        "pathlib.Path(sys.argv[1], 'pids').write_text(f'{os.getpid()} {child.pid}')\n"
        "time.sleep(600)\n"
    )
    until(lambda: (tmp_path / "pids").is_file() and (tmp_path / "pids").read_text().count(" "))
    pids = [int(p) for p in (tmp_path / "pids").read_text().split()]
    assert all(alive(p) for p in pids)
    held.cancel(job)
    assert job.state == "cancelled"
    until(lambda: not any(alive(p) for p in pids))
    held.cancel(job)  # once more changes nothing
    assert job.as_dict()["state"] == "cancelled"


def test_a_waiting_job_is_cancelled_before_it_starts(run):
    start, held, _ = run
    first, second = start("import time; time.sleep(60)"), start("print(1)")
    held.cancel(second)
    held.cancel(first)
    until(lambda: first.process is not None and first.process.poll() is not None)
    assert second.process is None
    assert second.state == "cancelled"


def test_closing_ends_everything(run, tmp_path):
    start, held, _ = run
    job = start("import time; time.sleep(60)")
    until(lambda: job.process is not None)
    held.close()
    assert job.process.poll() == -signal.SIGTERM
    late = start("print(1)")
    assert late.state == "waiting"


def test_jobs_outlive_the_server(run, tmp_path):
    start, held, _ = run
    done = start("print('said')")
    until(lambda: done.over)
    going, waiting = start("import time; time.sleep(60)"), start("print(1)")
    until(lambda: going.process is not None)
    after_a_kill = Jobs(lambda *_: None)  # what the next server finds where this one was killed
    after_a_kill.remember("a", tmp_path)
    found = {job.id: job.as_dict() for job in after_a_kill.of("a")}
    assert list(found) == [waiting.id, going.id, done.id]
    assert (found[done.id]["state"], found[done.id]["log"]) == ("done", ["said"])
    for name in (going.id, waiting.id):
        assert found[name]["state"] == "failed"
        assert found[name]["error"]["code"] == "job-interrupted"
    held.close()
    after_an_end = Jobs(lambda *_: None)
    after_an_end.remember("a", tmp_path)
    ended = after_an_end.find("a", going.id).as_dict()
    assert (ended["state"], ended["error"]["code"]) == ("cancelled", "job-interrupted")


def test_a_history_from_elsewhere_is_data(tmp_path):
    good = {
        "id": "0123456789ab",
        "kind": "study",
        "state": "running",
        "stage": "<b>",
        "started": "2031-04-14T00:00:00Z",
    }
    rows = [
        good,
        good | {"id": "../../../etc"},
        good | {"id": "1" * 12, "kind": "rm"},
        good | {"id": "2" * 12, "command": ["rm"]},
        good | {"id": "3" * 12, "stage": "x" * 10_000},
        good | {"id": "4" * 12, "started": "yesterday"},
        7,
    ]
    (tmp_path / JOBS).write_text(json.dumps(rows))
    held = Jobs(lambda *_: None)
    held.remember("a", tmp_path)
    assert [job.id for job in held.of("a")] == [good["id"]]
    assert held.of("a")[0].process is None
    for damaged in ("{", "[" * 100_000, "null", ""):
        (tmp_path / JOBS).write_text(damaged)
        assert read_jobs(tmp_path) == []
    victim = tmp_path / "victim"
    victim.write_text("whole")
    (tmp_path / JOBS).unlink()
    (tmp_path / JOBS).symlink_to(victim)
    assert read_jobs(tmp_path) == []
    keep_jobs(tmp_path, [held.of("a")[0].kept()])
    assert victim.read_text() == "whole"  # the link is replaced, not followed


def test_a_history_keeps_the_jobs_of_two_servers(tmp_path):
    kept = [
        KeptJob(id=f"{n:012x}", kind="study", state="done", stage="", started=datetime.now(UTC))
        for n in range(KEPT + 5)
    ]
    keep_jobs(tmp_path, kept[:1])
    keep_jobs(tmp_path, kept[1:2])
    assert [job.id for job in read_jobs(tmp_path)] == [job.id for job in kept[:2]]
    keep_jobs(tmp_path, kept[2:])
    assert [job.id for job in read_jobs(tmp_path)] == [job.id for job in kept[5:]]


@pytest.mark.parametrize("goes", ["case", "root"])
def test_a_folder_that_goes_while_it_is_served(workbench, served_case, goes):
    folder = served_case if goes == "case" else served_case.parent
    away = folder.with_name("elsewhere")
    folder.rename(away)
    calls = [f"{API}/jobs", f"{API}/state", "/c/hollow/"]
    for call in calls + ["/c/none/", "/"] * (goes == "root"):
        answer = workbench.get(call)
        assert answer.status_code == 404, call
        assert answer.json()["error"]["code"] == "served-gone", call
        assert "end the server" in answer.json()["error"]["hint"]
    away.rename(folder)
    assert workbench.get(f"{API}/state").status_code == 200


def test_much_output_is_bounded(run):
    start, _, _ = run
    job = start("print('x' * 50000)\nfor n in range(3000): print(n)")
    until(lambda: job.over)
    assert len(job.lines) == module.LINES
    assert max(len(line) for line in job.lines) <= module.LONGEST


def test_commands_are_made_of_checked_parts(tmp_path):
    for kind, about in KINDS.items():
        command = command_of(kind, tmp_path, {})
        assert command[1:3] == ["-m", about.module]
        assert str(tmp_path) in command
    made = command_of("response", tmp_path, {"cause": "tab-runaway", "height_ft": 900})
    assert made[-4:] == ["--cause", "tab-runaway", "--height-ft", "900"]
    assert "--full" in command_of("study", tmp_path, {"full": True})
    assert "--full" not in command_of("weigh", tmp_path, {})
    for kind, options in (
        ("rm", {}),
        ("study", {"--help": True}),
        ("response", {"cause": "--help"}),
        ("response", {"cause": "a; b"}),
        ("response", {"cause": 7}),
        ("response", {"height_ft": "900"}),
        ("response", {"height_ft": True}),
        ("response", {"height_ft": float("nan")}),
        ("weigh", {"quick": "yes"}),
    ):
        with pytest.raises(NeutralPointError) as refused:
            command_of(kind, tmp_path, options)
        assert refused.value.code == "argument-invalid"


def test_an_archive_holds_the_case_and_no_more(workbench, served_case):
    (served_case / ".history").mkdir()
    (served_case / ".history" / "1.json").write_text("x")
    (served_case / "link.txt").symlink_to("/etc/hostname")
    job = workbench.post(f"{API}/export", json={"kind": "zip"}).json()
    until(lambda: workbench.get(f"{API}/jobs/{job['id']}").json()["state"] == "done")
    found = workbench.get(f"{API}/jobs").json()[0]
    assert found["result"] == "case.zip"
    (served_case / "case.zip").write_bytes(workbench.get("/c/hollow/results/case.zip").content)
    with zipfile.ZipFile(served_case / "case.zip") as packed:
        names = packed.namelist()
    assert "hollow/case.toml" in names
    assert "hollow/results/findings.json" in names
    assert not [name for name in names if "history" in name or "link" in name or ".zip" in name]
    assert workbench.get(f"{API}/jobs/77").status_code == 404
    assert workbench.delete(f"{API}/jobs/{job['id']}").json()["state"] == "done"


def test_one_stream_tells_of_all_cases():
    async def listen() -> list[str]:
        hub = Hub()
        assert not hub.heard()
        mine, slow = hub.stream(), hub.stream()
        heard = [await anext(mine), await anext(slow)]
        assert hub.heard()
        hub.tell("a", "job", {"seconds": float("nan")})
        heard.append(await anext(mine))
        await mine.aclose()
        for number in range(1000):  # a page that does not listen loses the oldest
            hub.tell("b", "job", number)
        await asyncio.sleep(0.05)
        heard.append(await anext(slow))
        hub.close()
        await asyncio.sleep(0.05)
        rest = [text async for text in slow]
        assert not hub.heard()
        return heard + rest

    # In a thread: a browser driven in this process keeps an event loop in the main one.
    with ThreadPoolExecutor(1) as pool:
        heard = pool.submit(lambda: asyncio.run(listen())).result()
    assert heard[2] == 'event: job\ndata: {"case": "a", "value": {"seconds": null}}\n\n'
    assert heard[3] == 'event: job\ndata: {"case": "b", "value": 744}\n\n'
    assert len(heard) == 4


def test_processes_of_jobs_are_groups_of_their_own(run):
    start, _, _ = run
    job = start("import time; time.sleep(60)")
    until(lambda: job.process is not None)
    assert os.getpgid(job.process.pid) == job.process.pid != os.getpgid(0)


def test_many_changes_are_told_once_more():
    begun, go_on, done = threading.Event(), threading.Event(), []

    def work() -> None:
        begun.set()
        go_on.wait(5.0)
        done.append(1)

    telling = OneAtATime(work)
    telling.ask()
    assert begun.wait(5.0)
    for _ in range(8):  # eight tabs, or eight changes, while the first look goes on
        telling.ask()
    go_on.set()
    deadline = time.monotonic() + 5.0
    while len(done) < 2 and time.monotonic() < deadline:
        time.sleep(0.01)
    time.sleep(0.05)
    assert len(done) == 2


def test_news_bring_the_state_along(workbench, served_case):
    bench = workbench.app.state.workbench
    told: list[tuple[str, str, dict]] = []
    hub = bench.hub
    hub.heard = lambda: True
    hub.tell = lambda case, kind, value: told.append((case, kind, value))
    bench.folders()
    notebook = bench.notebooks[served_case.name]
    notebook._tell()
    notebook._tell()  # nothing has changed: nothing is said twice
    (served_case / "notes.txt").write_text("x", encoding="utf-8")
    notebook._tell()
    assert [kind for _, kind, _ in told] == ["state", "state"]
    assert told[0][2]["name"] == served_case.name
    assert "notes.txt" in [file["name"] for file in told[1][2]["files"]]
