"""One study of a case at a time: an advisory lock that ends with the process that holds it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from neutralpoint.errors import NeutralPointError

if os.name == "nt":  # pragma: no cover
    import msvcrt

    def _take(handle: int) -> None:
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _take(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


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
    path = results / LOCK
    handle = _opened(path)
    try:
        yield
    finally:
        # While the lock is still held, so that nobody is locking the file that goes. Windows
        # keeps a file that is open; there the empty file stays.
        if os.name != "nt":
            path.unlink(missing_ok=True)
        os.close(handle)


def _opened(path: Path) -> int:
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        try:
            _take(handle)
        except OSError as held:
            os.close(handle)
            raise NeutralPointError(
                "case-busy",
                "Another process is studying this case.",
                where=str(path.parent),
                hint="Wait for it to end, or stop it; what it has finished is kept.",
            ) from held
        if _is_at(handle, path):
            return handle
        os.close(handle)


def _is_at(handle: int, path: Path) -> bool:
    """Whether the locked file is still the one that others would find there."""
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except FileNotFoundError:
        return False
