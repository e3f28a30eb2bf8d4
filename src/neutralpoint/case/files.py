"""Files of a case: read below its folder only, whole, with their SHA-256."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from neutralpoint.errors import NeutralPointError

NAME = "case.toml"
LARGEST = 256 * 1024 * 1024  # bytes


@dataclass(frozen=True)
class SourceFile:
    """A file as it was read.

    Attributes:
        path: Relative to the case folder, with forward slashes.
        data: Its bytes.
        sha256: Digest of the bytes, hexadecimal.
    """

    path: str
    data: bytes
    sha256: str


def read_source(folder: Path, name: str, key: str) -> SourceFile:
    """Read a file that the case names.

    Args:
        folder: The case folder.
        name: Path relative to it.
        key: Case key that names it, for errors.

    Returns:
        The file.

    Raises:
        NeutralPointError: As `place_of`, and `file-format` where it cannot be read.
    """
    path = place_of(folder, name, key)
    try:
        data = path.read_bytes()
    except OSError as broken:
        raise NeutralPointError(
            "file-format",
            f"{name} cannot be read: {broken.strerror}.",
            where=key,
            hint="Check the permissions of the file.",
        ) from broken
    relative = path.relative_to(folder.resolve()).as_posix()
    return SourceFile(relative, data, hashlib.sha256(data).hexdigest())


def place_of(folder: Path, name: str, key: str) -> Path:
    """Where a file lies that the case names; it is there and of a size that is read.

    Args:
        folder: The case folder.
        name: Path relative to it.
        key: Case key that names it, for errors.

    Returns:
        Its resolved path, below the folder.

    Raises:
        NeutralPointError: `case-invalid` for a path that leaves the folder, `file-missing` or
            `file-too-large`.
    """
    base = folder.resolve()
    try:
        path = (base / name).resolve()
    except (OSError, ValueError, RuntimeError) as broken:
        raise _outside(name, key) from broken
    if not path.is_relative_to(base) or path == base or "\x00" in name:
        raise _outside(name, key)
    if not path.is_file():
        near = sorted(p.name for p in base.iterdir() if p.is_file())[:12]
        raise NeutralPointError(
            "file-missing",
            f"There is no file {name!r} in the case folder.",
            where=key,
            hint=f"The folder holds {', '.join(near)}.",
        )
    size = path.stat().st_size
    if size > LARGEST:
        raise NeutralPointError(
            "file-too-large",
            f"{name} has {size / 1e6:.0f} MB.",
            where=key,
            hint=f"At most {LARGEST / 1e6:.0f} MB are read; cut the file to the flight.",
        )
    return path


def _outside(name: str, key: str) -> NeutralPointError:
    return NeutralPointError(
        "case-invalid",
        f"The path {name[:80]!r} leads out of the case folder.",
        where=key,
        hint="Copy the file into the case folder and name it from there.",
    )
