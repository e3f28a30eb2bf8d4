"""Standard output and error as they are: of few letters, full, or closed by whoever read them."""

from __future__ import annotations

import codecs
import io
import os
import sys
import unicodedata
from contextlib import suppress
from typing import Any, TextIO

from neutralpoint.errors import NeutralPointError

OUTPUT_LOST = "output-lost"
PLAINER = "neutralpoint-plainer"  # how a letter is written that a terminal does not have
# What is printed that has no letters like it.
LIKE = {
    "\u00b0": " deg", "\u00b1": "+-", "\u00b2": "2", "\u2013": "-", "\u2014": "-",
    "\u2018": "'", "\u2019": "'", "\u201c": '"', "\u201d": '"', "\u2026": "...", "\u2192": "->",
    "\u2212": "-", "\u2264": "<=", "\u2265": ">=", "\u00d7": "x", "\u00b7": ".", "\u03c3": "sigma",
}  # fmt: skip


def watch_output() -> None:
    """Let standard output and error write every text, in plainer letters where they must."""
    codecs.register_error(PLAINER, _plainer)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            with suppress(OSError, ValueError):
                stream.reconfigure(errors=PLAINER)
    sys.stdout = Output(sys.stdout)


def takes_all_letters(stream: TextIO) -> bool:
    """Whether a stream writes every letter there is."""
    return (getattr(stream, "encoding", None) or "utf-8").lower().replace("-", "") == "utf8"


class Output:
    """A stream that says in four fields when it takes no more.

    Args:
        stream: Standard output.
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def __getattr__(self, name: str) -> Any:
        """Everything else is the stream's own."""
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        """Write a text.

        Raises:
            NeutralPointError: `output-lost`.
        """
        if text == "":  # so a library asks whether letters are taken, and a full device refuses
            return 0
        try:
            return self._stream.write(text)
        except OSError as broken:
            raise output_lost(broken) from broken

    def flush(self) -> None:
        """Write what it holds.

        Raises:
            NeutralPointError: `output-lost`.
        """
        try:
            self._stream.flush()
        except OSError as broken:
            raise output_lost(broken) from broken


def output_lost(broken: OSError) -> NeutralPointError:
    """The error where standard output takes no more; it takes nothing from then on.

    Args:
        broken: Of writing to it.

    Returns:
        The error.
    """
    with suppress(OSError, ValueError):  # what it holds would be written, and fail, at the end
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
    said = (broken.strerror or "it is closed").lower()
    return NeutralPointError(
        OUTPUT_LOST,
        f"Not everything could be printed: {said}.",
        where="standard output",
        hint="What was saved stands. Print to a file with room, or let the reader read to the end.",
    )


def _plainer(fault: UnicodeError) -> tuple[str, int]:
    """Letters that can be written in place of those that cannot."""
    if not isinstance(fault, UnicodeEncodeError):
        raise fault
    plain = "".join(_like(letter) for letter in fault.object[fault.start : fault.end])
    return plain, fault.end


def _like(letter: str) -> str:
    if letter in LIKE:
        return LIKE[letter]
    bare = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode()
    return bare or "?"
