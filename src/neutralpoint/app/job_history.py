"""The jobs of a case on disk, so that what was worked on is still told when the server is another.

`CASE/.jobs.json` holds the newest jobs. It may come from a stranger with the case: what is not of
its form is left out, nothing in it is run, and no process that it could name is looked for.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterable
from pathlib import Path
from typing import Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from neutralpoint.app.folders import JOBS
from neutralpoint.app.job_kinds import KINDS
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import read_own, write_whole

KEPT = 30  # jobs that are remembered for a case
LINES_KEPT = 40  # last lines of the log of each
LARGEST = 4 * 1024 * 1024  # bytes of a history that is read; 30 jobs of long lines are 2.4 MB
State = Literal["waiting", "running", "done", "failed", "cancelled"]


class KeptJob(BaseModel):
    """A job as it is kept."""

    model_config = ConfigDict(extra="forbid")

    id: str = Field(pattern="^[0-9a-f]{12}$")
    kind: str
    state: State
    stage: str = Field(max_length=200)
    started: AwareDatetime
    ended: AwareDatetime | None = None
    error: dict[str, str] | None = None
    lines: list[str] = Field(default=[], max_length=LINES_KEPT)


def read_jobs(folder: Path) -> list[KeptJob]:
    """The jobs that a case remembers.

    Args:
        folder: The case folder.

    Returns:
        Jobs of known kinds, the oldest first; none where there is no history or it is damaged.
    """
    try:
        data = read_own(folder / JOBS)
        rows = json.loads(data) if len(data) <= LARGEST else []
    except (OSError, ValueError, RecursionError, NeutralPointError):
        return []
    found = {}
    for row in rows if isinstance(rows, list) else ():
        with contextlib.suppress(ValidationError):
            job = KeptJob.model_validate(row)
            if job.kind in KINDS:
                found[job.id] = job
    return sorted(found.values(), key=lambda job: job.started)[-KEPT:]


def keep_jobs(folder: Path, jobs: Iterable[KeptJob]) -> None:
    """Keep jobs beside those of other servers; a disk that is full costs the history alone.

    Args:
        folder: The case folder.
        jobs: Of this server, as they are now.
    """
    known = {job.id: job for job in read_jobs(folder)} | {job.id: job for job in jobs}
    newest = sorted(known.values(), key=lambda job: job.started)[-KEPT:]
    written = json.dumps([job.model_dump(mode="json") for job in newest])
    with contextlib.suppress(NeutralPointError):
        write_whole(folder / JOBS, written.encode())
