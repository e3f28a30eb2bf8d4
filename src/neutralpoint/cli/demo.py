"""`demo`: the case that the package ships with, put into a folder, studied and shown."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Annotated

import typer

from neutralpoint.cli.starting import unwritable
from neutralpoint.cli.studying import studied
from neutralpoint.errors import NeutralPointError

NAME = "quorleigh"
FILES = ("case.toml", "metar.txt", "sounding.txt", "track.csv")
FOLDER = Path("neutralpoint-demo")


def demo(
    folder: Annotated[Path, typer.Argument(metavar="[DIR]", help="Folder to make.")] = FOLDER,
    show: Annotated[
        bool, typer.Option("--open/--no-open", help="Open the report in a browser.")
    ] = True,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON document.")] = False,
) -> None:
    """Study the invented case that is shipped, in a folder of its own; takes some minutes."""
    place_demo(folder)
    page = studied(folder, as_json=as_json)
    if show and not as_json:
        import webbrowser

        webbrowser.open(page.resolve().as_uri())


def shipped() -> Sequence[Traversable]:
    """The files of the case: of the installed package, or of the checkout it runs from."""
    inside = resources.files("neutralpoint") / "example" / NAME
    if not inside.is_dir():
        inside = Path(__file__).resolve().parents[3] / "examples" / NAME
    return [inside / name for name in FILES]


def place_demo(folder: Path) -> None:
    """Write the shipped case into a folder; one that holds it already is taken as it is.

    Args:
        folder: Made where it is not there.

    Raises:
        NeutralPointError: `case-exists` where one of the files is there and is another;
            `file-missing` where the package came without the case.
    """
    try:
        wanted = {entry.name: entry.read_bytes() for entry in shipped()}
    except OSError as missing:
        raise NeutralPointError(
            "file-missing",
            f"This installation lacks its case {NAME!r}.",
            where="neutralpoint demo",
            hint="Install a wheel of the program, or run it from a whole checkout.",
        ) from missing
    try:
        other = [n for n, data in wanted.items() if _differs(folder / n, data)]
        if not other:
            folder.mkdir(parents=True, exist_ok=True)
            for name, data in wanted.items():
                (folder / name).write_bytes(data)
    except OSError as broken:
        raise unwritable(folder, broken) from broken
    if other:
        raise NeutralPointError(
            "case-exists",
            f"{folder} already holds another {', '.join(other)}.",
            where=str(folder),
            hint="Name a new folder.",
        )


def _differs(path: Path, data: bytes) -> bool:
    return path.exists() and path.read_bytes() != data
