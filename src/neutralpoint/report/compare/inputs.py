"""What differs between the inputs of two studies."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from neutralpoint.findings import Findings
from neutralpoint.report.compare.side import Side

NONE = "\u2013"
LONGEST = 160  # letters of a value that are shown
# What is printed with results and moves none of them.
WORDS = frozenset({"title", "question", "place", "invented", "cut_off", "schema"})
# Lists of the case by the key that tells their entries apart.
NAMED = {"tracks": "file", "weather": "file", "evidence": "kind", "facts": "kind"}


@dataclass(frozen=True)
class DifferingInput:
    """One input that is not the same.

    Attributes:
        kind: `case`, `file`, `assumption` or `program`.
        name: Key of the case, role of the file, or name of the assumption.
        before: Its value in the first study; a dash where it has none.
        after: The same of the second.
        words_only: Whether it is printed alone and moves no number.
    """

    kind: str
    name: str
    before: str
    after: str
    words_only: bool = False


def differing(before: Side, after: Side) -> list[DifferingInput]:
    """The inputs of two studies that differ.

    Args:
        before: The first study.
        after: The second.

    Returns:
        Keys of the case first, then files, assumptions and the program itself.
    """
    return [
        *_of_case(before.case, after.case),
        *_of_files(before.findings, after.findings),
        *_of_assumptions(before.findings, after.findings),
        *_of_program(before.findings, after.findings),
    ]


def _of_case(
    before: Mapping[str, Any] | None, after: Mapping[str, Any] | None
) -> list[DifferingInput]:
    if before is None or after is None:
        return []
    first, second = dict(_leaves(before)), dict(_leaves(after))
    return [
        _input("case", key, first.get(key), second.get(key), words_only=key in WORDS)
        for key in dict.fromkeys((*first, *second))
        if first.get(key) != second.get(key)
    ]


def _leaves(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """Every value of the case by its path; entries of a list by name where they have one."""
    if isinstance(value, Mapping):
        for key, one in value.items():
            yield from _leaves(one, f"{path}.{key}" if path else key)
    elif isinstance(value, list) and any(isinstance(one, Mapping) for one in value):
        for place, one in enumerate(value):
            yield from _leaves(one, f"{path}[{_named(path, one) or place + 1}]")
    else:
        yield path, str(value)


def _named(path: str, entry: Any) -> str:
    named = entry.get(NAMED.get(path, ""), "") if isinstance(entry, Mapping) else ""
    return str(named)


def _of_files(before: Findings, after: Findings) -> list[DifferingInput]:
    """Files whose content differs; the case file is compared key by key."""
    first, second = (
        {(one.role, one.path): one.sha256 for one in findings.sources if one.role != "case"}
        for findings in (before, after)
    )
    return [
        _input("file", " ".join(key), _content(first.get(key)), _content(second.get(key)))
        for key in dict.fromkeys((*first, *second))
        if first.get(key) != second.get(key)
    ]


def _content(digest: str | None) -> str | None:
    return None if digest is None else f"content {digest[:8]}"


def _of_assumptions(before: Findings, after: Findings) -> list[DifferingInput]:
    first, second = (
        {one.name: f"{one.value} ({one.source})" for one in findings.assumptions}
        for findings in (before, after)
    )
    return [
        _input("assumption", name, first.get(name), second.get(name))
        for name in dict.fromkeys((*first, *second))
        if first.get(name) != second.get(name)
    ]


def _of_program(before: Findings, after: Findings) -> list[DifferingInput]:
    pairs = {
        "version": (before.program_version, after.program_version),
        "seed of the draws": (str(before.seed), str(after.seed)),
    }
    return [_input("program", name, *pair) for name, pair in pairs.items() if pair[0] != pair[1]]


def _input(
    kind: str, name: str, before: str | None, after: str | None, *, words_only: bool = False
) -> DifferingInput:
    shown = [NONE if one is None else one[:LONGEST] for one in (before, after)]
    return DifferingInput(kind, name, shown[0], shown[1], words_only)
