"""Compiled programs kept between runs, so that a second run of a command does not compile again.

Nothing here loads JAX: its own environment variables are set before it is loaded. A variable of
JAX that the user has set stands.
"""

from __future__ import annotations

import contextlib
import gc
import hashlib
import os
import platform
import sys
import warnings
import zlib
from collections.abc import Mapping, MutableMapping
from pathlib import Path

FOLDER = "NEUTRALPOINT_CACHE"  # a folder, or `off`
LARGEST = 512 * 1024 * 1024  # bytes kept; the oldest go
CHECKED = "checked"  # stamp: entries older than it have been looked at
# New objects until rubbish is looked for, and rounds of that until older ones are looked at too.
# Tracing makes hundreds of thousands of objects that stay: with the 700 that Python begins with, a
# sixth of the processor's time for a program that is traced, compiled and run once goes to looking.
COLLECT = 100_000, 20, 50


def keep_compiled(environment: MutableMapping[str, str] = os.environ) -> Path | None:
    """Let JAX keep compiled programs in the user's cache folder.

    Args:
        environment: Environment variables; JAX's are set there.

    Returns:
        The folder; None where nothing is kept.
    """
    if "JAX_COMPILATION_CACHE_DIR" in environment:
        return None
    base = cache_folder(environment)
    if base is None:
        return None
    folder = base / f"programs-{_machine()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _look_through(folder)
    except OSError:
        return None
    environment["JAX_COMPILATION_CACHE_DIR"] = str(folder)
    # One that another process is just writing: it is compiled, and there is nothing to tell.
    warnings.filterwarnings("ignore", message="Error reading persistent compilation cache entry")
    # The small ones too: together they take seconds.
    environment.setdefault("JAX_PERSISTENT_CACHE_MIN_COMPILE_TIME_SECS", "0")
    environment.setdefault("JAX_PERSISTENT_CACHE_MIN_ENTRY_SIZE_BYTES", "0")
    return folder


def collect_rarely() -> None:
    """Let the interpreter look for rubbish seldom, as suits programs that are traced."""
    gc.set_threshold(*COLLECT)


def cache_folder(environment: Mapping[str, str]) -> Path | None:
    """The folder for what can be made again, as the platform has it.

    Args:
        environment: `NEUTRALPOINT_CACHE` names another one, or is `off`.

    Returns:
        The folder, whether it exists or not; None where it is off or the user has no home.
    """
    named = environment.get(FOLDER, "")
    if named:
        return None if named.lower() == "off" else Path(named)
    try:
        home = Path("~").expanduser()
    except RuntimeError:  # neither HOME nor an entry for the user: nothing is kept
        return None
    if sys.platform == "win32":
        return Path(environment.get("LOCALAPPDATA", home)) / "neutralpoint" / "Cache"
    if sys.platform == "darwin":
        return home / "Library" / "Caches" / "neutralpoint"
    return Path(environment.get("XDG_CACHE_HOME") or home / ".cache") / "neutralpoint"


def _machine() -> str:
    """Names the processor: a program compiled for one may not run on another."""
    told = [sys.version, platform.machine(), platform.processor()]
    with contextlib.suppress(OSError):
        lines = Path("/proc/cpuinfo").read_text("ascii", errors="replace").splitlines()
        told += [line for line in lines if line.startswith(("flags", "Features"))][:1]
    return hashlib.sha256("\n".join(told).encode()).hexdigest()[:16]


def _look_through(folder: Path) -> None:
    """Remove what a killed process left half written, and the oldest where there is too much.

    JAX writes its entries in place and warns for ever of one that is cut short.
    """
    stamp = folder / CHECKED
    since = stamp.stat().st_mtime if stamp.exists() else 0.0
    entries = sorted(
        ((path.stat(), path) for path in folder.glob("*-cache")), key=lambda e: e[0].st_mtime
    )
    stamp.touch()
    size = sum(status.st_size for status, _ in entries)
    for status, path in entries:
        if size > LARGEST or (status.st_mtime >= since and not _whole(path)):
            path.unlink(missing_ok=True)
            size -= status.st_size


def _whole(path: Path) -> bool:
    """Whether an entry can be unpacked; those of another packer are taken to be whole."""
    data = path.read_bytes()
    if data[:1] != b"\x78":  # zlib's first byte; cut short to nothing is not whole either
        return bool(data)
    try:
        zlib.decompress(data)
    except zlib.error:
        return False
    return True
