"""Memory that was needed for reading results goes back to the machine."""

from __future__ import annotations

import ctypes


def give_back() -> bool:
    """Hand free memory of the process back, where the C library has a way to do so.

    Sample paths of six hours are read, thinned to what is drawn, and dropped; without this the
    process would keep their room.

    Source: malloc_trim(3) of the GNU C library.

    Returns:
        Whether any was handed back.
    """
    try:
        trim = ctypes.CDLL(None).malloc_trim
    except (AttributeError, OSError, TypeError):  # another C library, another system
        return False
    return bool(trim(0))
