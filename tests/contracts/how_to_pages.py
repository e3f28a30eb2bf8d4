"""What the how-to pages tell a reader to type: commands, programs and pieces of files."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

PAGES = Path(__file__).parents[2] / "docs" / "how-to"
FENCE = re.compile(r"(?ms)^( *)```(\w*)\n(.*?)^ *```")
INDENTED = re.compile(r"(?m)(?:^(?: {4}| {7}).+\n(?:[ ]*\n(?= {4}))?)+")
INLINE = re.compile(r"`(neutralpoint [^`]+)`")


@dataclass(frozen=True)
class Piece:
    """Something to type.

    Attributes:
        page: Name of its page, without the ending.
        kind: `command`, `python` or `toml`.
        text: As it stands there, without indents.
        number: Of its kind on the page, from 0.
    """

    page: str
    kind: str
    text: str
    number: int

    @property
    def words(self) -> list[str]:
        """Of a command, without the program and what is said beside it."""
        return shlex.split(self.text, comments=True)[1:]

    def __str__(self) -> str:
        """For the names of tests."""
        return f"{self.page}-{self.kind}-{self.number}"


def pieces() -> list[Piece]:
    """Everything to type, page by page."""
    found: list[Piece] = []
    for path in sorted(PAGES.glob("*.md")):
        counts: dict[str, int] = {}
        for kind, text in _of(path.read_text("utf-8")):
            found.append(Piece(path.stem, kind, text, counts.get(kind, 0)))
            counts[kind] = counts.get(kind, 0) + 1
    return found


def _of(text: str) -> Iterator[tuple[str, str]]:
    for fence in FENCE.finditer(text):
        yield from _block(fence[2], _flat(fence[3]))
    rest = FENCE.sub("", text)
    for block in INDENTED.finditer(rest):
        yield from _block("", _flat(block[0]))
    for command in INLINE.findall(rest):
        yield "command", command


def _block(language: str, text: str) -> Iterator[tuple[str, str]]:
    if language in ("python", "toml"):
        yield language, text
    elif text.startswith("neutralpoint "):
        for line in text.splitlines():
            if line.strip():
                yield "command", line
    elif re.match(r"\[+\w", text):
        yield "toml", text


def _flat(text: str) -> str:
    lines = text.splitlines()
    indent = min(len(line) - len(line.lstrip()) for line in lines if line.strip())
    return "\n".join(line[indent:] for line in lines).strip("\n") + "\n"
