"""The Kestrelfold log: `seconds|latitude|longitude|decimeters`, degrees times 10^6. Invented."""

from __future__ import annotations

from typing import Any

import numpy as np

from neutralpoint import NeutralPointError

HEADER = "KESTRELFOLD 1"


def read(data: bytes, options: dict[str, Any]) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Read a log.

    Args:
        data: The file.
        options: `start`, s after 1970 (UTC), that its seconds count from.

    Returns:
        By channel: times in s after 1970 (UTC) and values, SI and radians.

    Raises:
        NeutralPointError: `file-format` for another file; `argument-invalid` without a start.
    """
    lines = data.decode("utf-8", "replace").splitlines()
    if not lines or lines[0] != HEADER:
        raise NeutralPointError(
            "file-format",
            f"The first line is not {HEADER!r}.",
            where="line 1",
            hint="Export the log again, as text.",
        )
    if "start" not in options:
        raise NeutralPointError(
            "argument-invalid",
            "Nothing says what the seconds of the log count from.",
            where="options.start",
            hint="Give `options = { start = 1933959600.0 }`, seconds after 1970, UTC.",
        )
    rows = np.array([[float(cell) for cell in line.split("|")] for line in lines[1:]])
    time = rows[:, 0] + float(options["start"])
    return {
        "position": (time, np.radians(1e-6 * rows[:, 1:3])),
        "pressure_altitude": (time, 0.1 * rows[:, 3]),
    }
