"""Files of tracks that gzip may have packed: no more is unpacked than is stated."""

from __future__ import annotations

import gzip
import zlib
from pathlib import Path
from typing import Any

from neutralpoint.errors import NeutralPointError

PACKED = ".gz"
# Bytes of a file that is read whole, and of a packed table, which is unpacked in memory; the peak
# is a few times that.
WHOLE, TABLE = 256 * 1024 * 1024, 1024 * 1024 * 1024
PIECE = 4 * 1024 * 1024  # bytes


def read_whole(path: str, name: str) -> bytes:
    """A file, unpacked where it is packed.

    Args:
        path: The file.
        name: As the reader knows it.

    Returns:
        Its content.

    Raises:
        NeutralPointError: `file-too-large`, or `file-format` where it cannot be unpacked.
    """
    opened: Any = gzip.open if path.lower().endswith(PACKED) else open
    try:
        with opened(path, "rb") as file:
            data = file.read(WHOLE + 1)
    except (gzip.BadGzipFile, zlib.error, EOFError) as broken:
        raise _damaged(broken, name) from broken
    if len(data) > WHOLE:
        raise _too_large(WHOLE, name)
    return data


def check_table(path: str, name: str) -> None:
    """Refuse a packed table that unpacks to more than is stated; it is unpacked in pieces for it.

    Args:
        path: The file.
        name: As the reader knows it.

    Raises:
        NeutralPointError: `file-too-large`, or `file-format` where it cannot be unpacked.
    """
    if not path.lower().endswith(PACKED) or not Path(path).is_file():
        return
    left = TABLE
    try:
        with gzip.open(path, "rb") as file:
            while piece := file.read(PIECE):
                left -= len(piece)
                if left < 0:
                    raise _too_large(TABLE, name)
    except (gzip.BadGzipFile, zlib.error, EOFError) as broken:
        raise _damaged(broken, name) from broken


def _too_large(most: int, name: str) -> NeutralPointError:
    return NeutralPointError(
        "file-too-large",
        f"The file unpacks to more than {most / 1e6:,.0f} MB.",
        where=name,
        hint="It is left out; cut it into flights, or keep a large table as Parquet.",
    )


def _damaged(broken: Exception, name: str) -> NeutralPointError:
    said = str(broken)[:120] or type(broken).__name__
    return NeutralPointError(
        "file-format",
        f"The file cannot be unpacked: {said}",
        where=name,
        hint="It is left out; get it again.",
    )
