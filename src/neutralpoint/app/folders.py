"""Which cases are served, and which file of a case a name may mean; nothing beyond the folder."""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path

import tomlkit

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import write_new

# As `case.load.NAME`, which is not asked: that would load all that a study needs.
CASE_FILE = "case.toml"
RESULTS, REMOVED, HISTORY, JOBS = "results", ".removed", ".history", ".jobs.json"
# A plain name that every file system takes; no separators, no control or reserved characters.
PLAIN = re.compile(r"[^\x00-\x1f\x7f/\\:*?\"<>|]{1,120}")
# Edited by calls of their own.
KEPT_NAMES = {CASE_FILE, "claims.toml", "script.txt", "figures.toml", "film.toml"}
MOST_CASES = 500
EXAMPLE = "example-quorleigh"  # what the folder of the shipped example is called


def case_folders(root: Path) -> dict[str, Path]:
    """The cases below a folder, or the folder itself where it is a case.

    Args:
        root: As given on the command line.

    Returns:
        Folder by name, in order; none for a folder that is still empty.

    Raises:
        NeutralPointError: `case-missing` where there is no such folder.
    """
    base = root.resolve()
    if is_case(base):
        return {base.name: base}
    if not base.is_dir():
        raise NeutralPointError(
            "case-missing",
            f"There is no folder {root}.",
            where=str(root),
            hint="Name a case, or a folder that cases are to stand in; it may be empty.",
        )
    found = {}
    for folder in sorted(base.iterdir()):
        hidden = folder.name.startswith(".") or folder.is_symlink()
        if not hidden and is_case(folder) and len(found) < MOST_CASES:
            found[folder.name] = folder
    return found


def begin_case(root: Path, name: str, title: str, question: str) -> Path:
    """A new case folder with a case file that holds what is known, be it nothing.

    Args:
        root: The folder of cases.
        name: Of the new folder.
        title: Of the case; may be empty.
        question: May be empty.

    Returns:
        The folder.

    Raises:
        NeutralPointError: `request-invalid` for the name, `case-exists` for one that is taken or
            cannot be made, `disk-full`.
    """
    document = tomlkit.document()
    document.add(tomlkit.comment("Begun in the workbench; what is not known yet may come later."))
    document["schema"] = 1
    for key, text in (("title", title.strip()), ("question", question.strip())):
        if text:
            document[key] = text
    folder = root / plain_name(name)
    try:
        folder.mkdir()
    except OSError as broken:
        raise NeutralPointError(
            "case-exists",
            f"The folder {name!r} cannot be made: {broken.strerror}.",
            where="name",
            hint="Give the folder a name that is not taken.",
        ) from broken
    try:
        write_new(folder / CASE_FILE, tomlkit.dumps(document).encode())
    except NeutralPointError:
        folder.rmdir()
        raise
    return folder


def begin_example(root: Path) -> Path:
    """The invented example of the package as a new case; a name that is taken gets a number.

    Args:
        root: The folder of cases.

    Returns:
        The folder.
    """
    names = (EXAMPLE if number == 1 else f"{EXAMPLE}-{number}" for number in range(1, MOST_CASES))
    name = next(name for name in names if not (root / name).exists())
    source = resources.files("neutralpoint.app") / "example"
    folder = begin_case(root, name, "", "")
    for entry in source.iterdir():
        (folder / entry.name).write_bytes(entry.read_bytes())
    return folder


def is_case(folder: Path) -> bool:
    """Whether a folder holds a case file of its own."""
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
    for name in (*KEPT_NAMES, RESULTS, REMOVED, HISTORY, JOBS):
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


def gone(folder: Path) -> NeutralPointError:
    """A `served-gone`: what was served when the server began is not there any more."""
    return NeutralPointError(
        "served-gone",
        f"The folder {folder} holds no case any more: it was moved or removed while it is served.",
        where=str(folder),
        hint="Put it back, or end the server and start it with the folder by its new name.",
    )
