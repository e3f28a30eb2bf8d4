"""Delimited text as a table: the delimiter, the header and the rows, each with its line."""

from __future__ import annotations

import csv
import difflib
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from neutralpoint.errors import NeutralPointError
from neutralpoint.sources.units import HEADER_WORDS

DELIMITERS = (",", ";", "\t", "|")
HEADER_WITHIN = 40  # lines in which the header is looked for
LARGEST = 256 * 1024 * 1024  # bytes of a text table
LONGEST_LINE = 20_000  # characters
MOST_LINES = 6  # lines of a record, below the limit of `csv`; a quote still open then was none
UNIT_WORDS = {*HEADER_WORDS, "degree", "ft msl", "ft baro", "ft wgs84"}
FEWEST_UNITS = 2  # cells that must be units for a row to be one of units


@dataclass(frozen=True)
class Table:
    """Rows of text under a header.

    Attributes:
        header: Column names; empty where columns are numbered.
        rows: Cells of each data row.
        lines: Line of the file of each row, counted from 1.
        delimiter: The delimiter found.
        mismatched: Lines left out because they are too long, cannot be split, or have more cells
            than the header.
        units: Cells of a row of units next to the header; empty where there is none.
    """

    header: tuple[str, ...]
    rows: list[list[str]]
    lines: list[int]
    delimiter: str
    mismatched: tuple[int, ...]
    units: tuple[str, ...] = ()

    def column(self, name: str | int) -> list[str]:
        """Cells of one column; blank where a row is too short.

        Args:
            name: Name in the header, or number counted from 1.

        Returns:
            One cell a row, without surrounding blanks.
        """
        index = self.header.index(name) if isinstance(name, str) else name - 1
        return [row[index].strip() if index < len(row) else "" for row in self.rows]


def decode(data: bytes, where: str) -> str:
    """Text of a file, whatever its encoding.

    Args:
        data: The file.
        where: Its name, for errors.

    Returns:
        The text: UTF-8 or UTF-16 where marked or valid, else Latin-1.

    Raises:
        NeutralPointError: `file-empty` or `file-too-large`.
    """
    if len(data) > LARGEST:
        raise NeutralPointError(
            "file-too-large",
            f"The file has {len(data) / 1e6:.0f} MB.",
            where=where,
            hint=f"At most {LARGEST / 1e6:.0f} MB are read; cut the file to the flight.",
        )
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = data.decode("utf-16", errors="replace")
    else:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = data.decode("latin-1")
    text = text.replace("\x00", "")
    if not text.strip():
        raise NeutralPointError(
            "file-empty",
            "The file is empty.",
            where=where,
            hint="Name a file with at least a header and rows of data.",
        )
    return text


def read_table(text: str, wanted: Iterable[str | int], where: str) -> Table:
    """Split delimited text; the header is the line that holds most of the wanted names.

    Args:
        text: The file's text.
        wanted: Column names, or numbers counted from 1 in a file without a header.
        where: Name of the file, for errors.

    Returns:
        The table.

    Raises:
        NeutralPointError: `column-missing` where a wanted column is not there, `file-empty`
            where no row follows the header, `file-format` where the text is no table.
    """
    names = [name for name in wanted if isinstance(name, str)]
    numbers = [name for name in wanted if isinstance(name, int)]
    lines = text.splitlines()
    if names:
        start, delimiter, header, end = _header(lines, names)
        _require(header, names, start, where, max(map(len, lines[:HEADER_WITHIN]), default=0))
    else:
        start, delimiter, header, end = -1, _delimiter(lines), (), -1
    rows, numbers_of, refused = _split(lines, end + 1, delimiter)
    units: tuple[str, ...] = ()
    if header and rows and is_units_row(rows[0]):
        units = tuple(rows[0])
        rows, numbers_of = rows[1:], numbers_of[1:]
    elif start > 0 and header:
        before = [c.strip() for c in _cells(lines[start - 1].lstrip("# "), delimiter) or ()]
        units = tuple(before) if is_units_row(before) else ()
    if not rows:
        raise NeutralPointError(
            "file-empty",
            "The file holds a header but no rows of data." if names else "The file holds no rows.",
            where=where,
            hint="Check that the file was written to its end.",
        )
    widest = max(len(row) for row in rows)
    if numbers and max(numbers) > widest:
        raise NeutralPointError(
            "column-missing",
            f"Column {max(numbers)} was asked for; the widest row has {widest}.",
            where=where,
            hint="Columns are counted from 1.",
        )
    table = Table(header, rows, numbers_of, delimiter, tuple(refused), units)
    return _within_header(table, names, start, where) if names else table


def _within_header(table: Table, names: list[str], line: int, where: str) -> Table:
    """The table without rows that the header does not hold; each name that is wanted stands once.

    A number with a decimal comma in a table of commas moves all that follows by a cell. Where the
    last column is not wanted it may be text with commas of its own, and says nothing.
    """
    header, rows = table.header, table.rows
    for name in names:
        places = [k for k, cell in enumerate(header) if cell == name]
        if len({tuple(row[k] for row in rows if k < len(row)) for k in places}) > 1:
            raise NeutralPointError(
                "file-format",
                f"The header has {name!r} {len(places)} times, over columns that differ: "
                f"{', '.join(str(k + 1) for k in places)}.",
                where=f"{where}:{line + 1}",
                hint="Give each column a name of its own.",
            )
    if header[-1] not in names:
        return table
    wide = [any(cell.strip() for cell in row[len(header) :]) for row in rows]
    if all(wide):
        raise NeutralPointError(
            "file-format",
            f"Every row has more cells than the header: {len(rows[0])} under {len(header)} names.",
            where=f"{where}:{table.lines[0]}",
            hint="Numbers with a decimal comma and texts with commas stand in quotes, or another "
            "delimiter is used; a column of row names needs a name too.",
        )
    kept = [k for k, beyond in enumerate(wide) if not beyond]
    beyond = (line for line, out in zip(table.lines, wide, strict=True) if out)
    return replace(
        table,
        rows=[rows[k] for k in kept],
        lines=[table.lines[k] for k in kept],
        mismatched=tuple(sorted((*table.mismatched, *beyond))),
    )


