"""From a surveillance track to what an airplane did, what it took, and what could have done it.

From Python: `Case` and `Results`; errors are `NeutralPointError`. Every other name may change from
one version to the next without notice.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from neutralpoint.api.case import CaseFolder as Case
    from neutralpoint.api.results import StudyResults as Results
    from neutralpoint.errors import NeutralPointError

__version__ = "0.1.0"
__all__ = ["Case", "NeutralPointError", "Results", "__version__"]

# Module of each name, loaded when asked for: `--help` waits for none of them.
PLACES = {
    "Case": ("api.case", "CaseFolder"),
    "Results": ("api.results", "StudyResults"),
    "NeutralPointError": ("errors", "NeutralPointError"),
}


def __getattr__(name: str) -> Any:
    if name not in PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    place, own = PLACES[name]
    return getattr(import_module(f"{__name__}.{place}"), own)


def __dir__() -> list[str]:
    return list(__all__)
