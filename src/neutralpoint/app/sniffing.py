"""What a dropped file looks like: its kind by its first bytes, its header and columns by its text.

Nothing is decided here. The page shows what was found and the analyst confirms or changes it.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass

from neutralpoint.errors import NeutralPointError
from neutralpoint.sources import decode
from neutralpoint.sources.cells import is_blank
from neutralpoint.sources.column_words import role_of_name
from neutralpoint.sources.table import DELIMITERS, Table, read_table

HEAD = 4 * 1024 * 1024  # bytes looked at
LINES = 60  # lines that the header is looked for in
HEX_LINE = re.compile(r"^\S+[\s,;]+\*?[0-9A-Fa-f]{14}(?:[0-9A-Fa-f]{14})?;?(?:[\s,;]|$)")
SURFACE_REPORT = re.compile(r"\b[A-Z]{4} \d{6}Z\b")
NUMBER = re.compile(r"[+-]?[\d.,:]+(?:[eE][+-]?\d+)?")
# ASTERIX categories that are read, and the marks that packet captures begin with.
CATEGORIES = (21, 48, 62)
CAPTURES = (b"\xd4\xc3\xb2\xa1", b"\xa1\xb2\xc3\xd4", b"\x0a\x0d\x0d\x0a")


@dataclass(frozen=True)
class Guess:
    """What a column most likely holds.

    Attributes:
        quantity: A role of the column map; empty for none.
        why: In words.
    """

    quantity: str
    why: str


def kind_of(data: bytes, name: str) -> str:
    """The kind of a file: of a track, of weather, or `table` for any other text.

    Args:
        data: Its first bytes.
        name: Its name.

    Returns:
        `gpx`, `kml`, `asterix`, `modes`, `netcdf`, `metar`, `sounding`, `table` or `other`.
    """
    start = data[:4096]
    low = start.lower()
    if b"<gpx" in low:
        return "gpx"
    if b"<kml" in low:
        return "kml"
    if start.startswith((b"CDF", b"\x89HDF")):
        return "netcdf"
    if start.startswith(CAPTURES) or (len(start) > 3 and start[0] in CATEGORIES and start[1] < 16):
        return "asterix"
    if b"\x00" in start and not start.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "other"
    lines = [line for line in decode(data, name).splitlines()[:LINES] if line.strip()]
    if sum(HEX_LINE.match(line.strip()) is not None for line in lines) > len(lines) / 2:
        return "modes"
    if any("PRES" in line and "HGHT" in line for line in lines):
        return "sounding"
    if any(SURFACE_REPORT.search(line) for line in lines):
        return "metar"
    return "table"


def table_of(data: bytes, name: str) -> Table:
    """A delimited file with its header, whatever it is called.

    Args:
        data: The file, or its beginning.
        name: Its name, for errors.

    Returns:
        The table; its header is empty where the first row holds numbers.

    Raises:
        NeutralPointError: `file-empty` or `file-format`.
    """
    text = decode(data, name)
    lines = [line for line in text.splitlines()[:LINES] if line.strip()]
    delimiter = max(DELIMITERS, key=lambda mark: _width(lines, mark))
    width = _width(lines, delimiter)[1]
    if width < 2:
        raise NeutralPointError(
            "file-format",
            "The file has no columns.",
            where=name,
            hint=f"Columns are divided by one of {' '.join(map(repr, DELIMITERS))}.",
        )
    for line in lines:
        cells = [cell.strip().lstrip("#").strip().strip('"') for cell in line.split(delimiter)]
        if len(cells) >= width:
            named = sum(not is_blank(c) and NUMBER.fullmatch(c) is None for c in cells)
            if named > 0.6 * len(cells):
                once = [c for c in cells if c and cells.count(c) == 1]
                return read_table(text, once or cells[:1], name)
            break
    return read_table(text, [1], name)


def guess(name: str, cells: list[str]) -> Guess:
    """What a column holds, by the words of its name.

    Args:
        name: Of the column.
        cells: A sample of its cells.

    Returns:
        The guess.
    """
    quantity = role_of_name(name)
    if not quantity:
        return Guess("", "Its name says nothing of a track.")
    numbers = sum(NUMBER.fullmatch(cell.strip()) is not None for cell in cells if cell.strip())
    some = sum(1 for cell in cells if cell.strip())
    if quantity not in ("time", "date", "address", "position_time") and numbers < 0.5 * some:
        return Guess("", "Its name fits, its cells are no numbers.")
    return Guess(quantity, f"By its name, {name!r}.")


def _width(lines: list[str], delimiter: str) -> tuple[int, int]:
    """How many lines have the most common number of cells, and that number."""
    counts = Counter(line.count(delimiter) + 1 for line in lines)
    counts.pop(1, None)
    if not counts:
        return 0, 1
    width, lines_of = counts.most_common(1)[0]
    return lines_of, width
