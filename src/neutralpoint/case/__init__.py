"""The case: one folder with what is known of a flight, checked and turned into SI values.

What comes in: `case.toml`, the source files it names and an airplane file, all below one folder.
What goes out: a `Case` with the track, the weather, the lift data and the events in SI units, and
the SHA-256 of every file. It is assumed that the files stay as they are: nothing here writes.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from neutralpoint.case.case import Case, Happening, LoadedSource, Taken
    from neutralpoint.case.document import CaseDocument
    from neutralpoint.case.load import load_case
    from neutralpoint.case.parsing import Draft, parse_case, parse_draft
    from neutralpoint.case.stretch import track_seconds

__all__ = [
    "Case",
    "CaseDocument",
    "Draft",
    "Happening",
    "LoadedSource",
    "Taken",
    "load_case",
    "parse_case",
    "parse_draft",
    "track_seconds",
]

# Module of each name. They are loaded when asked for: a page that needs one of them must not wait
# for what all of them need together.
PLACES = {
    "Case": "case",
    "CaseDocument": "document",
    "Draft": "parsing",
    "Happening": "case",
    "LoadedSource": "case",
    "Taken": "case",
    "load_case": "load",
    "parse_case": "parsing",
    "parse_draft": "parsing",
    "track_seconds": "stretch",
}


def __getattr__(name: str) -> Any:
    if name not in PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{PLACES[name]}"), name)
