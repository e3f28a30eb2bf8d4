"""One study of a case at a time: an advisory lock that ends with the process that holds it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from neutralpoint.errors import NeutralPointError

LOCK = ".lock"


@contextmanager
def locked(results: Path) -> Iterator[None]:
    """Hold the results folder of a case for oneself.

    The system lets go of the lock when the process ends, however it ends; the empty file that may
    be left behind locks nobody out.

    Args:
        results: The results folder; it exists.

    Raises:
        NeutralPointError: `case-busy` where another process holds it.
    """
    lock = FileLock(results / LOCK, timeout=0)
    try:
        lock.acquire()
    except Timeout as held:
        raise NeutralPointError(
            "case-busy",
            "Another process is studying this case.",
            where=str(results),
            hint="Wait for it to end, or stop it; what it has finished is kept.",
        ) from held
    try:
        yield
    finally:
        # While the lock is still held, so that nobody is locking the file that goes. Windows
        # keeps a file that is open; there the empty file stays.
        with suppress(PermissionError):
            (results / LOCK).unlink(missing_ok=True)
        lock.release()
