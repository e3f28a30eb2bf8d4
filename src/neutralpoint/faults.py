"""Any exception in four fields: what the system refused, what memory did not hold, else a fault.

Command line and workbench turn what was raised into the error of the package here and nowhere else,
so that a full disk reads the same in both. What is left is a fault of the program, and says so.
"""

from __future__ import annotations

import traceback
from pathlib import Path

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import system_refusal

LONGEST = 300  # characters of what a library says


def four_fields(fault: BaseException) -> NeutralPointError:
    """An exception as the error of the package.

    Args:
        fault: As it was raised.

    Returns:
        The same where it is one; what the system refused; `memory-short`; else `program-fault`.
    """
    if isinstance(fault, NeutralPointError):
        return fault
    if isinstance(fault, OSError) and fault.errno is not None:
        return system_refusal(fault)
    if isinstance(fault, MemoryError):
        return NeutralPointError(
            "memory-short",
            f"The work needs more memory than there is{_amount(fault)}.",
            where=_place(fault),
            hint="Study a shorter stretch (`analysis.start`, `analysis.end`) of the record.",
        )
    return NeutralPointError(
        "program-fault",
        f"{type(fault).__name__}: {str(fault)[:LONGEST]}",
        where=_place(fault),
        hint="This is a fault of the program, not of the case. Please report it with the case.",
    )


def _amount(fault: MemoryError) -> str:
    said = str(fault)
    return f": {said[:LONGEST].rstrip('.')}" if said else ""


def _place(fault: BaseException) -> str:
    """File, line and function where it was raised."""
    frames = traceback.extract_tb(fault.__traceback__)
    if not frames:
        return "the program"
    return f"{Path(frames[-1].filename).name}:{frames[-1].lineno} in {frames[-1].name}"
