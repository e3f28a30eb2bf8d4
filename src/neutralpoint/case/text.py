"""The text of a case file, and a first look at it that loads nothing slow."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from neutralpoint.airplane_file.catalogue import catalogue_names
from neutralpoint.case.files import NAME, place_of
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import read_own, told_of_system

if TYPE_CHECKING:
    from neutralpoint.case.document import CaseDocument

LARGEST = 1024 * 1024  # bytes of a case file


def first_look(folder: Path) -> None:
    """Refuse a case that is missing or at fault before what a study needs is loaded.

    Asked are the case file itself, whether every file that it names is there, and what the
    airplane file holds; what the others hold is asked when they are read.

    Args:
        folder: Folder that holds `case.toml`.

    Raises:
        NeutralPointError: As `case_text`, `parse_case`, `place_of` and `described_airplane`.
    """
    text = case_text(folder)[0]
    from neutralpoint.case.parsing import parse_case  # loads units: not before there is a text

    document = parse_case(text)
    for key, name in _named(document):
        place_of(folder, name, f"{NAME}: {key}.file")
    from neutralpoint.case.described import described_airplane

    described_airplane(folder, document.airplane, f"{NAME}: airplane.file")


def _named(document: CaseDocument) -> Iterator[tuple[str, str]]:
    """Key and name of each file that a case names, in the order in which they are read."""
    for kind in ("tracks", "weather"):
        for number, entry in enumerate(getattr(document, kind), 1):
            if name := getattr(entry, "file", None):
                yield f"{kind}[{number}]", name
    airplane = document.airplane.file
    if airplane is not None and airplane not in catalogue_names():
        yield "airplane", airplane
    for number, entry in enumerate(document.terrain, 1):
        yield f"terrain[{number}]", entry.file


def case_text(folder: Path) -> tuple[str, str, int]:
    """The case file of a folder.

    Args:
        folder: Folder that holds `case.toml`.

    Returns:
        Its text, the SHA-256 of its bytes, and their count.

    Raises:
        NeutralPointError: `case-missing`, `file-too-large`, `case-syntax` or `no-access`.
    """
    path = folder / NAME
    with told_of_system(folder):
        there = path.is_file()
    if not there:
        raise NeutralPointError(
            "case-missing",
            f"There is no {NAME} in {folder}.",
            where=str(folder),
            hint="`neutralpoint new DIR` writes a case to start from.",
        )
    if path.stat().st_size > LARGEST:
        raise NeutralPointError(
            "file-too-large",
            f"The case file has {path.stat().st_size / 1e6:.1f} MB.",
            where=str(path),
            hint="A case file names data files; it does not hold the data.",
        )
    data = read_own(path)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise NeutralPointError(
            "case-syntax",
            f"The case file is not UTF-8 at byte {error.start}.",
            where=str(path),
            hint="Save it as UTF-8.",
        ) from error
    return text, hashlib.sha256(data).hexdigest(), len(data)
