"""Airplane files by path or by their name in the catalogue; what they hold is not looked at.

Nothing slow is loaded here, so that a name that means nothing is refused at once.
"""

from __future__ import annotations

from pathlib import Path

import neutralpoint
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import system_refusal

LARGEST = 1_000_000  # bytes
CATALOGUE = Path(neutralpoint.__file__).parent / "airplane" / "catalogue"


def catalogue_names() -> tuple[str, ...]:
    """Names of the airplanes that come with the package."""
    return tuple(sorted(path.stem for path in CATALOGUE.glob("*.toml")))


def airplane_text(file: str | Path) -> tuple[str, str]:
    """The text of an airplane file, or of one of the catalogue by its name.

    Args:
        file: Path, or a name of `catalogue_names`.

    Returns:
        The text, and what errors call its place.

    Raises:
        NeutralPointError: `file-missing`, `file-too-large`, `file-format`, or what the system
            refuses.
    """
    if str(file) in catalogue_names():
        return (CATALOGUE / f"{file}.toml").read_text(encoding="utf-8"), f"catalogue {file}"
    return _text(Path(file)), str(file)


def _text(path: Path) -> str:
    try:
        size = path.stat().st_size
        if size <= LARGEST:
            return path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise NeutralPointError(
            "file-missing",
            f"There is no airplane file {path}.",
            where=str(path),
            hint=f"Give a path, or a catalogue name: {', '.join(catalogue_names())}.",
        ) from error
    except OSError as error:
        raise system_refusal(error, path) from error
    except UnicodeDecodeError as error:
        raise NeutralPointError(
            "file-format",
            f"{path} cannot be read as text: {error}.",
            where=str(path),
            hint="An airplane file is TOML in UTF-8.",
        ) from error
    raise NeutralPointError(
        "file-too-large",
        f"{path} has {size} bytes.",
        where=str(path),
        hint=f"An airplane file has a few thousand; {LARGEST} are read.",
    )
