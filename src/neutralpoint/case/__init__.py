"""The case: one folder with what is known of a flight, checked and turned into SI values.

What comes in: `case.toml`, the source files it names and an airplane file, all below one folder.
What goes out: a `Case` with the track, the weather, the lift data and the events in SI units, and
the SHA-256 of every file. It is assumed that the files stay as they are: nothing here writes.
"""

from neutralpoint.case.case import Case, Happening, LoadedSource, Taken
from neutralpoint.case.document import CaseDocument
from neutralpoint.case.load import load_case, parse_case
from neutralpoint.case.quantity import Uncertain, parse_quantity
from neutralpoint.case.stretch import track_seconds

__all__ = [
    "Case",
    "CaseDocument",
    "Happening",
    "LoadedSource",
    "Taken",
    "Uncertain",
    "load_case",
    "parse_case",
    "parse_quantity",
    "track_seconds",
]
