"""Which cases are served, and which file of a case a name may mean; nothing beyond the folder."""

from __future__ import annotations

import re
from pathlib import Path

from neutralpoint.errors import NeutralPointError

# As `case.load.NAME`, which is not asked: that would load all that a study needs.
CASE_FILE = "case.toml"
RESULTS, REMOVED, HISTORY = "results", ".removed", ".history"
# A plain name that every file system takes; no separators, no control or reserved characters.
PLAIN = re.compile(r"[^\x00-\x1f\x7f/\\:*?\"<>|]{1,120}")
KEPT_NAMES = {CASE_FILE, "claims.toml"}  # edited by calls of their own
MOST_CASES = 500


def case_folders(root: Path) -> dict[str, Path]:
    """The cases below a folder, or the folder itself where it is a case.

    Args:
        root: As given on the command line.

    Returns:
        Folder by name, in order.

    Raises:
        NeutralPointError: `case-missing` without any.
    """
    base = root.resolve()
    if _is_case(base):
        return {base.name: base}
    found = {}
    if base.is_dir():
        for folder in sorted(base.iterdir()):
            hidden = folder.name.startswith(".") or folder.is_symlink()
            if not hidden and _is_case(folder) and len(found) < MOST_CASES:
                found[folder.name] = folder
    if not found:
        raise NeutralPointError(
            "case-missing",
            f"Neither {root} nor a folder in it holds a {CASE_FILE}.",
            where=str(root),
            hint="`neutralpoint new DIR` writes a case to start from.",
        )
    return found


def _is_case(folder: Path) -> bool:
    return (folder / CASE_FILE).is_file() and not (folder / CASE_FILE).is_symlink()


def plain_name(name: str, what: str = "name") -> str:
    """A name that can only mean a file in one folder.

    Args:
        name: As it came in.
        what: Argument, for the error.

    Returns:
        The same name.

    Raises:
        NeutralPointError: `request-invalid` for anything that is not a plain file name.
    """
    if PLAIN.fullmatch(name) is None or name.startswith(".") or name.endswith((".", " ")):
        raise NeutralPointError(
            "request-invalid",
            f"{name[:60]!r} is not a plain file name.",
            where=what,
            hint="Use up to 120 letters, digits, blanks and marks; no folders, no leading point.",
        )
    return name


def file_inside(folder: Path, name: str) -> Path:
    """An existing regular file of a folder.

    Args:
        folder: The folder.
        name: Plain name in it.

    Returns:
        Its path.

    Raises:
        NeutralPointError: `request-invalid` for no plain name, `not-found` where there is no such
            regular file; a link is none.
    """
    path = folder / plain_name(name)
    inside = not path.is_symlink() and path.is_file()
    if not inside or not path.resolve().is_relative_to(folder.resolve()):
        raise missing(f"There is no file {name!r} in {folder.name}.", name)
    return path


def refuse_links(case: Path) -> None:
    """A case may come from anywhere; what it keeps must be its own.

    Args:
        case: The case folder.

    Raises:
        NeutralPointError: `request-invalid` where a name that is read or written here is a link.
    """
    for name in (*KEPT_NAMES, RESULTS, REMOVED, HISTORY):
        if (case / name).is_symlink():
            raise NeutralPointError(
                "request-invalid",
                f"{name} of this case is a link, and links are not followed.",
                where=name,
                hint="Put the file or folder itself in its place.",
            )


def missing(message: str, where: str) -> NeutralPointError:
    """A `not-found`."""
    return NeutralPointError(
        "not-found", message, where=where, hint="Load the page again to see what is there."
    )
