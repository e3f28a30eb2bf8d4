"""What is drawn of a long result file, kept beside it so that it is worked out once.

`results/.drawn/` holds a file for each, named by the SHA-256 of what it was made from: of other
content it says nothing. It may be deleted at any time, and where it cannot be written nothing is
lost but time.
"""

from __future__ import annotations

import contextlib
import hashlib
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

import neutralpoint
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import own_file, own_folder, written

Arrays = dict[str, NDArray[Any]]

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
    place = path.parent / DRAWN / _name(path, mark)
    found = _read(place)
    if found is None:
        found = make()
        if _about(path) == before:  # else another content may have been read than was digested
            _write(place, found)
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
    return f"{path.stem}-{content}-{made[:16]}.npz"


def _read(place: Path) -> Arrays | None:
    """What is kept there; None where nothing is, or something damaged."""
    try:
        if (path := own_file(place.parent, place.name)) is None:
            return None
        with path.open("rb") as data, np.load(data, allow_pickle=False) as held:
            return {name: held[name] for name in held.files}
    except (OSError, NeutralPointError, ValueError, EOFError, zipfile.BadZipFile):
        return None


def _write(place: Path, arrays: Mapping[str, Any]) -> None:
    """Keep arrays whole or not at all, instead of those of earlier contents."""
    stem = place.name.split("-")[0]
    with contextlib.suppress(OSError, NeutralPointError):
        own_folder(place.parent, make=True)
        with written(place) as fresh, fresh.open("wb") as out:
            np.savez(out, **arrays)
        for old in place.parent.glob(f"{stem}-*.npz"):
            if old != place:
                old.unlink(missing_ok=True)
