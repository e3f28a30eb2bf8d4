"""Long work in processes of their own: one at a time for a case, told as it goes, cancelled whole.

A job outlives the page that started it, not the server; what is known of it stays with the case.
Cancelling ends the whole process group; results stay whole, as every stage replaces its files or
leaves them alone.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import signal
import subprocess
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any, Literal, cast

from neutralpoint.app.folders import missing
from neutralpoint.app.job_history import KEPT, LINES_KEPT, KeptJob, State, keep_jobs, read_jobs
from neutralpoint.app.job_kinds import KINDS, command_of
from neutralpoint.errors import NeutralPointError

LINES, LONGEST = 400, 2000  # log lines kept, characters of each
GRACE = 2.0  # s between asking a group to end and ending it
PACE = 0.2  # s between two tellings of one running job


@dataclass
class Job:
    """One piece of long work; only its own thread and `Jobs` change it."""

    id: str
    case: str
    folder: Path
    kind: str
    command: list[str]
    state: State = "waiting"
    stage: str = "Waiting for the job before"
    fraction: float | None = None
    started: datetime = field(default_factory=lambda: datetime.now(UTC))
    ended: datetime | None = None
    error: dict[str, str] | None = None
    lines: deque[str] = field(default_factory=lambda: deque(maxlen=LINES))
    process: subprocess.Popen[bytes] | None = None
    told: float = 0.0

    def as_dict(self) -> dict[str, Any]:
        """As the page reads it."""
        end = self.ended or datetime.now(UTC)
        return {
            "id": self.id,
            "kind": self.kind,
            "title": KINDS[self.kind].title,
            "state": self.state,
            "stage": self.stage,
            "fraction": self.fraction,
            "started": self.started.isoformat(timespec="seconds"),
            "seconds": round((end - self.started).total_seconds(), 1),
            "error": self.error,
            "result": KINDS[self.kind].result if self.state == "done" else "",
            "log": list(self.lines),
        }

    def kept(self) -> KeptJob:
        """As it is kept on disk."""
        return KeptJob(
            id=self.id,
            kind=self.kind,
            state=self.state,
            stage=self.stage,
            started=self.started,
            ended=self.ended,
            error=self.error,
            lines=list(self.lines)[-LINES_KEPT:],
        )

    @property
    def over(self) -> bool:
        """Whether nothing more will happen."""
        return self.state in ("done", "failed", "cancelled")


class Jobs:
    """All jobs of the server."""

    def __init__(
        self,
        tell: Callable[[str, str, Any], None],
        ended: Callable[[str], None] = lambda _: None,
    ) -> None:
        self._tell, self._ended = tell, ended
        self._jobs: dict[str, Job] = {}
        self._closed = False
        self._lock = threading.RLock()

    def remember(self, case: str, folder: Path) -> None:
        """Take in the jobs that an earlier server left in a case.

        One that had not ended there has ended now, or is run by another server; either way this
        one hears nothing of it, and says so.

        Args:
            case: Name of the case.
            folder: Its folder.
        """
        with self._lock:
            for kept in read_jobs(folder):
                job = _recalled(case, folder, kept)
                self._jobs.setdefault(job.id, job)

    def submit(self, case: str, folder: Path, kind: str, options: dict[str, Any]) -> Job:
        """Start a job, or let it wait for those before it in the same case.

        Args:
            case: Name of the case.
            folder: Its folder.
            kind: Key of `KINDS`.
            options: Of that kind.

        Returns:
            The job.

        Raises:
            NeutralPointError: `argument-invalid`.
        """
        command = command_of(kind, folder, options)
        with self._lock:
            name = secrets.token_hex(6)
            job = Job(id=name, case=case, folder=folder, kind=kind, command=command)
            self._jobs[job.id] = job
            self._forget(case)
            if not self._closed:
                self._next(case)
            self._keep(job)
        self._told(job)
        return job

    def of(self, case: str) -> list[Job]:
        """Jobs of a case, the newest first."""
        with self._lock:
            return [job for job in reversed(self._jobs.values()) if job.case == case]

    def find(self, case: str, name: str) -> Job:
        """A job of a case.

        Raises:
            NeutralPointError: `not-found`.
        """
        with self._lock:
            job = self._jobs.get(name)
        if job is None or job.case != case:
            raise missing(f"There is no job {name[:20]!r} in this case.", "jobs")
        return job

    def cancel(self, job: Job) -> None:
        """End a job with every process that it started; nothing happens where it is over."""
        with self._lock:
            if job.over:
                return
            running = job.process
            self._end(job, "cancelled")
            self._keep(job)
        if running is not None:
            threading.Thread(target=_kill_group, args=(running,), daemon=True).start()
        self._told(job)

    def close(self) -> None:
        """End every job, and wait until their processes are gone."""
        with self._lock:
            self._closed = True
            left = [job for job in self._jobs.values() if not job.over]
            running = [job.process for job in left if job.process is not None]
            for job in left:
                self._end(job, "cancelled")
                job.error = _interrupted("The server was ended while the job was under way.")
                self._keep(job)
        for process in running:
            _kill_group(process)

    def _next(self, case: str) -> None:
        """Start the oldest waiting job where none runs; the lock is held."""
        mine = [job for job in self._jobs.values() if job.case == case and not job.over]
        if mine and not any(job.state == "running" for job in mine):
            job = mine[0]
            job.state, job.stage, job.started = "running", "Starting", datetime.now(UTC)
            threading.Thread(target=self._run, args=(job,), daemon=True).start()

    def _run(self, job: Job) -> None:
        try:
            self._follow(job)
        except OSError as broken:
            job.error = _fault(f"The process could not be started: {broken.strerror}.")
            self._finish(job, "failed")

    def _follow(self, job: Job) -> None:
        process = subprocess.Popen(
            job.command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            start_new_session=True,
            env=os.environ | {"PYTHONUNBUFFERED": "1"},
        )
        with self._lock:
            job.process = process
        if job.over:  # cancelled while it was being started
            _kill_group(process)
        self._told(job)
        told = cast(IO[bytes], process.stdout)  # a pipe was asked for
        for line in iter(lambda: told.readline(LONGEST), b""):
            self._heard(job, line.decode("utf-8", "replace").rstrip())
        code = process.wait()
        told.close()
        if code != 0 and job.error is None and not job.over:
            job.error = _fault(f"The process ended with code {code}.")
        self._finish(job, "done" if code == 0 else "failed")

    def _heard(self, job: Job, line: str) -> None:
        if not line or job.over:
            return
        said = _progress(line)
        if said is None:
            job.lines.append(line)
            job.stage = line.removesuffix(" ...")[:200]
        elif isinstance(said.get("error"), dict):
            job.error = {k: str(v) for k, v in said["error"].items()}
        elif "text" in said:
            words = str(said["text"])[:200]
            if words != job.stage:
                job.lines.append(words)
            job.stage, fraction = words, said.get("fraction")
            if isinstance(fraction, int | float) and 0.0 <= fraction <= 1.0:
                job.fraction = float(fraction)
        if time.monotonic() - job.told > PACE:
            self._told(job)

    def _finish(self, job: Job, state: Literal["done", "failed"]) -> None:
        with self._lock:
            if not job.over:
                self._end(job, state)
            if not self._closed:
                self._next(job.case)
            self._keep(job)
        self._told(job)
        self._ended(job.case)

    def _keep(self, job: Job) -> None:
        """Write the jobs of its case to disk; the lock is held."""
        if job.folder.is_dir():
            mine = [other.kept() for other in self._jobs.values() if other.case == job.case]
            keep_jobs(job.folder, mine)

    @staticmethod
    def _end(job: Job, state: Literal["done", "failed", "cancelled"]) -> None:
        job.state, job.ended = state, datetime.now(UTC)
        words = {"done": "Done", "failed": "Failed", "cancelled": "Canceled"}
        job.stage = words[state]
        job.fraction = 1.0 if state == "done" else job.fraction

    def _told(self, job: Job) -> None:
        job.told = time.monotonic()
        self._tell(job.case, "job", job.as_dict())

    def _forget(self, case: str) -> None:
        """Drop the oldest finished jobs beyond those remembered; the lock is held."""
        over = [job.id for job in self._jobs.values() if job.case == case and job.over]
        for name in over[: max(0, len(over) - KEPT)]:
            del self._jobs[name]


def _recalled(case: str, folder: Path, kept: KeptJob) -> Job:
    """A job of an earlier server, over in any case."""
    job = Job(kept.id, case, folder, kept.kind, [], kept.state, kept.stage)
    job.started, job.ended, job.error = kept.started, kept.ended, kept.error
    job.lines.extend(line[:LONGEST] for line in kept.lines)
    if not job.over:
        job.state, job.ended = "failed", job.ended or job.started
        job.error = _interrupted("The server that ran the job has ended, or is another one.")
    job.fraction = 1.0 if job.state == "done" else None
    return job


def _interrupted(message: str) -> dict[str, str]:
    return NeutralPointError(
        "job-interrupted",
        message,
        where="job",
        hint="Start it again: stages that were finished stand and are not made again.",
    ).as_dict()


def _progress(line: str) -> dict[str, Any] | None:
    """A line of progress in JSON; None for any other line."""
    if not line.startswith("{"):
        return None
    with contextlib.suppress(ValueError, RecursionError):
        said = json.loads(line)
        if isinstance(said, dict):
            return said
    return None


def _kill_group(process: subprocess.Popen[bytes]) -> None:
    """Ask a process group to end, and end it where it does not."""
    for sign in (signal.SIGTERM, signal.SIGKILL):
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(process.pid, sign)
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(GRACE)
            break
    # Children that outlived their parent in the group.
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(process.pid, signal.SIGKILL)


def _fault(message: str) -> dict[str, str]:
    return {
        "code": "program-fault",
        "message": message,
        "where": "job",
        "hint": "The log of the job says more.",
    }
