"""The text of a case file, and a first look at it that loads nothing slow."""

from __future__ import annotations

import hashlib
from pathlib import Path

from neutralpoint.case.parsing import NAME, parse_case
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import read_own, told_of_system

LARGEST = 1024 * 1024  # bytes of a case file


def first_look(folder: Path) -> None:
    """Refuse a case file that is missing or at fault before what a study needs is loaded.

    Args:
        folder: Folder that holds `case.toml`.

    Raises:
        NeutralPointError: As `case_text` and `parse_case`.
    """
    parse_case(case_text(folder)[0])


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
