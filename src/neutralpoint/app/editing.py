"""Changing a case: checked before anything is written, whole or not at all, and undoable."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from neutralpoint.app.contents import case_text, revision_of
from neutralpoint.app.folders import CASE_FILE, KEPT_NAMES, REMOVED, file_inside, plain_name
from neutralpoint.app.form import filled
from neutralpoint.app.history import Change, History, Move, read_text
from neutralpoint.app.replies import FieldErrors
from neutralpoint.case import parse_case, parse_draft
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import own_folder

CLAIMS_FILE = "claims.toml"
SCRIPT_FILE = "script.txt"  # the analyst's own text


def fill_form(folder: Path, revision: str, values: Mapping[str, Any]) -> str:
    """Write the values of a form.

    Args:
        folder: The case folder; its lock is held.
        revision: That the page has read.
        values: Text by path.

    Returns:
        The new revision.

    Raises:
        FieldErrors: Where a value is refused, here or by the schema; nothing is written.
        NeutralPointError: `revision-old`.
    """
    _same_revision(folder, revision)
    text, refused = filled(case_text(folder), values)
    # All that is wrong is said at once: what no field takes, and what the schema refuses.
    return save_case(folder, text, refused)


def replace_case(folder: Path, revision: str, text: str) -> str:
    """Write `case.toml` as a whole; what is still missing may be given later.

    Args:
        folder: The case folder; its lock is held.
        revision: That the page has read.
        text: TOML.

    Returns:
        The new revision.

    Raises:
        NeutralPointError: `revision-old`, or the first thing wrong with the text.
    """
    _same_revision(folder, revision)
    if parse_draft(text).faults:
        parse_case(text)  # says the first of them, with its line
    _write(folder, CASE_FILE, text)
    return revision_of(folder)


def save_case(folder: Path, text: str, refused: Sequence[Mapping[str, str]] = ()) -> str:
    """Check a text as a form would have it checked, and write it; it need not be whole.

    Args:
        folder: The case folder; its lock is held.
        text: TOML.
        refused: Faults that were found before; with any of them nothing is written.

    Returns:
        The new revision.

    Raises:
        FieldErrors: One entry a key at fault.
    """
    try:
        faults = parse_draft(text).faults
    except NeutralPointError as error:
        faults = ((error.where, error),)
    if faults or refused:
        said = {fault["path"] for fault in refused}
        raise FieldErrors(
            [
                *(dict(fault) for fault in refused),
                *(
                    # Beside its field, a fault need not name it again.
                    {"path": path, "message": e.message.removeprefix(f"`{path}`: "), "hint": e.hint}
                    for path, e in faults
                    if path not in said
                ),
            ]
        )
    _write(folder, CASE_FILE, text)
    return revision_of(folder)


def replace_claims(folder: Path, text: str) -> None:
    """Write `claims.toml`; the caller has checked it."""
    _write(folder, CLAIMS_FILE, text)


def replace_words(folder: Path, name: str, text: str) -> None:
    """Write a file of the analyst's own, such as notes on figures; the caller has checked it.

    Args:
        folder: The case folder; its lock is held.
        name: One of `KEPT_NAMES`.
        text: TOML; an empty one stays away where there was no file.
    """
    if text or (folder / name).is_file():
        _write(folder, name, text)


def replace_script(folder: Path, text: str) -> None:
    """Write the analyst's own text.

    Args:
        folder: The case folder; its lock is held.
        text: As typed.
    """
    replace_words(folder, SCRIPT_FILE, text)


def replace_airplane(folder: Path, name: str, text: str) -> None:
    """Write an airplane file of the case.

    Args:
        folder: The case folder; its lock is held.
        name: Of a file that is there; the caller has checked both it and the text.
        text: TOML.
    """
    _write(folder, _own_name(name), text)


def add_file(folder: Path, name: str, fresh: Path, *, replace: bool) -> str:
    """Give an uploaded file its name.

    Args:
        folder: The case folder; its lock is held.
        name: Plain name.
        fresh: The uploaded file, in the same folder; it is moved, or removed on refusal.
        replace: Whether a file of that name may be moved to `.removed`.

    Returns:
        The name.

    Raises:
        NeutralPointError: `request-invalid` for the name, `case-exists` for one that is taken.
    """
    try:
        _own_name(name)
        path, history = folder / name, History(folder)
        stored = f"{REMOVED}/{history.next_number():06d}-new-{name}"
        moves: list[Move] = [(stored, name)]
        if path.is_symlink() or path.exists():
            if not replace or path.is_symlink() or not path.is_file():
                raise NeutralPointError(
                    "case-exists",
                    f"The case already holds {name!r}; it was not touched.",
                    where=name,
                    hint="Give the file another name, or say that it replaces the old one.",
                )
            moves.insert(0, (name, f"{REMOVED}/{history.next_number():06d}-old-{name}"))
        own_folder(folder / REMOVED, make=True)
        fresh.chmod(0o644)
        fresh.rename(folder / stored)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
    history.make(Change({}, tuple(moves)))
    return name


def remove_file(folder: Path, name: str) -> None:
    """Move a file of the case to `.removed`.

    Args:
        folder: The case folder; its lock is held.
        name: Plain name.

    Raises:
        NeutralPointError: `request-invalid` or `not-found`.
    """
    path, history = file_inside(folder, _own_name(name)), History(folder)
    move = (path.name, f"{REMOVED}/{history.next_number():06d}-{path.name}")
    history.make(Change({}, (move,)))


def _own_name(name: str) -> str:
    """A plain name that is not one of the files with calls of their own."""
    if plain_name(name).lower() in KEPT_NAMES | {"results"}:
        raise NeutralPointError(
            "request-invalid",
            f"{name!r} is written by the workbench itself.",
            where="name",
            hint="Give the file another name.",
        )
    return name


def _write(folder: Path, name: str, text: str) -> None:
    before = read_text(folder / name)
    if before != text:
        History(folder).make(Change({name: (before, text)}))


def _same_revision(folder: Path, revision: str) -> None:
    if revision != revision_of(folder):
        raise NeutralPointError(
            "revision-old",
            "The case was changed since this page read it, perhaps in another tab.",
            where=CASE_FILE,
            hint="Take over what is there now, then make the change again. Nothing was written.",
        )
