"""Numbers that a page quotes from the results of benchmarks, so that none is typed twice.

A quotation is `PAGE | ROW | COLUMN`, which is a cell of a table, or `PAGE ~ PATTERN`, the one group of
a regular expression. PAGE is a page of `benchmarks/results`, or of `docs` where it begins with
`docs/`; `PAGE # HEADING` narrows it to a section. ROW is the first cell of the row, or `FIRST &
SECOND`. `PAGE | ROW | COLUMN ~ PATTERN` takes part of a cell.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
RESULTS = "benchmarks/results"
# As a page writes it: the role of the markup, with its text.
ROLE = re.compile(r"\{number\}`([^`]+)`")


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
    place, _, pattern = quotation.partition(" ~ ")
    page, *cell = (part.strip() for part in place.split(" | "))
    name, _, heading = (part.strip() for part in page.partition(" # "))
    path = f"{name}.md" if name.startswith("docs/") else f"{RESULTS}/{name}.md"
    if not (ROOT / path).is_file():
        raise UnquotableError(f"{quotation}: there is no {path}")
    text = section((ROOT / path).read_text("utf-8"), heading, quotation)
    if cell:
        if len(cell) != 2:
            raise UnquotableError(f"{quotation}: give a row and a column")
        text = _cell(text, *cell, quotation)
    if pattern:
        text = _matched(text, pattern.strip(), quotation)
    elif not cell:
        raise UnquotableError(f"{quotation}: give a row and a column, or a pattern")
    return Quotation(_printed(text), path, ", ".join(cell) or "in its text")


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