def is_units_row(cells: list[str]) -> bool:
    """Whether a row names units, as logs of avionics write below or above their header.

    Args:
        cells: Of the row.

    Returns:
        True where no cell is a number and at least two are units of a track.
    """
    words = [cell.strip().lower() for cell in cells]
    if any(re.fullmatch(r"[+-]?\d[\d.,]*", word) for word in words):
        return False
    return sum(word in UNIT_WORDS for word in words) >= FEWEST_UNITS


def _cells(line: str, delimiter: str) -> list[str] | None:
    if len(line) > LONGEST_LINE:
        return None
    if '"' not in line:
        return line.split(delimiter)
    try:
        return next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return None


def _header(lines: list[str], names: list[str]) -> tuple[int, str, tuple[str, ...], int]:
    """Line, delimiter, cells and last line of the best header; the first line where none fits."""
    best: tuple[tuple[int, int], int, str, tuple[str, ...], int] | None = None
    for index in range(min(len(lines), HEADER_WITHIN)):
        for delimiter in DELIMITERS:
            found, last = _record(lines, index, delimiter)
            cells = tuple(" ".join(c.split("\n")).strip().lstrip("#").strip() for c in found or ())
            rank = (sum(name in cells for name in names), len(cells))
            if best is None or rank[0] > best[0][0] or (rank > best[0] and index == best[1]):
                best = rank, index, delimiter, cells, last
    if best is None:
        return 0, ",", (), 0
    return best[1:]


def _require(
    header: tuple[str, ...], names: list[str], line: int, where: str, longest: int
) -> None:
    missing = [name for name in names if name not in header]
    if not missing:
        return
    if longest > LONGEST_LINE:
        raise NeutralPointError(
            "file-format",
            f"A line of {longest:,} characters stands where the header is looked for.",
            where=where,
            hint=f"At most {LONGEST_LINE:,} are read; leave out the columns that nobody needs.",
        )
    near = difflib.get_close_matches(missing[0], header, n=1, cutoff=0.5)
    shown = ", ".join(repr(name[:40]) for name in header[:30])
    raise NeutralPointError(
        "column-missing",
        f"The column map names {missing[0]!r}; the header has {shown or 'no columns'}.",
        where=f"{where}:{line + 1}",
        hint=(f"Did you mean {near[0]!r}? " if near else "")
        + "Names are compared letter by letter, case included.",
    )


def _delimiter(lines: list[str]) -> str:
    """The delimiter that splits the first lines into the most columns, the same in each."""
    sample = [line for line in lines[:HEADER_WITHIN] if line.strip()]

    def rank(delimiter: str) -> tuple[bool, int]:
        counts = [len(_cells(line, delimiter) or ()) for line in sample]
        return bool(counts) and min(counts) == max(counts), min(counts, default=0)

    return max(DELIMITERS, key=rank)


def _record(lines: list[str], at: int, delimiter: str) -> tuple[list[str] | None, int]:
    """Cells and last line of the record that begins on a line, be it a comment."""
    if not lines[at].lstrip().startswith("#"):
        for cells, first, last in _records(lines, at, delimiter):
            return (cells, last) if first == at else (None, at)
    return _cells(lines[at], delimiter), at


def _records(
    lines: list[str], start: int, delimiter: str
) -> Iterator[tuple[list[str] | None, int, int]]:
    """Cells, first and last line of each record from a line on; None where it cannot be split.

    Blank lines and comments are left out. A quoted cell may go on over lines. Where a quote is
    never closed, only the line it stands on is lost: reading begins again behind it.
    """
    at = start
    while at < len(lines):
        taken: list[int] = []
        reader = csv.reader(_fed(lines, at, taken), delimiter=delimiter)
        at = len(lines)
        for cells in reader:
            first, last = taken[0], taken[-1]
            if _is_whole(lines, taken):
                yield cells, first, last
                taken.clear()
                continue
            yield None, first, first
            at = first + 1
            break


def _is_whole(lines: list[str], taken: list[int]) -> bool:
    if any(len(lines[number]) > LONGEST_LINE for number in taken):
        return False
    if len(taken) == 1:
        return True
    quotes = sum(lines[number].count('"') for number in taken)
    return len(taken) < MOST_LINES and quotes % 2 == 0


def _fed(lines: list[str], at: int, taken: list[int]) -> Iterator[str]:
    """Lines for the splitter, each noted in `taken`: no more than one record may have."""
    for number in range(at, len(lines)):
        line = lines[number]
        if not taken and (not line.strip() or line.lstrip().startswith("#")):
            continue  # inside a record, both belong to a quoted cell
        if len(taken) >= MOST_LINES:
            return
        taken.append(number)
        yield (line if len(line) <= LONGEST_LINE else "") + "\n"


def _split(
    lines: list[str], start: int, delimiter: str
) -> tuple[list[list[str]], list[int], list[int]]:
    rows, numbers, refused = [], [], []
    for cells, first, _ in _records(lines, start, delimiter):
        if cells is None:
            refused.append(first + 1)
        else:
            rows.append(cells)
            numbers.append(first + 1)
    return rows, numbers, refused
