"""Flights for a page: one warm process for a case, asked one flight at a time, the newest first.

A slider asks faster than flights are flown. A request that a newer one has overtaken is answered
at once that it is superseded; what is being flown is flown to its end.
"""

from __future__ import annotations

import contextlib
import json
import os
import select
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import IO, Any, cast

from neutralpoint.errors import NeutralPointError

PATIENCE = 300.0  # s for an answer; the first one waits for compilation
ENDING = 10.0  # s for the one request that is being answered when all ends


class Superseded(Exception):
    """A newer request has overtaken this one."""


class FlightService:
    """The flights of one case.

    Args:
        folder: The case folder.
        stamp: Says what a rig was made from; the process is started anew where it changes.
    """

    def __init__(self, folder: Path, stamp: Callable[[], Any]) -> None:
        self._folder, self._stamp = folder, stamp
        self._turn = threading.Condition()
        self._newest = 0
        self._flying = False
        self._closed = False
        self._process: subprocess.Popen[bytes] | None = None
        self._errors: IO[bytes] | None = None
        self._made_from: Any = None

    def fly(self, asked: dict[str, Any]) -> bytes:
        """Fly one cause, unless a newer request comes before it is its turn.

        Args:
            asked: As `flight_worker.Rig.fly` takes it.

        Returns:
            Numbers as `replies.packed` makes them.

        Raises:
            Superseded: Where a newer request has come.
            NeutralPointError: `program-fault` where the process broke down.
        """
        with self._turn:
            self._newest += 1
            mine = self._newest
            self._turn.notify_all()
            self._turn.wait_for(lambda: not self._flying or mine != self._newest)
            if mine != self._newest or self._closed:
                raise Superseded
            self._flying = True
        try:
            return self._asked(asked)
        finally:
            with self._turn:
                self._flying = False
                self._turn.notify_all()

    def close(self) -> None:
        """End the process; waiting requests are superseded."""
        with self._turn:
            self._closed = True
            self._newest += 1
            self._turn.notify_all()
        self._kill()  # whoever waits for its answer reads an end
        with self._turn:
            self._turn.wait_for(lambda: not self._flying, ENDING)
        self._end()

    def _asked(self, asked: dict[str, Any]) -> bytes:
        now = self._stamp()
        process = self._process
        if process is None or process.poll() is not None or now != self._made_from:
            self._end()
            process, self._made_from = self._started(), now
        try:
            told, answer = cast(IO[bytes], process.stdin), cast(IO[bytes], process.stdout)  # pipes
            told.write((json.dumps(asked) + "\n").encode())
            told.flush()
            size = int.from_bytes(_read(answer, 4), "little")
            return _read(answer, size)
        except (OSError, EOFError, TimeoutError) as broken:
            said = self._last_words()
            self._end()
            if self._closed:
                raise Superseded from broken
            raise NeutralPointError(
                "program-fault",
                f"The flight broke down: {said or type(broken).__name__}.",
                where="flight",
                hint="The next flight starts a fresh process. Please report it with the case.",
            ) from broken

    def _started(self) -> subprocess.Popen[bytes]:
        self._errors = tempfile.TemporaryFile()  # noqa: SIM115 - lives as long as the process
        process = subprocess.Popen(
            [sys.executable, "-m", "neutralpoint.app.flight_worker", str(self._folder)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._errors,
            start_new_session=True,
        )
        with self._turn:
            self._process = process
            if self._closed:
                process.kill()
        return process

    def _last_words(self) -> str:
        """Last line that the process wrote on its error stream."""
        if self._errors is None:
            return ""
        self._errors.seek(0)
        lines = self._errors.read()[-4000:].decode("utf-8", "replace").strip().splitlines()
        return lines[-1][:200] if lines else ""

    def _kill(self) -> None:
        """Stop the process at once: it holds nothing that could be lost."""
        process = self._process
        if process is not None and process.poll() is None:
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(process.pid, signal.SIGKILL)

    def _end(self) -> None:
        self._kill()
        process, self._process = self._process, None
        if process is None:
            return
        process.wait()
        for stream in (process.stdin, process.stdout, self._errors):
            if stream is not None:
                with contextlib.suppress(OSError):
                    stream.close()


def _read(stream: IO[bytes], size: int) -> bytes:
    """Exactly so many bytes.

    Raises:
        EOFError: Where the process ends before.
        TimeoutError: Where it says nothing for too long.
    """
    found, until = bytearray(), time.monotonic() + PATIENCE
    while len(found) < size:
        ready, _, _ = select.select([stream], [], [], max(until - time.monotonic(), 0.0))
        if not ready:
            raise TimeoutError
        piece = os.read(stream.fileno(), size - len(found))
        if not piece:
            raise EOFError
        found += piece
    return bytes(found)
