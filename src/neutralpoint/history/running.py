"""All parts measured: here, by worker processes, or on a cluster, by the same function.

What a part gives is saved when it ends. A run that is stopped goes on where it stopped; a worker
that is killed loses the part that it was at, which is done again.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.history.fleet import Fleet, joined
from neutralpoint.history.parts import TrackPart, measure_part, part_file
from neutralpoint.history.planning import plan
from neutralpoint.history.rows import Trouble
from neutralpoint.sources import Column
from neutralpoint.spawned import spawned_pool, submit_part

Tell = Callable[[str, float], None]
TRIES = 3  # times that a part may take its worker down before it is left out
THREADS = ("POLARS_MAX_THREADS", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS")
PATIENCE = "10s"  # until a scheduler that does not answer is given up


@dataclass(frozen=True)
class Manner:
    """Where parts are measured.

    Attributes:
        workers: Processes of this machine; 1 measures in this one.
        dask: Address of the scheduler of a cluster that reaches the same files; empty for none.
    """

    workers: int = 1
    dask: str = ""


def run_history(
    tracks: Path, scratch: Path, manner: Manner, tell: Tell, given: dict[str, Column] | None = None
) -> Fleet:
    """Measure every flight of a folder of tracks.

    Args:
        tracks: The folder.
        scratch: Where what each part gives is kept; it is made.
        manner: Where parts are measured.
        tell: Told what is being done, with the share done.
        given: Columns that the case names.

    Returns:
        All flights.

    Raises:
        NeutralPointError: `file-missing` without tracks, `cluster-unreachable`, `extra-missing`.
    """
    scratch.mkdir(parents=True, exist_ok=True)
    parts, troubles = plan(tracks, given, scratch, lambda text: tell(text, 0.0))
    lost = _measured(parts, scratch, manner, tell)
    troubles += [
        Trouble(piece.name, piece.first + 1, "worker-lost", piece.rows)
        for part in lost
        for piece, _ in part.pieces
    ]
    files = [part_file(scratch, part) for part in parts if part not in lost]
    return joined(files, troubles)


def is_whole(path: Path) -> bool:
    """Whether what a part gave can be read."""
    try:
        with np.load(path, allow_pickle=False) as held:
            json.loads(str(held["troubles"]))
            return "curve_first" in held.files
    except (OSError, ValueError, KeyError, EOFError):
        return False
    except Exception:  # a damaged archive raises what it likes; the part is measured again
        return False


class _Clock:
    """Says how far the work is and how long it will take."""

    def __init__(self, parts: list[TrackPart], todo: list[TrackPart], tell: Tell) -> None:
        self.total = max(sum(part.rows for part in parts), 1)
        self.done = self.total - sum(part.rows for part in todo)
        self.here, self.tell, self.begun = 0, tell, time.monotonic()
        self.tell(self._text(""), self.done / self.total)

    def more(self, part: TrackPart) -> None:
        """A part has ended."""
        self.done += part.rows
        self.here += part.rows
        spent = time.monotonic() - self.begun
        left = spent * (self.total - self.done) / max(self.here, 1)
        self.tell(self._text(f", {_span(left)} left"), self.done / self.total)

    def _text(self, left: str) -> str:
        return f"Measuring flights: {self.done:,} of {self.total:,} rows{left}"


def _span(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120.0 else f"{seconds / 60.0:.0f} min"


def _measured(parts: list[TrackPart], scratch: Path, manner: Manner, tell: Tell) -> list[TrackPart]:
    """Measure what is not there yet; parts that could not be are given back."""
    todo = [part for part in parts if not is_whole(part_file(scratch, part))]
    clock = _Clock(parts, todo, tell)
    if manner.dask:
        return _on_cluster(todo, scratch, manner.dask, clock)
    if manner.workers > 1 and len(todo) > 1:
        return _by_processes(todo, scratch, manner.workers, clock)
    for part in todo:
        measure_part(part, str(scratch))
        clock.more(part)
    return []


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Workers inherit one thread each: their number is that of the cores that are used."""
    before = {name: os.environ.get(name) for name in THREADS}
    os.environ.update(dict.fromkeys(THREADS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


def _by_processes(
    todo: list[TrackPart], scratch: Path, workers: int, clock: _Clock
) -> list[TrackPart]:
    """Worker processes; one that dies is replaced and its part done again."""
    tries = {part.key: 0 for part in todo}
    lost: list[TrackPart] = []
    while todo:
        with suppress(BrokenProcessPool), _one_thread_each(), spawned_pool(workers) as pool:
            try:
                _drain(pool, todo, scratch, workers, clock)
            except BrokenProcessPool:
                held = [p for p in todo if not is_whole(part_file(scratch, p))]
                # Any of the parts at work may have done it: each of them is counted.
                for part in held[:workers]:
                    tries[part.key] += 1
                raise
        lost += [part for part in todo if tries[part.key] >= TRIES]
        todo = [p for p in todo if p not in lost and not is_whole(part_file(scratch, p))]
    return lost


def _drain(pool, todo: list[TrackPart], scratch: Path, workers: int, clock: _Clock) -> None:
    """Hand parts out in order, never more than the workers can begin."""
    waiting, running = list(todo), {}
    while waiting or running:
        while waiting and len(running) < workers:
            part = waiting.pop(0)
            running[submit_part(pool, measure_part, part, str(scratch))] = part
        ended, _ = wait(running, return_when=FIRST_COMPLETED)
        for future in ended:
            part = running.pop(future)
            _result(future)
            clock.more(part)


def _result(future: Future) -> int:
    return future.result()


def _on_cluster(
    todo: list[TrackPart], scratch: Path, address: str, clock: _Clock
) -> list[TrackPart]:
    """Workers of a Dask cluster, which must reach the same files."""
    try:
        from distributed import Client, KilledWorker, as_completed
    except ImportError as missing:
        raise NeutralPointError(
            "extra-missing",
            "Flights can be measured on a cluster only with the optional extra `dask`.",
            where="--dask",
            hint="Install it with `pip install neutralpoint[dask]`.",
        ) from missing
    try:
        client = Client(address, timeout=PATIENCE)
    except (OSError, ValueError, TimeoutError) as silent:
        raise NeutralPointError(
            "cluster-unreachable",
            f"The cluster does not answer: {silent}".rstrip(": "),
            where=address,
            hint="Start it with `dask scheduler` and `dask worker`, and give its address.",
        ) from silent
    lost = []
    with client:
        into = str(scratch.resolve())
        sent = {
            client.submit(measure_part, part, into, pure=False, retries=TRIES): part
            for part in todo
        }  # fmt: skip
        for future in as_completed(list(sent)):
            try:
                future.result()
            except KilledWorker:
                lost.append(sent[future])
                continue
            clock.more(sent[future])
    return lost
