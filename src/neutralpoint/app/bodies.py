"""What comes in with a request: JSON of a bounded size and depth, text, or the bytes of a file."""

from __future__ import annotations

import contextlib
import json
import os
import tempfile
import time
from pathlib import Path
from typing import Any

from starlette.requests import Request

from neutralpoint.errors import NeutralPointError

UPLOAD = ".upload-"  # what the name of a file begins with while it is being sent
LEFT_OVER = 3600.0  # s after which one that is still there was left by a server that was killed
LARGEST_TEXT = 1024 * 1024  # bytes of JSON or TOML
DEEPEST = 12  # levels of JSON


async def read_text(request: Request) -> str:
    """The body as UTF-8 text.

    Raises:
        NeutralPointError: `file-too-large` or `request-invalid`.
    """
    found = bytearray()
    _announced(request, LARGEST_TEXT)
    async for chunk in request.stream():
        found += chunk
        if len(found) > LARGEST_TEXT:
            raise _too_large(LARGEST_TEXT)
    try:
        return bytes(found).decode("utf-8-sig")
    except UnicodeDecodeError as broken:
        raise _invalid(f"The text is not UTF-8 at byte {broken.start}.") from broken


async def read_json(request: Request) -> dict[str, Any]:
    """The body as a JSON object; an empty body is an empty object.

    Raises:
        NeutralPointError: `file-too-large` or `request-invalid`.
    """
    text = await read_text(request)
    if not text.strip():
        return {}
    try:
        value = json.loads(text, parse_constant=_no_constant)
    except (ValueError, RecursionError) as broken:
        raise _invalid(f"The body is not JSON: {str(broken)[:120]}.") from broken
    if not isinstance(value, dict) or _depth(value) > DEEPEST:
        raise _invalid(f"The body is not a JSON object of at most {DEEPEST} levels.")
    return value


async def read_file(request: Request, folder: Path, limit: int) -> Path:
    """The body as a new file in a folder, written piece by piece.

    Args:
        request: The request.
        folder: Where the file is made; the caller moves it to its name or removes it.
        limit: Bytes.

    Returns:
        The file.

    Raises:
        NeutralPointError: `file-too-large`, `file-empty`, or `request-invalid` where the sender
            broke off; nothing is left then.
    """
    _announced(request, limit)
    handle, name = tempfile.mkstemp(prefix=UPLOAD, dir=folder)
    path, size = Path(name), 0
    try:
        with os.fdopen(handle, "wb") as out:
            async for chunk in request.stream():
                size += len(chunk)
                if size > limit:
                    raise _too_large(limit)
                out.write(chunk)
        if size == 0:
            raise NeutralPointError(
                "file-empty",
                "The file is empty.",
                where="body",
                hint="Drop a file that holds something.",
            )
    except BaseException:
        with contextlib.suppress(OSError):
            path.unlink()
        raise
    return path


def remove_leftovers(folder: Path) -> None:
    """Remove uploads that a killed server left half sent.

    Args:
        folder: Where `read_file` makes its files.
    """
    for path in folder.glob(f"{UPLOAD}*"):
        with contextlib.suppress(OSError):
            if time.time() - path.stat().st_mtime > LEFT_OVER:
                path.unlink()


def wanted(body: dict[str, Any], key: str, kind: type | tuple[type, ...]) -> Any:
    """A key of a JSON body, of the right kind.

    Raises:
        NeutralPointError: `request-invalid` where it is missing or of another kind.
    """
    value = body.get(key)
    if not isinstance(value, kind) or isinstance(value, bool) is not (kind is bool):
        raise _invalid(f"The key {key!r} is missing or not of the right kind.", key)
    return value


def numbers_of(values: Any, where: str) -> dict[str, float]:
    """An object whose values are all finite numbers.

    Raises:
        NeutralPointError: `request-invalid` otherwise.
    """
    if not isinstance(values, dict):
        raise _invalid(f"The key {where!r} is no object of numbers.", where)
    found = {}
    for name, value in values.items():
        good = isinstance(value, int | float) and not isinstance(value, bool)
        if not good or not abs(value) < 1e15:
            raise _invalid(f"The value of {name[:60]!r} is no number.", f"{where}.{name[:60]}")
        found[name] = float(value)
    return found


def _announced(request: Request, limit: int) -> None:
    """Refuse by the length that is announced, before anything is read."""
    length = request.headers.get("content-length", "0")
    if not length.isdigit():
        raise _invalid("The length of the body is no number.", "Content-Length")
    if len(length) > 18 or int(length) > limit:
        raise _too_large(limit)


def _depth(value: Any) -> int:
    depth, level = 0, [value]
    while level and depth <= DEEPEST:
        depth += 1
        level = [
            part
            for outer in level
            if isinstance(outer, dict | list)
            for part in (outer.values() if isinstance(outer, dict) else outer)
        ]
    return depth


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no JSON")


def _too_large(limit: int) -> NeutralPointError:
    return NeutralPointError(
        "file-too-large",
        f"More than {limit / 1e6:.0f} MB were sent.",
        where="body",
        hint="Cut the file to the flight, or start with a larger --upload-limit.",
    )


def _invalid(message: str, where: str = "body") -> NeutralPointError:
    return NeutralPointError(
        "request-invalid", message, where=where, hint="Load the page again and repeat the step."
    )
