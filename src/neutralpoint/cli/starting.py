"""A case to start from."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from neutralpoint.errors import NeutralPointError

STARTER = resources.files("neutralpoint.cli") / "starter"


def start_case(folder: Path) -> list[Path]:
    """Write the starter files into a folder; nothing is overwritten.

    Args:
        folder: Made where it is not there.

    Returns:
        The files written.

    Raises:
        NeutralPointError: `case-exists` where one of the files is there already.
    """
    sources = sorted(STARTER.iterdir(), key=lambda entry: entry.name)
    there = [entry.name for entry in sources if (folder / entry.name).exists()]
    if there or (folder.exists() and not folder.is_dir()):
        raise NeutralPointError(
            "case-exists",
            f"{folder} already holds {', '.join(there) or 'a file of that name'}.",
            where=str(folder),
            hint="Name a new folder.",
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for entry in sources:
            with (folder / entry.name).open("xb") as out:
                out.write(entry.read_bytes())
    except OSError as broken:
        raise unwritable(folder, broken) from broken
    return [folder / entry.name for entry in sources]


def unwritable(folder: Path, broken: OSError) -> NeutralPointError:
    """What is told where a folder for a case cannot be made or written.

    Args:
        folder: That was asked for.
        broken: What the system said.

    Returns:
        The error, to be raised.
    """
    return NeutralPointError(
        "case-exists",
        f"The folder cannot be written: {broken.strerror}.",
        where=str(folder),
        hint="Name a folder that can be made.",
    )
