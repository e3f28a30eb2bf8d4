"""What is drawn of a long result file, kept beside it so that it is worked out once.

`results/.drawn/` holds a file for each, named by the SHA-256 of what it was made from
(`neutralpoint.store`). Where it cannot be written nothing is lost but time.
"""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Callable
from pathlib import Path

import neutralpoint
from neutralpoint.errors import NeutralPointError
from neutralpoint.store import Arrays, Store

DRAWN = ".drawn"
LONG = 20_000_000  # bytes from which a file takes more than a blink to read; measured


def kept_arrays(path: Path, mark: str, make: Callable[[], Arrays]) -> Arrays:
    """Arrays made of a result file, or those that were kept of the same content.

    Args:
        path: The result file.
        mark: Says what is made of it.
        make: Reads the file and works the arrays out.

    Returns:
        The arrays by name.
    """
    before = _about(path)
    if before is None or before[0] < LONG:
        return make()
    store, name = Store(path.parent / DRAWN), _name(path, mark)
    found: Arrays | None = None
    with contextlib.suppress(OSError, NeutralPointError):
        found = store.read(name)
    if found is None:
        found = make()
        if _about(path) == before:  # else another content may have been read than was digested
            with contextlib.suppress(OSError, NeutralPointError):
                store.write(name, found)
                store.forget(path.stem, [name])
    return found


def _about(path: Path) -> tuple[int, int, int] | None:
    """Size, time and number of a file; None where there is none."""
    with contextlib.suppress(OSError):
        about = path.stat()
        return about.st_size, about.st_mtime_ns, about.st_ino
    return None


def _name(path: Path, mark: str) -> str:
    with path.open("rb") as data:
        content = hashlib.file_digest(data, "sha256").hexdigest()
    made = hashlib.sha256(f"{neutralpoint.__version__} {mark}".encode()).hexdigest()
    return f"{path.stem}-{content}-{made[:16]}"
