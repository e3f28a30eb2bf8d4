"""Arrays kept in a folder of a case by what they were made from.

A file is named by a digest of everything its arrays were made from, and by that of its own bytes:
one that is damaged, or of another program, case or draw, says nothing and is made again. Files are
whole or not there, and may be deleted at any time. Nothing is pickled, for a case folder may come
from anybody.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import zipfile
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from neutralpoint.files import FRESH, own_folder, read_own, write_whole

Arrays = dict[str, NDArray[Any]]
LARGEST = 1024 * 1024 * 1024  # bytes unpacked
OWN = 16  # hexadecimal digits of the digest of a file's bytes


class Store:
    """What is kept in one folder.

    Args:
        folder: Below the case folder; made when something is kept.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def read(self, name: str) -> Arrays | None:
        """The arrays of a name.

        Args:
            name: What they are, with a digest of everything that they were made from.

        Returns:
            Arrays by name; None where none are kept, or damaged ones, which are removed.

        Raises:
            NeutralPointError: `link-refused` where folder or file is a link.
        """
        for path in own_folder(self.folder).glob(f"{name}-*.npz"):
            data = read_own(path)
            if path.stem.rpartition("-")[2] == _digest(data):
                # Somebody may have made both name and content; an archive raises what it likes.
                with contextlib.suppress(Exception):
                    return _unpacked(data)
            path.unlink(missing_ok=True)
        return None

    def write(self, name: str, arrays: Mapping[str, Any]) -> None:
        """Keep arrays, whole or not at all.

        Args:
            name: As for `read`.
            arrays: By name.

        Raises:
            NeutralPointError: As `write_whole` and `own_folder`.
        """
        own_folder(self.folder, make=True)
        buffer = io.BytesIO()
        np.savez(buffer, **arrays)
        data = buffer.getvalue()
        write_whole(self.folder / f"{name}-{_digest(data)}.npz", data)

    def forget(self, kind: str, but: Collection[str] = ()) -> None:
        """Remove what is kept of a kind, and what a stopped run had begun to write.

        Args:
            kind: How the names begin.
            but: Names that stay.
        """
        for path in self.folder.glob(f"{kind}-*.npz"):
            if path.stem.rpartition("-")[0] not in but:
                path.unlink(missing_ok=True)
        for path in self.folder.glob(f".{kind}-*{FRESH}"):
            path.unlink(missing_ok=True)


def _unpacked(data: bytes) -> Arrays:
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        if sum(part.file_size for part in packed.infolist()) > LARGEST:
            raise ValueError("more than any result")
    with np.load(io.BytesIO(data), allow_pickle=False) as held:
        return {key: held[key] for key in held.files}


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:OWN]
