"""Numbers that a page quotes from the results of benchmarks, so that none is typed twice.

A quotation is `PAGE | ROW | COLUMN`, which is a cell of a table, or `PAGE ~ PATTERN`, the one group
of a regular expression. PAGE is a page of `benchmarks/results`, or of `docs` where it begins with
`docs/`; `PAGE # HEADING` narrows it to a section. ROW is the first cell of the row, or `FIRST &
SECOND`. `PAGE | ROW | COLUMN ~ PATTERN` takes part of a cell. In a table, where a bar parts cells,
`¦` stands for it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
RESULTS = "benchmarks/results"


class UnquotableError(ValueError):
    """A quotation that says nothing, or more than one thing."""


@dataclass(frozen=True)
class Quotation:
    """A number with where it stands.

    Attributes:
        text: As printed.
        page: Path below the repository root.
        where: Row and column, or the pattern.
    """

    text: str
    page: str
    where: str


def quote(quotation: str) -> Quotation:
    """Look a quotation up.

    Args:
        quotation: As the head of this module says.

    Returns:
        The number.

    Raises:
        UnquotableError: No such page, section, row or column, or several.
    """
    place, _, pattern = quotation.replace(" ¦ ", " | ").partition(" ~ ")
    page, *cell = (part.strip() for part in place.split(" | "))
    path, text = _page(page, quotation)
    if cell:
        if len(cell) != 2:
            raise UnquotableError(f"{quotation}: give a row and a column")
        text = _cell(text, *cell, quotation)
    if pattern:
        text = _matched(text, pattern.strip(), quotation)
    elif not cell:
        raise UnquotableError(f"{quotation}: give a row and a column, or a pattern")
    return Quotation(_printed(text), path, ", ".join(cell) or "in its text")


def table(asked: str, rows: Sequence[str]) -> tuple[str, list[list[str]]]:
    """Part of a table of the results: `PAGE # HEADING | COLUMN | COLUMN as HEAD | ...`.

    Args:
        asked: Names of columns may have `*`; without any the whole table is taken.
        rows: First cells of the rows to keep, in order, with `*` too; none for all.

    Returns:
        Path of the page below the repository root, and the table, its head first.

    Raises:
        UnquotableError: No such page, section, table, column or row.
    """
    page, *columns = (part.strip() for part in asked.split(" | "))
    path, text = _page(page, asked)
    pairs = [(name, new) for name, _, new in (column.partition(" as ") for column in columns)]
    for head, *body in tables(text):
        names = [_plain(name) for name in head]
        places = [_place(name, names) for name, _ in pairs] or list(range(len(head)))
        if None not in places:
            kept = [_row(row, body, asked) for row in rows] if rows else body
            first = [new for _, new in pairs] or [""] * len(head)
            top = [new or head[place] for new, place in zip(first, places, strict=True)]
            return path, [
                [_printed(c) for c in top],
                *([_printed(r[k]) for k in places] for r in kept),
            ]
    raise UnquotableError(f"{asked}: no table has these columns")


def _place(name: str, names: list[str]) -> int | None:
    return next((k for k, each in enumerate(names) if fnmatchcase(each, name)), None)


def _row(name: str, body: list[list[str]], asked: str) -> list[str]:
    found = [cells for cells in body if fnmatchcase(_plain(cells[0]), name)]
    if not found:
        raise UnquotableError(f"{asked}: no row {name!r}")
    return found[0]


def _page(page: str, asked: str) -> tuple[str, str]:
    """Path and text of a page, or of its section, as a quotation names it."""
    name, _, heading = (part.strip() for part in page.partition(" # "))
    path = f"{name}.md" if name.startswith("docs/") else f"{RESULTS}/{name}.md"
    if not (ROOT / path).is_file():
        raise UnquotableError(f"{asked}: there is no {path}")
    return path, section((ROOT / path).read_text("utf-8"), heading, asked)


def section(text: str, heading: str, asked: str) -> str:
    """The part of a page under a heading, as far as the next of its level or above.

    Args:
        text: The page.
        heading: Its words; empty for all of the page.
        asked: What asks, for errors.

    Returns:
        The part.

    Raises:
        UnquotableError: No such heading, or several.
    """
    if not heading:
        return text
    found = list(re.finditer(rf"(?m)^(#+) {re.escape(heading)}$", text))
    if len(found) != 1:
        raise UnquotableError(f"{asked}: {len(found)} headings {heading!r}")
    level = len(found[0][1])
    rest = text[found[0].end() :]
    end = re.search(rf"(?m)^#{{1,{level}}} ", rest)
    return rest[: end.start()] if end else rest


def tables(text: str) -> list[list[list[str]]]:
    """Tables of a page, each as rows of cells, the head first.

    Args:
        text: Of a page.

    Returns:
        Table by table.
    """
    found: list[list[list[str]]] = []
    for block in re.findall(r"(?m)(?:^\|.*\|[ ]*\n?)+", text):
        rows = [
            [cell.strip() for cell in re.split(r"(?<!\\)\|", line.strip()[1:-1])]
            for line in block.strip().splitlines()
        ]
        if len(rows) > 1 and all(re.fullmatch(r":?-+:?", cell) for cell in rows[1]):
            found.append([rows[0], *rows[2:]])
    return found


def _plain(cell: str) -> str:
    return re.sub(r"[*`]", "", cell).strip()


def _cell(text: str, row: str, column: str, asked: str) -> str:
    first, _, second = (part.strip() for part in row.partition(" & "))
    found = [
        cells[names.index(column)]
        for head, *body in tables(text)
        if column in (names := [_plain(name) for name in head])
        for cells in body
        if _plain(cells[0]) == first and (not second or _plain(cells[1]) == second)
    ]
    if len(found) != 1:
        raise UnquotableError(f"{asked}: {len(found)} cells of {row!r} under {column!r}")
    return _plain(found[0])


def _matched(text: str, pattern: str, asked: str) -> str:
    found = re.findall(pattern, text)
    if len(found) != 1 or not isinstance(found[0], str):
        raise UnquotableError(f"{asked}: {len(found)} matches of {pattern!r}, one group wanted")
    return found[0]


def _printed(text: str) -> str:
    """A minus as a minus, per cent as these documents write it."""
    return re.sub(r"(?<![\w-])-(?=\d)", "\u2212", text).replace(" %", "%").replace("+-", "\u00b1")
