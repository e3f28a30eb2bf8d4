"""One study of a case at a time: an advisory lock that ends with the process that holds it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import system_refusal, told_of_system

LOCK = ".lock"


@contextmanager
def locked(results: Path) -> Iterator[None]:
    """Hold the results folder of a case for oneself.

    The system releases the lock when the process ends, however it ends; the empty file that may
    be left behind locks nobody out.

    Args:
        results: The results folder; it exists.

    Raises:
        NeutralPointError: `case-busy` where another process holds it, `no-access` where the folder
            may not be written.
    """
    place = results / LOCK
    with told_of_system(place):
        if place.is_symlink():  # locking would follow it, and empty what it leads to
            place.unlink(missing_ok=True)
    lock = FileLock(place, timeout=0)
    try:
        lock.acquire()
    except Timeout as held:
        raise NeutralPointError(
            "case-busy",
            "Another process is studying this case.",
            where=str(results),
            hint="Wait for it to end, or stop it; what it has finished is kept.",
        ) from held
    except OSError as broken:
        raise system_refusal(broken, place) from broken
    try:
        yield
    finally:
        # While the lock is still held, so that nobody is locking the file that goes. Windows
        # keeps a file that is open; there the empty file stays.
        with suppress(PermissionError):
            (results / LOCK).unlink(missing_ok=True)
        lock.release()
