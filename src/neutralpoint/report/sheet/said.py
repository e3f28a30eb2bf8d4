"""Text whose numbers are bound: each names the finding that it is printed from."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pydantic import Field

from neutralpoint.findings import Findings
from neutralpoint.findings.part import Part

MARK = "{}"


class Piece(Part):
    """Words, or a value that is printed from a finding."""

    text: str
    key: str = Field(default="", description="Of the finding, such as `weighing.rows.0.prior`.")


class Said(Part):
    """A phrase or sentence."""

    pieces: tuple[Piece, ...] = ()

    @property
    def text(self) -> str:
        """All of it as plain text."""
        return "".join(piece.text for piece in self.pieces)

    def __add__(self, other: Said) -> Said:
        """One after the other."""
        return Said(pieces=(*self.pieces, *other.pieces))


def say(pattern: str, *parts: Piece | Said | str) -> Said:
    """Words with bound values among them.

    Args:
        pattern: Words, with `{}` for each part.
        parts: Values, phrases or further words.

    Returns:
        The phrase.
    """
    words = pattern.split(MARK)
    if len(words) != len(parts) + 1:
        raise ValueError(pattern)
    pieces = [Piece(text=words[0])]
    for part, after in zip(parts, words[1:], strict=True):
        pieces += _pieces(part)
        pieces.append(Piece(text=after))
    return Said(pieces=tuple(piece for piece in pieces if piece.text))


def _pieces(part: Piece | Said | str) -> tuple[Piece, ...]:
    if isinstance(part, Said):
        return part.pieces
    return (Piece(text=part),) if isinstance(part, str) else (part,)


def joined(parts: list[Said], between: str = ", ", last: str = "") -> Said:
    """Phrases in a row.

    Args:
        parts: The phrases.
        between: What stands between two.
        last: What stands before the last one instead; empty for the same.

    Returns:
        One phrase; empty without parts.
    """
    whole = Said()
    for number, part in enumerate(parts):
        end = last and number == len(parts) - 1
        mark = "" if number == 0 else last if end else between
        whole = whole + say("{}{}", mark, part)
    return whole


class Bound:
    """Prints findings by their keys.

    Args:
        findings: The document.
    """

    def __init__(self, findings: Findings) -> None:
        self.findings = findings

    def value(self, key: str) -> Any:
        """The finding that a key names.

        Args:
            key: Attributes, places in lists and keys of tables, with points between.

        Returns:
            Its value.
        """
        found: Any = self.findings
        for step in key.split("."):
            if isinstance(found, list | tuple):
                found = found[int(step)]
            else:
                found = found[step] if isinstance(found, dict) else getattr(found, step)
        return found

    def __call__(self, key: str, printed: Callable[[Any], str] = str) -> Piece:
        """A finding, printed.

        Args:
            key: Which.
            printed: From its value to text.

        Returns:
            The piece.
        """
        return Piece(text=printed(self.value(key)), key=key)

    def count(self, key: str, of: list[Any]) -> Piece:
        """How many of the entries of a finding are meant.

        Args:
            key: The list that they are from.
            of: Those that are meant.

        Returns:
            The piece.
        """
        return Piece(text=str(len(of)), key=key)
