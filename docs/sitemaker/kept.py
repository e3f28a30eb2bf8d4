"""What takes long to make is kept by what it is made of, and made again when that changed."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path

from sitemaker.quoted import ROOT

BUILD = ROOT / "build" / "site"
KEPT = BUILD / "kept"


@cache
def code_digest(maker: str) -> str:
    """Digest of the program and of a module of the site.

    Args:
        maker: The module that makes what is kept.

    Returns:
        As `digest`.
    """
    files = sorted((ROOT / "src" / "neutralpoint").rglob("*.py"))
    return digest([*files, ROOT / "docs" / "sitemaker" / maker])


def digest(files: Iterable[Path], *texts: str) -> str:
    """Digest of files and texts.

    Args:
        files: Read whole; their names count.
        texts: Counted as well.

    Returns:
        16 hexadecimal digits.
    """
    whole = hashlib.sha256("\0".join(texts).encode())
    for file in files:
        whole.update(file.name.encode() + b"\0" + file.read_bytes())
    return whole.hexdigest()[:16]


def kept(name: str, mark: str, make: Callable[[Path], None]) -> Path:
    """A folder as it was made before, or made now.

    Args:
        name: Of the folder.
        mark: Digest of all that it is made of.
        make: Fills an empty folder.

    Returns:
        The folder; older ones of the name are gone.
    """
    folder = KEPT / f"{name}-{mark}"
    if not folder.is_dir():
        for old in KEPT.glob(f"{name}-{'?' * len(mark)}"):
            shutil.rmtree(old)
        fresh = KEPT / f".{name}-unfinished"
        shutil.rmtree(fresh, ignore_errors=True)
        fresh.mkdir(parents=True)
        make(fresh)
        fresh.rename(folder)
    return folder
