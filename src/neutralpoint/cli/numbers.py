"""Numbers of the command line."""

from __future__ import annotations

import math

import typer


def finite(value: float | None) -> float | None:
    """Refuse `nan` and `inf`, which no lower or upper limit of an option keeps out.

    Args:
        value: Of an option.

    Returns:
        The value.
    """
    if value is not None and not math.isfinite(value):
        raise typer.BadParameter(f"{value} is no finite number.")
    return value
