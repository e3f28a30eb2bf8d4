"""What may be run as a job, with which options, and the command line that runs it."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from neutralpoint.errors import NeutralPointError
from neutralpoint.report.words.labels import STAGES

Reader = Callable[[Any], list[str]]


def _flag(option: str, *, when: bool = True) -> Reader:
    def read(value: Any) -> list[str]:
        if not isinstance(value, bool):
            raise ValueError("must be true or false")
        return [option] if value is when else []

    return read


def _number(option: str, low: float, high: float) -> Reader:
    def read(value: Any) -> list[str]:
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or not low <= value <= high
        ):
            raise ValueError(f"must be a number from {low:g} to {high:g}")
        return [option, f"{value:g}"]

    return read


def _cause(option: str) -> Reader:
    def read(value: Any) -> list[str]:
        if not isinstance(value, str) or not value.replace("-", "").isalnum() or value[:1] == "-":
            raise ValueError("must be the name of a cause")
        return [option, value]

    return read


@dataclass(frozen=True)
class JobKind:
    """A command that may run as a job.

    Attributes:
        title: As the page says it.
        command: Of the command line, before the case folder.
        after: What follows the case folder.
        options: Reader of each option that may be given.
        always: Options with the values that they have unless they are given.
        result: File below the results folder that it makes for the analyst; empty for none.
        module: Python module that is run.
    """

    title: str
    command: tuple[str, ...]
    after: tuple[str, ...] = ()
    options: dict[str, Reader] = field(default_factory=dict)
    always: dict[str, Any] = field(default_factory=dict)
    result: str = ""
    module: str = "neutralpoint"


LINES = ("--progress-json",)
FILM: dict[str, Reader] = {
    "until_end": _flag("--until-end"),
    "last": _number("--last", 1.0, 86400.0),
    "speed": _number("--speed", 0.05, 100.0),
}
KINDS: dict[str, JobKind] = {
    "study": JobKind("The whole study", ("study",), LINES, {"full": _flag("--full")}),
    "motion": JobKind(STAGES["motion"], ("study",), ("--until", "motion", *LINES)),
    "moments": JobKind(STAGES["moments"], ("study",), ("--until", "moments", *LINES)),
    "limits": JobKind(STAGES["limits"], ("study",), ("--until", "limits", *LINES)),
    "weigh": JobKind(
        STAGES["weighing"],
        ("study",),
        ("--until", "weighing", *LINES),
    ),
    "response": JobKind(
        STAGES["response"],
        ("response",),
        options={"cause": _cause("--cause"), "height_ft": _number("--height-ft", 50.0, 60000.0)},
    ),
    "report": JobKind("The report", ("report",), LINES, result="report.html"),
    "pdf": JobKind("The report as PDF", ("report",), ("--pdf", *LINES), result="report.pdf"),
    "film": JobKind("The film", ("film",), LINES, options=FILM, result="film.mp4"),
    "film-tall": JobKind(
        "The film for a phone", ("film",), ("--shape", "tall", *LINES), FILM, result="film-tall.mp4"
    ),
    "clip": JobKind(
        "The clip of the onset", ("film",), ("--clip", "gif", *LINES), result="film-clip.gif"
    ),
    "zip": JobKind(
        "The case as one archive", (), module="neutralpoint.app.archive", result="case.zip"
    ),
}


def command_of(kind: str, folder: Path, options: dict[str, Any]) -> list[str]:
    """The command line of a job; every part of it is checked or our own.

    Args:
        kind: Key of `KINDS`.
        folder: The case folder, absolute.
        options: By name.

    Returns:
        Program and arguments.

    Raises:
        NeutralPointError: `argument-invalid` for an unknown kind or option, or a value that the
            option does not take.
    """
    if kind not in KINDS:
        raise _refused(f"There is no job {kind[:40]!r}.", "kind", ", ".join(KINDS))
    known = KINDS[kind]
    arguments: list[str] = []
    for name, value in (known.always | options).items():
        if name not in known.options:
            allowed = ", ".join(known.options) or "none"
            raise _refused(f"The job {kind} has no option {name[:40]!r}.", "options", allowed)
        try:
            arguments += known.options[name](value)
        except ValueError as wrong:
            raise _refused(f"The option {name} {wrong}.", f"options.{name}", name) from wrong
    return [
        *(sys.executable, "-m", known.module, *known.command),
        *(str(folder), *known.after, *arguments),
    ]


def _refused(message: str, where: str, allowed: str) -> NeutralPointError:
    return NeutralPointError("argument-invalid", message, where=where, hint=f"Allowed: {allowed}.")
