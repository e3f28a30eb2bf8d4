"""Printing: results for people or machines, errors in four fields, progress on standard error."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Protocol

from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment
from rich.text import Text

from neutralpoint.cli.terminal import takes_all_letters
from neutralpoint.errors import NeutralPointError
from neutralpoint.vocabulary.cautions import IN_BRIEF

WIDTH = 100
COMMANDS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")  # to a terminal


def console() -> Console:
    """Where results for people go; tables keep their width where there is no terminal."""
    plain = _console()
    return plain if plain.is_terminal else _console(width=WIDTH)


def _console(*, stderr: bool = False, width: int | None = None) -> Console:
    """A console for which a text is a text: a name with brackets in it is no markup."""
    return PlainConsole(stderr=stderr, width=width, highlight=False, markup=False, emoji=False)


class PlainConsole(Console):
    """A console for which a text commands nothing: what a file says is shown, not obeyed."""

    def render(
        self, renderable: RenderableType, options: ConsoleOptions | None = None
    ) -> Iterator[Segment]:
        """Pieces of what is printed, with a question mark for each control character."""
        for piece in super().render(renderable, options):
            shown = COMMANDS.sub("?", piece.text)
            yield piece if piece.control or shown == piece.text else Segment(shown, piece.style)


def show_json(document: dict[str, Any] | list[dict[str, Any]]) -> None:
    """Print the one JSON document of a command."""
    sys.stdout.write(f"{_json(document, indent=1)}\n")


def show_result(document: dict[str, Any], *, as_line: bool = False) -> None:
    """Print the one JSON document of a command that says something of a flight.

    Args:
        document: What is said; a caution of its own stands before the one of all results.
        as_line: Whether to print it on one line, after lines of progress.
    """
    own = document.get("caution", "")
    whole = {**document, "caution": f"{own} {IN_BRIEF}".strip()}
    (show_line if as_line else show_json)(whole)


def show_caution(out: Console) -> None:
    """Print the caution that closes every result for people."""
    out.print(IN_BRIEF)


def show_line(document: dict[str, Any]) -> None:
    """Print one JSON document on a line of its own, at once."""
    sys.stdout.write(f"{_json(document)}\n")
    sys.stdout.flush()


def _json(document: dict[str, Any] | list[dict[str, Any]], indent: int | None = None) -> str:
    """JSON in the letters that standard output takes; control characters as escapes."""
    made = json.dumps(document, indent=indent, ensure_ascii=not takes_all_letters(sys.stdout))
    return COMMANDS.sub(lambda found: f"\\u{ord(found[0]):04x}", made)


def show_error(error: NeutralPointError, *, as_json: bool, as_line: bool = False) -> None:
    """Print an error in its four fields.

    Args:
        error: What failed.
        as_json: Whether to print one JSON document to standard output instead.
        as_line: Whether to print that document on one line.
    """
    if as_line:
        show_line({"error": error.as_dict()})
        return
    if as_json:
        show_json({"error": error.as_dict()})
        return
    out = _console(stderr=True)
    out.print(
        Text.assemble(("Error ", "bold red"), (error.code, "bold"), f": {error.message}"),
        soft_wrap=True,
    )
    out.print(Text.assemble(("  at   ", "dim"), error.where), soft_wrap=True)
    out.print(Text.assemble(("  hint ", "dim"), error.hint), soft_wrap=True)


@dataclass(frozen=True)
class PrintedLine:
    """One step of a command that is no study.

    Attributes:
        stage: Name of the command.
        text: What is being done.
        fraction: Share of the command that is done.
    """

    stage: str
    text: str
    fraction: float = 0.0

    def __str__(self) -> str:
        """What is being done."""
        return self.text


class Tellable(Protocol):
    """A `PrintedLine` or a `study.Step`, which is not imported for the sake of a type."""

    @property
    def stage(self) -> str:
        """Name of the stage or command."""
        ...

    @property
    def text(self) -> str:
        """What is being done."""
        ...

    @property
    def fraction(self) -> float:
        """Share that is done."""
        ...


@contextmanager
def progress(*, as_lines: bool = False) -> Iterator[Callable[[Tellable | str], None]]:
    """Tell what is being done.

    Args:
        as_lines: Whether each `study.Step` or `PrintedLine` is printed to standard output as a
            line of JSON.

    Yields:
        Takes a text, a `PrintedLine` or a `study.Step`. Otherwise it goes to standard error, in
        lines where that is no terminal.
    """
    if as_lines:

        def tell_line(step: Tellable | str) -> None:
            line = PrintedLine("", step) if isinstance(step, str) else step
            show_line({"stage": line.stage, "text": line.text, "fraction": round(line.fraction, 3)})

        yield tell_line
        return
    out = _console(stderr=True)
    if not out.is_terminal:
        said = [""]

        def tell(step: Tellable | str) -> None:
            if str(step) != said[-1]:  # a long step tells its progress by repeating itself
                said[-1] = str(step)
                out.print(f"{step} ...")

        yield tell
        return
    with out.status("Starting") as status:
        yield lambda text: status.update(Text(f"{text} ..."))
