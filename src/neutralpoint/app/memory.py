"""Memory that was needed for reading results goes back to the machine."""

from __future__ import annotations

import ctypes
from typing import Any

ARENA_MAX = -8  # M_ARENA_MAX. Source: mallopt(3) of the GNU C library
ARENAS = 2


def few_arenas() -> bool:
    """Let all threads share two arenas, where the C library has a way to do so.

    Each thread that answers takes an arena of its own otherwise, and keeps what was free in it:
    150 MB of 550 MB after three cases were shown.

    Source: mallopt(3) of the GNU C library.

    Returns:
        Whether it was taken.
    """
    return bool(_called("mallopt", ARENA_MAX, ARENAS))


def give_back() -> bool:
    """Hand free memory of the process back, where the C library has a way to do so.

    Sample paths of six hours are read, thinned to what is drawn, and dropped; without this the
    process would keep their room.

    Source: malloc_trim(3) of the GNU C library.

    Returns:
        Whether any was handed back.
    """
    return bool(_called("malloc_trim", 0))


def _called(name: str, *given: int) -> Any:
    """What a function of the C library returns; None with another library or system."""
    try:
        return getattr(ctypes.CDLL(None), name)(*given)
    except (AttributeError, OSError, TypeError):
        return None
