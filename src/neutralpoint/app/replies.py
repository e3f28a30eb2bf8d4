"""Answers: JSON, raw numbers, files, and failures in their four fields."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

from starlette.responses import FileResponse, Response

from neutralpoint.errors import NeutralPointError
from neutralpoint.faults import four_fields
from neutralpoint.report.page.payload import payload

STATUS = {
    "not-found": 404,
    "case-missing": 404,
    "file-missing": 404,
    "results-missing": 404,
    "served-gone": 404,
    "case-exists": 409,
    "case-busy": 409,
    "revision-old": 409,
    "file-too-large": 413,
    "disk-full": 507,
    "no-access": 403,
    "link-refused": 400,
    "memory-short": 507,
    "request-refused": 403,
    "request-invalid": 400,
    "program-fault": 500,
}
# A saved report brings its own scripts. It is shown as a page of no origin, so that nothing in it,
# whoever wrote the file, can speak to the workbench.
SEALED = (
    "sandbox allow-scripts allow-modals; default-src 'none'; script-src 'unsafe-inline'; "
    "style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)


class FieldErrors(Exception):
    """Faults of single fields of the form: path, message and hint of each."""

    def __init__(self, errors: list[dict[str, str]]) -> None:
        super().__init__(f"{len(errors)} field(s)")
        self.errors = errors


def answer(value: Any, status: int = 200) -> Response:
    """Any JSON value as an answer; what is not finite is sent as null."""
    text = json.dumps(finite(value), allow_nan=False, ensure_ascii=False, separators=(",", ":"))
    return Response(text.encode("utf-8", "replace"), status, media_type="application/json")


def finite(value: Any) -> Any:
    """A JSON value without NaN and infinities, which JSON does not have."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {str(key): finite(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [finite(part) for part in value]
    return value


def packed(thing: Any) -> bytes:
    """Numbers as one block: length of the JSON, the JSON padded to fours, raw float32.

    Args:
        thing: As `report.payload` takes it.

    Returns:
        uint32 little-endian, JSON in UTF-8 with blanks after it, float32 little-endian.
    """
    plain, block = payload(thing)
    text = json.dumps(finite(plain), allow_nan=False, separators=(",", ":")).encode("utf-8")
    text += b" " * (-len(text) % 4)
    return len(text).to_bytes(4, "little") + text + block


def numbers(data: bytes) -> Response:
    """An answer of raw numbers, as `packed` makes them."""
    return Response(data, media_type="application/octet-stream")


def failure(fault: Exception) -> Response:
    """Any exception as an answer; never a traceback.

    Args:
        fault: What was raised.

    Returns:
        The four fields under `error`, or the list of field errors.
    """
    if isinstance(fault, FieldErrors):
        return answer({"errors": fault.errors}, 422)
    error = four_fields(fault)
    return refused(error, STATUS.get(error.code, 422))


def refused(error: NeutralPointError, status: int) -> Response:
    """An error in its four fields."""
    return answer({"error": error.as_dict()}, status)


def download(path: Path) -> Response:
    """A file to save, never to show."""
    return FileResponse(path, media_type="application/octet-stream", filename=path.name)


def sealed_page(path: Path) -> Response:
    """A saved HTML report, shown without any right to speak to the workbench."""
    return FileResponse(
        path, media_type="text/html; charset=utf-8", headers={"content-security-policy": SEALED}
    )
