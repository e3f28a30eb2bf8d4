"""How long the files of a case may be read; a reader that takes longer is stopped with the figure.

Bytes and records have budgets of their own, so that no file up to them takes as long; this is for
what nobody has thought of.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from neutralpoint.errors import NeutralPointError

LONGEST = 300.0  # s of the processor for all files of a case; ten times the slowest of full size


@contextmanager
def patient(folder: Path, limit: float = LONGEST) -> Iterator[None]:
    """Stop what is inside after so much time of the processor.

    Only the main thread can be stopped, and not on Windows; jobs and commands read there.

    Args:
        folder: The case folder, for the error.
        limit: s of the processor.

    Raises:
        NeutralPointError: `reading-slow`.
    """
    here = threading.current_thread() is threading.main_thread()
    if not here or not hasattr(signal, "setitimer"):
        yield
        return

    def late(_signal: int, _frame: FrameType | None) -> None:
        raise NeutralPointError(
            "reading-slow",
            f"Reading the files took more than {limit:g} s of the processor.",
            where=str(folder),
            hint="Cut the files to the flight, or leave one out to find which is slow.",
        )

    before = signal.signal(signal.SIGVTALRM, late)
    signal.setitimer(signal.ITIMER_VIRTUAL, limit)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
        signal.signal(signal.SIGVTALRM, before)
