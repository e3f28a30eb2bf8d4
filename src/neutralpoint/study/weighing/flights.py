"""Simulated flights kept on disk chunk by chunk, so that a run that was killed is taken up again.

A chunk is kept by the digest of everything it was flown from (`neutralpoint.store`). Single
precision is kept, and used whether the chunk was just flown or read, so that both give the same
bits.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from pathlib import Path

import jax
import numpy as np
from numpy.typing import NDArray

from neutralpoint.files import own_folder
from neutralpoint.store import Store
from neutralpoint.study.record import program_digest
from neutralpoint.weighing.simulate import FlightJob, fly_job

Rows = NDArray[np.float32]
# Flies chunks, in any order: number of the chunk among those given, and its rows.
Send = Callable[[list[FlightJob]], Iterable[tuple[int, NDArray]]]

FOLDER = ".weighing"
KIND, ROWS = "flights", "rows"
NAMED = 32  # hexadecimal digits of a digest in a file's name


def fly_here(jobs: list[FlightJob]) -> Iterable[tuple[int, NDArray]]:
    """Fly chunks in this process, one after the other.

    Args:
        jobs: The chunks.

    Yields:
        Number of the chunk, and its rows.
    """
    for number, job in enumerate(jobs):
        yield number, fly_job(job)


def job_digest(job: FlightJob) -> str:
    """Digest of everything that a chunk is flown from.

    Args:
        job: The chunk.

    Returns:
        Hexadecimal.
    """
    leaves, shape = jax.tree.flatten(job)
    found = hashlib.sha256(f"{program_digest()} {shape}".encode())
    for leaf in leaves:
        array = np.ascontiguousarray(leaf)
        found.update(f"{array.dtype} {array.shape}".encode())
        found.update(array.tobytes())
    return found.hexdigest()[:NAMED]


def _single(rows: Rows) -> Rows:
    """Rows in single precision; a flight that left all bounds keeps the largest number it holds."""
    limits = np.finfo(np.float32)
    return np.clip(rows, limits.min, limits.max).astype(np.float32)


class KeptFlights:
    """Chunks of one weighing; call it with jobs to get their rows.

    Args:
        results: The results folder.
        tell: Told after each chunk how many of the expected chunks there are.
        send: Flies the chunks that are missing.
        folder: Name of the folder below it that they are kept in.
        expected: How many chunks the whole weighing takes.
    """

    def __init__(
        self,
        results: Path,
        tell: Callable[[int, int], None],
        *,
        send: Send = fly_here,
        folder: str = FOLDER,
        expected: int = 1,
    ) -> None:
        self.folder = results / folder
        self.tell, self.send, self.expected = tell, send, expected
        self.used: set[str] = set()
        self.flown = self.read = 0
        self.store = Store(own_folder(self.folder, make=True))

    def __call__(self, jobs: list[FlightJob]) -> list[Rows]:
        """Rows of every chunk, read where they are kept, else flown and kept.

        Args:
            jobs: The chunks.

        Returns:
            One entry a chunk, single precision.
        """
        digests = [job_digest(job) for job in jobs]
        kept = {number: self._read(digest) for number, digest in enumerate(digests)}
        found = {number: rows for number, rows in kept.items() if rows is not None}
        missing = [number for number in kept if number not in found]
        self.read += len(jobs) - len(missing)
        self.tell(self.read + self.flown, self.expected)
        for place, rows in self.send([jobs[number] for number in missing]):
            number = missing[place]
            found[number] = _single(rows)
            self._write(digests[number], found[number])
            self.flown += 1
            self.tell(self.read + self.flown, self.expected)
        self.used.update(digests)
        return [found[number] for number in range(len(jobs))]

    def forget_others(self) -> None:
        """Remove what this run did not use."""
        self.store.forget(KIND, [_name(digest) for digest in self.used])

    def forget_all(self) -> None:
        """Remove every chunk, and the folder where nothing else is in it."""
        self.used.clear()
        self.forget_others()
        if not any(self.folder.iterdir()):
            self.folder.rmdir()

    def _read(self, digest: str) -> Rows | None:
        found = self.store.read(_name(digest))
        return None if found is None else found.get(ROWS)

    def _write(self, digest: str, rows: Rows) -> None:
        self.store.write(_name(digest), {ROWS: rows})


def _name(digest: str) -> str:
    return f"{KIND}-{digest}"
